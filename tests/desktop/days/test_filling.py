from dataclasses import replace
from datetime import UTC, datetime
from fractions import Fraction

import numpy as np
import pytest

from companion.desktop.days.filling import PieceHistory, days_content, measures_played
from companion.history.results import Stretch
from companion.listening.notes import Hands
from companion.score.model import Measure, Score
from companion.score.sections.section_map import Section, SectionMap
from tests.desktop.days import days_examples as examples

MEASURES = tuple(
    Measure(
        index=index,
        number=str(index),
        start_quarters=Fraction(0) if index == 0 else Fraction(1 + 3 * (index - 1)),
        duration_quarters=Fraction(3 if index else 1),
        beats=3,
        beat_type=4,
    )
    for index in range(12)
)
SCORE = Score(title="Invented", composer="Nobody", measures=MEASURES, notes=())
MAP = SectionMap(
    sections=(
        Section(
            section_id="opening", name="Opening",
            start=examples.OPENING.start, end=examples.OPENING.end,
        ),
        Section(
            section_id="ending", name="Ending",
            start=examples.ENDING.start, end=examples.ENDING.end,
        ),
    )
)  # fmt: skip


def counts(*indices, errors=0):
    return np.array([[i, 1, 10, 10 - errors, errors, 0, 0, 0] for i in indices], dtype=np.int64)


def fill(takes, results, tables):
    return days_content(
        SCORE,
        MAP,
        PieceHistory(
            takes=takes,
            results=results,
            counts=tables,
            targets={"opening": 120.0},
            day_starts_at_hour=4,
            today=examples.TODAY,
        ),
    )


def test_measures_of_a_take_are_named_as_printed():
    assert measures_played(counts(0, 1, 2, 5, 7, 8), MEASURES) == "0–2, 5, 7–8"
    assert measures_played(counts(), MEASURES) == ""
    assert measures_played(None, MEASURES) == ""
    assert measures_played(counts(10, 11), MEASURES) == "10–11"


def test_accuracy_of_a_take_is_the_f_measure_over_its_sections():
    moment = datetime(2026, 3, 20, 17, 0, tzinfo=UTC)
    results = [
        examples.result("one", examples.OPENING, moment, 0.9),
        examples.result("one", examples.ENDING, moment, 0.5),
    ]
    row = fill([examples.take("one", moment)], results, {"one": counts(3)}).takes[0]
    # precision 140/140, recall 140/200
    precision, recall = 1.0, 0.7
    assert row.accuracy == pytest.approx(2 * precision * recall / (precision + recall))
    assert row.expected == 200
    assert row.hands is Hands.BOTH
    assert row.section_ids == {"opening", "ending"}


def test_a_take_that_is_not_worked_out_is_listed_without_figures():
    moment = datetime(2026, 3, 20, 17, 0, tzinfo=UTC)
    row = fill([examples.take("one", moment)], [], {}).takes[0]
    assert (row.accuracy, row.beats_per_minute, row.hands, row.measures) == (None, None, None, "")


def test_after_midnight_still_belongs_to_the_evening():
    evening = datetime(2026, 3, 19, 23, 30, tzinfo=UTC)
    night = datetime(2026, 3, 20, 1, 30, tzinfo=UTC)
    content = fill(
        [examples.take("evening", evening), examples.take("night", night)],
        [],
        {"evening": counts(1, errors=2), "night": counts(1, 2, errors=1)},
    )
    assert [row.take.take_id for row in content.takes] == ["night", "evening"]
    assert content.days == (evening.date(),)
    (day,) = content.day_measures
    assert [(m.measure_index, m.plays, m.wrong) for m in day.measures] == [(1, 2, 3), (2, 1, 1)]


def test_sections_without_takes_are_there_with_their_targets():
    content = fill([], [], {})
    assert [(s.name, s.span, s.summary.take_count) for s in content.sections] == [
        ("Opening", "0–7", 0),
        ("Ending", "8–11", 0),
    ]
    assert content.section("opening").target_quarters_per_minute == 120.0
    assert content.section("ending").target_quarters_per_minute is None


def test_a_task_has_a_history_of_its_own_beside_its_section():
    started = datetime(2026, 3, 20, 17, 0, tzinfo=UTC)
    task = Section(
        section_id="task", name="Leaps", start=examples.OPENING.start, end=examples.ENDING.start
    )
    inside = replace(task, section_id="inside", end=replace(task.start, measure_index=2))
    rows = [
        examples.result("one", examples.OPENING, started, 0.95),
        examples.result("one", Stretch(inside.start, inside.end), started, 0.7),
    ]
    content = days_content(
        SCORE,
        MAP,
        PieceHistory(
            takes=[examples.take("one", started)],
            results=rows,
            counts={},
            targets={"inside": 96.0},
            day_starts_at_hour=4,
            today=examples.TODAY,
        ),
        [task, inside],
    )
    whole, part = content.tasks
    assert whole.summary.latest.median_accuracy == 0.95  # the same measures as a section
    assert part.summary.latest.median_accuracy == 0.7
    assert part.target_quarters_per_minute == 96.0
    # a take is told by its sections: tasks inside them do not count a second time
    assert content.takes[0].accuracy == pytest.approx(0.95, abs=0.03)
