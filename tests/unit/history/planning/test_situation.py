"""What the plan sees of a section; demo data."""

from datetime import UTC, datetime

import pytest

from companion.history.knowing.known import State
from companion.history.knowing.standing import SectionAsked, section_standing
from companion.history.planning.ladder import first_mark, next_mark
from companion.history.planning.situation import Availability, planned_section
from companion.history.planning.stages import (
    Stage,
    hours_left,
    hours_of_work,
    pace_of,
    stage_of,
)
from companion.history.results import Stretch
from companion.score.model import Position
from tests.unit.history.knowing.knowing_examples import an_attempt
from tests.unit.history.planning.planning_examples import (
    TODAY,
    a_section,
    begun,
    days,
    known,
    settling,
    under_tempo,
)

ASKED = SectionAsked(
    section_id="a",
    name="A",
    stretch=Stretch(Position(0), Position(8)),
    target_quarters_per_minute=120.0,
)


def test_a_standing_becomes_what_the_plan_sees():
    attempts = [
        an_attempt(
            take_id=str(day),
            started_at=datetime(2026, 2, day, 18, 0, tzinfo=UTC),
            running_tempo_quarters_per_minute=90.0,
            wrong=day - 25,
        )
        for day in (26, 28)
    ]
    standing = section_standing(ASKED, attempts, TODAY)
    found = planned_section(standing, rank=2, hours=1.5, beat_quarters=1.5)
    assert found.state is State.LEARNING
    assert found.recent_clean == (False, False)
    assert found.errors_per_100 == 3.0
    assert found.tempo_share == 0.75
    assert found.target_beats_per_minute == 80.0
    assert found.due is not None
    assert stage_of(found) is Stage.TEMPO


def test_a_section_that_was_never_played_is_new():
    found = planned_section(section_standing(ASKED, (), TODAY), rank=1, hours=1.0)
    assert stage_of(found) is Stage.NEW
    assert found.due is None


@pytest.mark.parametrize(
    ("section", "stage"),
    [
        (a_section("A", 1), Stage.NEW),
        (begun("A", 1), Stage.NOTES),
        (under_tempo("A", 1, errors_per_100=9.0), Stage.NOTES),
        (under_tempo("A", 1, complete=False), Stage.NOTES),
        (under_tempo("A", 1), Stage.TEMPO),
        (under_tempo("A", 1, tempo_share=None), Stage.SETTLING),
        (settling("A", 1), Stage.SETTLING),
        (settling("A", 1, state=State.LAPSED), Stage.SETTLING),
        (known("A", 1), Stage.KNOWN),
    ],
)
def test_the_stage_follows_from_the_last_cold_take(section, stage):
    assert stage_of(section) is stage


def test_hours_left_fall_with_stages_and_within_them_with_the_time_spent():
    course = [
        a_section("A", 1),
        begun("A", 1),
        begun("A", 1, practised_minutes=45.0),
        under_tempo("A", 1, practised_minutes=60.0),
        settling("A", 1, practised_minutes=80.0),
        known("A", 1),
    ]
    left = [hours_left(section) for section in course]
    assert left[0] == 1.5
    assert left == sorted(left, reverse=True)
    assert left[-1] == 0.0


def test_time_spent_without_success_does_not_use_the_work_up():
    assert hours_left(begun("A", 1, practised_minutes=600.0)) > 0.5


def test_the_pace_is_what_practice_really_took_and_stays_within_reason():
    assert pace_of([]) == 1.0
    assert pace_of([(2.0, 4.0)]) == 1.5
    assert pace_of([(1.0, 90.0)]) == 3.0
    assert hours_of_work(360.0, 1.5) == 3.0


def test_the_ladder_goes_by_the_marks_of_the_metronome_up_to_the_target():
    """Marks: domain facts of the traditional metronome, next after 60 is 63, after 144 is 152."""
    assert next_mark(100.0, 0.6) == 63
    assert next_mark(200.0, 0.72) == 152
    assert next_mark(96.0, 0.99) == 96
    assert next_mark(97.0, 1.3) == 96
    assert first_mark(100.0) == 60
    assert first_mark(30.0) == 40


def test_minutes_of_a_day_know_weekdays_other_days_and_days_off():
    availability = Availability(
        minutes_by_weekday=(30, 40, 50, 60, 70, 80, 0),
        days_off=frozenset({days(2)}),
        other_minutes=((days(6), 15),),
    )
    assert [availability.minutes_on(days(n)) for n in range(8)] == [30, 40, 0, 60, 70, 80, 15, 30]
    assert availability.minutes_between(days(0), days(3)) == 70
    assert availability.minutes_between(days(3), days(0)) == 0
