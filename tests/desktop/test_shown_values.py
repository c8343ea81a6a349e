"""From results to what is shown: marks, words, figures. Values only, no window."""

from __future__ import annotations

from datetime import UTC, date, datetime
from fractions import Fraction

import pytest
from PySide6.QtCore import QLocale

from companion.desktop.dates import day_with_year
from companion.desktop.score_view.marks import MarkKind
from companion.desktop.section_map.figures import (
    MapFigures,
    MeasureFigures,
    Standing,
    standing_of_accuracy,
    standing_of_tempo,
)
from companion.desktop.section_map.wording import (
    beat_name,
    days_ago,
    days_ago_in_short,
    measure_span,
    nothing_to_show,
)
from companion.desktop.wiring.place_words import PlaceWords
from companion.desktop.wiring.shown_marks import marks_of
from companion.history.model import Piece
from companion.listening.measuring.flow import Interruption, InterruptionKind
from companion.listening.measuring.take_measures import SectionMeasures, TakeMeasures
from companion.listening.notes import (
    Beginning,
    Hands,
    JudgedNote,
    Match,
    MissedNote,
    Passage,
    Verdict,
)
from companion.practice.targets import target_of, written_tempo_at
from companion.score.model import Position, Score, ScoreNote, TempoMark


@pytest.fixture
def score(measures):
    notes = tuple(
        ScoreNote(
            f"n{index}",
            Fraction(index),
            Fraction(1),
            60 + index,
            measure_index=index // 4,
            measure_offset_quarters=Fraction(index % 4),
            spelling=name,
        )
        for index, name in enumerate(("C4", "Db4", "D4", "Eb4", "E4", "F4", "Gb4", "G4"))
    )
    return Score(title="", composer="", measures=measures, notes=notes)


def judged(played, pitch, verdict, index=None):
    return JudgedNote(
        played=played,
        onset_seconds=float(played),
        pitch=pitch,
        verdict=verdict,
        passage=0,
        score_index=index,
        note_id=None if index is None else f"n{index}",
        measure_index=None if index is None else index // 4,
        offset_quarters=None if index is None else Fraction(index % 4),
        expected_pitch=None if index is None else 60 + index,
    )


def passage(index, began_with, from_quarters=0):
    return Passage(
        index=index,
        first_played=0,
        last_played=3,
        from_quarters=Fraction(from_quarters),
        to_quarters=Fraction(7),
        from_measure_index=0,
        to_measure_index=1,
        hands=Hands.BOTH,
        began_with=began_with,
    )


@pytest.fixture
def match():
    return Match(
        notes=(
            judged(0, 60, Verdict.RIGHT, 0),
            judged(1, 66, Verdict.WRONG, 1),
            judged(2, 70, Verdict.ADDED),
            judged(3, 63, Verdict.RIGHT, 3),
        ),
        missed=(
            MissedNote(
                score_index=2,
                note_id="n2",
                measure_index=0,
                offset_quarters=Fraction(2),
                pitch=62,
                passage=0,
                before_played=3,
            ),
        ),
        passages=(passage(0, Beginning.START), passage(1, Beginning.RESTART, 4)),
    )


def test_wrong_missed_added_and_restart_get_their_signs(score, match):
    marks = {mark.kind: mark for mark in marks_of(score, match, None)}
    assert set(marks) == {MarkKind.WRONG, MarkKind.MISSED, MarkKind.ADDED, MarkKind.RESTART}
    assert (marks[MarkKind.WRONG].note_id, marks[MarkKind.WRONG].label) == ("n1", "F♯4")
    assert marks[MarkKind.MISSED].note_id == "n2"
    assert marks[MarkKind.ADDED].position == Position(0, Fraction(1))
    assert marks[MarkKind.RESTART].position == Position(1)


def test_stop_stands_at_the_note_that_was_waited_for(score, match):
    stop = Interruption(
        kind=InterruptionKind.STOP,
        passage=0,
        note=3,
        measure_index=0,
        at_seconds=1.0,
        waited_seconds=3.0,
        expected_seconds=0.5,
    )
    measures = TakeMeasures(
        whole=SectionMeasures(section_id="", hands=Hands.BOTH), interruptions=(stop,)
    )
    stops = [mark for mark in marks_of(score, match, measures) if mark.kind is MarkKind.STOP]
    assert [mark.note_id for mark in stops] == ["n3"]


