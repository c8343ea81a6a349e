"""A made-up piece of eight measures for the tests of practice."""

from __future__ import annotations

from fractions import Fraction

from companion.history.model import RawEvent, Take
from companion.score.model import Measure, Position, Score, ScoreNote
from companion.score.sections.section_map import Section, SectionMap
from tests.unit.storage.history_examples import a_take

_MELODY = (60, 62, 64, 67, 65, 64, 62, 59, 60, 64, 67, 72, 71, 69, 67, 66)
_MELODY += (67, 69, 71, 74, 72, 71, 69, 67, 65, 64, 62, 60, 59, 62, 64, 60)


def a_score() -> Score:
    """Thirty-two quarters of a melody, four to a measure, and a bass note under each first one."""
    measures = tuple(
        Measure(
            index=index,
            number=str(index + 1),
            start_quarters=Fraction(4 * index),
            duration_quarters=Fraction(4),
        )
        for index in range(8)
    )
    notes = []
    for index, pitch in enumerate(_MELODY):
        if index % 4 == 0:
            notes.append(_note(f"b{index}", index, 4, pitch - 24, staff=2))
        notes.append(_note(f"n{index}", index, 1, pitch, staff=1))
    return Score(
        title="Eight measures",
        composer="Ilse Vandermeer",
        measures=measures,
        notes=tuple(notes),
        playing_order=tuple(range(8)),
        content_hash="eight measures",
    )


def _note(note_id: str, onset: int, duration: int, pitch: int, staff: int) -> ScoreNote:
    return ScoreNote(
        note_id=note_id,
        onset_quarters=Fraction(onset),
        duration_quarters=Fraction(duration),
        pitch=pitch,
        staff=staff,
        measure_index=onset // 4,
        measure_offset_quarters=Fraction(onset % 4),
    )


def a_map(border: int = 4) -> SectionMap:
    return SectionMap(
        sections=(
            Section(section_id="a", name="Up", start=Position(0), end=Position(border)),
            Section(section_id="b", name="Down", start=Position(border), end=Position(8)),
        )
    )


def played(
    score: Score, *, first_measure: int = 0, last_measure: int = 7, wrong: tuple[str, ...] = ()
) -> tuple[RawEvent, ...]:
    """The measures as a machine plays them at 120 quarters a minute, with wrong keys if asked."""
    events = []
    for note in score.notes:
        if not first_measure <= note.measure_index <= last_measure:
            continue
        at = (float(note.onset_quarters) - 4 * first_measure) * 0.5
        key = note.pitch + (1 if note.note_id in wrong else 0)
        events.append(RawEvent(at, bytes([0x90, key, 80])))
        lasts = float(note.duration_quarters) * 0.5 - 0.05
        events.append(RawEvent(at + lasts, bytes([0x80, key, 64])))
    return tuple(sorted(events, key=lambda event: event.at_seconds))


def a_played_take(take_id: str, score: Score, *, minutes: float = 0, **how: object) -> Take:
    events = played(score, **how)  # type: ignore[arg-type]
    return a_take(take_id, minutes=minutes, events=events, note_count=len(events) // 2)
