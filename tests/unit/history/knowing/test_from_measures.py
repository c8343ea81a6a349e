"""Attempts read off the measures of a take: the passages are demo data."""

from datetime import UTC, datetime
from fractions import Fraction

from companion.history.knowing.from_measures import attempts_of
from companion.history.model import Take, TakeSource
from companion.history.results import Stretch
from companion.listening.measuring.take_measures import SectionMeasures, TakeMeasures
from companion.listening.notes import Beginning, Hands, Match, Passage
from companion.score.model import Position
from companion.score.sections.section_map import Section, SectionMap

MAP = SectionMap(
    sections=(
        Section(section_id="a", name="A", start=Position(0), end=Position(8)),
        Section(section_id="b", name="B", start=Position(8), end=Position(16)),
    )
)
A, B = (Stretch.of(section) for section in MAP.sections)
TAKE = Take(
    take_id="take",
    piece_id="piece",
    started_at=datetime(2026, 3, 2, 18, 0, tzinfo=UTC),
    zone="Europe/Vienna",
    source=TakeSource.DEMO,
    duration_seconds=60.0,
    note_count=100,
)


def passage(index, first, last, began_with, hands=Hands.BOTH):
    return Passage(
        index=index,
        first_played=index * 100,
        last_played=index * 100 + 99,
        from_quarters=Fraction(first * 4),
        to_quarters=Fraction(last * 4),
        from_measure_index=first,
        to_measure_index=last,
        hands=hands,
        began_with=began_with,
    )


def row(section_id, of_passage, **figures):
    values = {"expected": 40, "right": 40, "coverage": 1.0, "complete": True, "hands": Hands.BOTH}
    return SectionMeasures(section_id=section_id, passage=of_passage, **(values | figures))


def attempts(passages, rows):
    measures = TakeMeasures(whole=row("", None), passages=tuple(rows))
    return attempts_of(TAKE, MAP, Match(notes=(), missed=(), passages=tuple(passages)), measures)


def test_a_run_through_is_an_attempt_at_every_section():
    found = attempts([passage(0, 0, 15, Beginning.START)], [row("a", 0), row("b", 0, wrong=2)])
    assert list(found) == [A, B]
    assert (found[A].complete, found[A].wrong, found[B].wrong) == (True, 0, 2)
    assert found[A].take_id == "take"


def test_what_was_played_again_in_the_same_take_is_no_part_of_the_attempt():
    found = attempts(
        [passage(0, 0, 7, Beginning.START), passage(1, 0, 7, Beginning.RESTART)],
        [row("a", 0), row("a", 1, wrong=9, stops=2)],
    )
    assert (found[A].wrong, found[A].stops, found[A].began_again) == (0, 0, False)


def test_breaking_off_and_beginning_again_is_seen():
    found = attempts(
        [passage(0, 0, 3, Beginning.START), passage(1, 2, 7, Beginning.RESTART)],
        [row("a", 0, complete=False, coverage=0.5), row("a", 1, complete=False, coverage=0.7)],
    )
    assert found[A].began_again
    assert not found[A].complete


def test_going_back_behind_the_section_is_not_beginning_it_again():
    found = attempts(
        [passage(0, 4, 8, Beginning.START), passage(1, 4, 15, Beginning.RESTART)],
        [
            row("a", 0, complete=False, coverage=0.5),
            row("b", 0, complete=False, coverage=0.05),
            row("a", 1, complete=False, coverage=0.5),
            row("b", 1),
        ],
    )
    assert not found[B].began_again
    assert found[B].is_spill
    assert found[A].began_again


def test_a_repeat_as_written_belongs_to_the_attempt():
    found = attempts(
        [passage(0, 0, 7, Beginning.START), passage(1, 0, 7, Beginning.GOES_ON)],
        [row("a", 0, wrong=1), row("a", 1, wrong=2, stops=1)],
    )
    assert (found[A].expected, found[A].wrong, found[A].stops) == (80, 3, 1)


def test_the_hands_are_those_of_the_first_passage():
    found = attempts(
        [
            passage(0, 0, 7, Beginning.START, Hands.LEFT),
            passage(1, 0, 7, Beginning.RESTART, Hands.BOTH),
        ],
        [row("a", 0, hands=Hands.LEFT, expected=20), row("a", 1)],
    )
    assert found[A].hands is Hands.LEFT
    assert found[A].expected == 20