def test_note_tells_what_was_played_instead_of_it(score, match):
    words = PlaceWords()
    words.hold_score(score)
    words.hold_match(match)
    assert words.describe("n1", 0) == (
        "Measure 1: D♭4, right hand. In this take: F♯4 was played instead."
    )
    assert "missed" in words.describe("n2", 0)


def test_measure_tells_its_errors_over_all_takes_and_what_was_added_now(score, match):
    words = PlaceWords()
    words.hold_score(score)
    words.hold_match(match)
    words.hold_figures(
        MapFigures(measures=(MeasureFigures(measure_index=0, errors=2, expected=30),))
    )
    told = words.describe(None, 0)
    assert "2 errors in 30 notes" in told
    assert "was added" in told


@pytest.mark.parametrize(
    ("accuracy", "standing"),
    [
        (1.0, Standing.WELL),
        (0.98, Standing.WELL),  # at most 2 errors in 100: a clean take
        (0.979, Standing.ATTENTION),
        (0.9, Standing.ATTENTION),
        (0.899, Standing.WRONG),
    ],
)
def test_accuracy_stands_well_where_a_take_is_clean(accuracy, standing):
    assert standing_of_accuracy(accuracy) is standing


def test_tempo_stands_well_from_95_per_cent_of_the_target():
    assert standing_of_tempo(0.95) is Standing.WELL
    assert standing_of_tempo(0.94) is Standing.ATTENTION


def test_target_is_the_sections_own_then_that_around_it_then_the_scores(section_map, score):
    from dataclasses import replace

    marked = replace(
        score,
        tempo_marks=(
            TempoMark(position=Position(0), text="", quarters_per_minute=80.0),
            TempoMark(position=Position(12), text="faster", quarters_per_minute=None),
            TempoMark(position=Position(12), text="", quarters_per_minute=120.0),
        ),
    )
    assert target_of(section_map.section("b"), section_map, marked) == 80.0
    assert target_of(section_map.section("c"), section_map, marked) == 120.0
    from companion.score.sections import edits as section_edits

    own = section_edits.set_target(section_map, "first", 66.0)
    assert target_of(own.section("a"), own, marked) == 66.0
    assert written_tempo_at(score, Position(3)) is None


def test_days_are_told_as_people_do():
    today = date(2026, 3, 20)
    assert days_ago(date(2026, 3, 20), today) == "today"
    assert days_ago(date(2026, 3, 19), today) == "yesterday"
    assert days_ago(date(2026, 3, 15), today) == "5 days"
    assert days_ago(date(2025, 12, 20), today) == "12 weeks"


def test_beats_are_named_and_spans_use_printed_numbers(measures, section_map):
    assert beat_name(Fraction(3, 2)) == "dotted quarter"
    assert measure_span(section_map.section("b"), measures) == "measures 9–12"


def test_empty_lanes_tell_whether_anything_is_coming():
    assert "Sit down and play" in nothing_to_show(MapFigures(today=date(2026, 3, 20)))
    assert not nothing_to_show(MapFigures())  # the history was not read yet
    assert nothing_to_show(MapFigures(takes_to_work_out=3)).startswith("3 takes are being")


def test_shelf_counts_the_days_to_the_performance():
    from companion.desktop.pages.shelf_model import DATE, ShelfModel

    model = ShelfModel()
    piece = Piece(
        piece_id="p",
        title="Study",
        composer="",
        score_hash="",
        performance_date=date(2026, 4, 1),
        opened_at=datetime(2026, 3, 19, 12, tzinfo=UTC),
    )
    model.show((piece,), date(2026, 3, 20))
    assert model.index(0, DATE).data().endswith("12 days left")


def test_a_day_of_performance_is_written_with_the_name_of_its_month():
    locale = QLocale()
    try:
        QLocale.setDefault(QLocale(QLocale.Language.C))
        assert day_with_year(date(2026, 12, 19)) == "19 Dec 2026"
        QLocale.setDefault(QLocale(QLocale.Language.English, QLocale.Country.UnitedStates))
        assert day_with_year(date(2026, 12, 19)) == "Dec 19, 2026"
    finally:
        QLocale.setDefault(locale)


def test_days_ago_have_a_short_form_for_narrow_sections():
    today = date(2026, 3, 9)
    assert days_ago_in_short(date(2026, 3, 8), today) == "1 d"
    assert days_ago_in_short(date(2026, 1, 1), today) == "9 w"
