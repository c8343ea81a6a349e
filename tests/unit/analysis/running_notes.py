"""Runs of notes made up for the tests: one or two hands in equal values, from pitches."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from companion.score.model import Measure, Position, Score, ScoreNote, TempoMark

NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "G#", "A", "Bb", "B")
SIXTEENTH = Fraction(1, 4)


def spelled(pitch: int) -> str:
    return f"{NAMES[pitch % 12]}{pitch // 12 - 1}"


def hand_of(
    pitches: Sequence[int | Sequence[int] | None],
    *,
    value: Fraction = SIXTEENTH,
    staff: int = 1,
    start: Fraction | int = 0,
    beats: int = 4,
    name: str = "",
) -> list[ScoreNote]:
    """Notes of one hand: a number is a note, several are a chord, None is a rest."""
    notes = []
    for place, step in enumerate(pitches):
        onset = Fraction(start) + place * value
        together = [step] if isinstance(step, int) else list(step or ())
        notes += [
            ScoreNote(
                f"{name or 'rl'[staff - 1]}{place}" + (f".{number}" if number else ""),
                onset,
                value,
                pitch,
                staff,
                1,
                int(onset // beats),
                onset % beats,
                spelling=spelled(pitch),
            )
            for number, pitch in enumerate(together)
        ]
    return notes


def score_with(
    *hands: Sequence[ScoreNote],
    beats: int = 4,
    beat_type: int = 4,
    fifths: int = 0,
    quarters_per_minute: float = 60.0,
) -> Score:
    """A score of these notes, in equal measures."""
    notes = sorted((note for hand in hands for note in hand), key=_order)
    long = Fraction(4 * beats, beat_type)
    end = max((note.onset_quarters + note.duration_quarters for note in notes), default=0)
    count = max(1, int(-(-Fraction(end) // long)))
    measures = tuple(
        Measure(
            index=index,
            number=str(index + 1),
            start_quarters=index * long,
            duration_quarters=long,
            beats=beats,
            beat_type=beat_type,
            key_fifths=fifths,
        )
        for index in range(count)
    )
    mark = TempoMark(position=Position(0), text="", quarters_per_minute=quarters_per_minute)
    return Score(
        title="Demo",
        composer="",
        measures=measures,
        notes=tuple(notes),
        tempo_marks=(mark,),
        playing_order=tuple(range(count)),
        content_hash="demo",
    )


def _order(note: ScoreNote) -> tuple[Fraction, bool, int]:
    return Fraction(note.onset_quarters), not note.grace, note.pitch
