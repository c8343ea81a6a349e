"""The calendar until the performance; demo data."""

from companion.history.knowing.known import State
from companion.history.planning.model import DayKind
from companion.history.planning.schedule import schedule
from companion.history.planning.situation import Availability
from companion.history.planning.stages import Stage
from tests.unit.history.planning.planning_examples import (
    TODAY,
    a_section,
    a_situation,
    days,
    known,
)


def eight(**changes):
    return [
        a_section(name, rank, **changes)
        for name, rank in zip("ABCDEFGH", (3, 1, 4, 2, 6, 5, 8, 7), strict=True)
    ]


def test_the_calendar_reaches_to_the_performance_and_keeps_days_off():
    off = Availability(minutes_by_weekday=(45,) * 6 + (0,))
    found = schedule(a_situation(*eight(), performance=days(35), availability=off))
    assert [day.day for day in found.days] == [days(number) for number in range(36)]
    assert found.days[-1].kind is DayKind.PERFORMANCE
    assert {day.day.weekday() for day in found.days if not day.minutes} == {6}


def test_the_hardest_sections_are_begun_and_known_first():
    found = schedule(a_situation(*eight(), performance=days(50)))
    by_rank = sorted(zip((3, 1, 4, 2, 6, 5, 8, 7), found.sections, strict=True), key=lambda x: x[0])
    begun = [dates.begins for _, dates in by_rank]
    assert begun == sorted(begun)
    known_on = [dates.known for _, dates in by_rank]
    assert known_on[0] == min(known_on)
    assert sum(a <= b for a in known_on[:4] for b in known_on[4:]) >= 14


def test_work_that_fits_is_said_to_fit():
    found = schedule(a_situation(*eight(), performance=days(50)))
    assert found.feasible
    assert found.says.endswith("it fits.")
    assert found.changes == ()
    assert all(dates.known is not None for dates in found.sections)


def test_work_that_does_not_fit_is_said_with_what_to_change():
    found = schedule(a_situation(*eight(), performance=days(20)))
    assert not found.feasible
    assert "12 hours of work" in found.says
    assert "does not fit" in found.says
    assert any("minutes more" in change for change in found.changes)
    assert any("teacher" in change for change in found.changes)


def test_sections_that_are_not_known_by_the_day_are_named_although_the_work_fits():
    sections = [a_section(name, rank, hours=1.0) for rank, name in enumerate("ABCD", 1)]
    found = schedule(a_situation(*sections, minutes=30, performance=days(14)))
    late = tuple(dates.name for dates in found.sections if dates.known is None)
    assert found.feasible
    assert found.not_known == late
    assert 0 < len(late) < 4
    assert "it fits, but " in found.says
    assert all(name in found.says for name in late)
    assert any("several days" in change for change in found.changes)


def test_a_week_for_many_sections_fits_and_leaves_none_known():
    sections = [a_section(f"S{rank}", rank, hours=0.5) for rank in range(1, 15)]
    found = schedule(a_situation(*sections, minutes=120, performance=days(7)))
    assert found.feasible
    assert len(found.not_known) == 14
    assert found.says.endswith("it fits, but the sections are not known by the day.")


def test_nobody_is_told_to_leave_out_most_of_a_piece():
    found = schedule(a_situation(*eight(hours=9.0), performance=days(20)))
    assert not any("leave out" in change.lower() for change in found.changes)


def test_no_section_is_projected_as_known_before_three_clean_days():
    for day in schedule(a_situation(*eight(hours=0.3), performance=days(30))).days[:3]:
        assert all(section.state is not State.KNOWN for section in day.sections)


def test_without_a_date_the_next_four_weeks_are_shown():
    found = schedule(a_situation(*eight()))
    assert len(found.days) == 29
    assert found.hours_there is None
    assert found.feasible


def test_what_is_known_stays_known_and_needs_no_work():
    found = schedule(a_situation(known("A", 1), known("B", 2), performance=days(10)))
    assert found.hours_needed == 0
    assert found.says.startswith("Everything is known")
    assert all(s.stage is Stage.KNOWN for day in found.days for s in day.sections)


def test_a_piece_without_sections_or_on_its_last_day_has_a_calendar_too():
    assert schedule(a_situation()).says == "The piece has no sections yet."
    assert [day.day for day in schedule(a_situation(*eight(), performance=TODAY)).days] == [TODAY]


def test_a_long_piece_that_fits_is_all_known_in_time():
    sections = [a_section(f"S{rank}", rank, hours=1.0) for rank in range(1, 25)]
    found = schedule(a_situation(*sections, minutes=60, performance=days(60)))
    assert found.feasible
    assert sum(dates.known is not None for dates in found.sections) >= 23
