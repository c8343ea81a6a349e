"""Two-part piano pieces made up by a seeded rule for the tests of recognition, and players."""

from __future__ import annotations

from fractions import Fraction
from random import Random

from companion.listening.notes import HeardNote, ScoreNote
from companion.score.model import Hand

SCALE = (0, 2, 4, 5, 7, 9, 11)
LENGTHS = (Fraction(1, 2), Fraction(1, 2), Fraction(1), Fraction(1, 4), Fraction(3, 2))


def invented_piece(seed: int, measures: int = 40) -> list[ScoreNote]:
    """A melody in its own key and rhythm over a bass with chords."""
    rng = Random(seed)
    tonic = rng.randrange(12)
    notes: list[ScoreNote] = []
    place, degree = Fraction(0), 7
    while place < 4 * measures:
        length = rng.choice(LENGTHS)
        notes.append(_note(len(notes), place, length, 60 + _key(tonic, degree), 1))
        degree = min(14, max(0, degree + rng.choice((-4, -3, -2, -1, -1, 1, 1, 2, 3, 5))))
        place += length
    place = Fraction(0)
    while place < 4 * measures:
        length = rng.choice((Fraction(1), Fraction(1), Fraction(2), Fraction(3)))
        root = rng.randrange(11)
        for step in rng.choice(((0,), (0, 4), (0, 2, 4), (0, 7), (0, 2, 5), (0, 3, 5), (0, 9))):
            notes.append(_note(len(notes), place, length, 34 + _key(tonic, root + step), 2))
        place += length
    return sorted(notes, key=lambda note: (note.onset_quarters, note.pitch))


def _key(tonic: int, degree: int) -> int:
    return tonic + 12 * (degree // 7) + SCALE[degree % 7]


def _note(number: int, onset: Fraction, length: Fraction, pitch: int, staff: int) -> ScoreNote:
    measure = int(onset // 4)
    return ScoreNote(f"n{number}", onset, length, pitch, staff, 1, measure, onset - 4 * measure)


def play(
    notes: list[ScoreNote],
    *,
    from_quarters: float = 0,
    count: int = 10_000,
    quarter_seconds: float = 0.6,
    start_seconds: float = 0.0,
    hand: Hand | None = None,
    chord_order: Random | None = None,
    mistakes: Random | None = None,
) -> list[HeardNote]:
    """Play on from a place: chords upwards or in any order, with mistakes in 1 of 14 notes."""
    heard = []
    for note in notes:
        if note.onset_quarters < from_quarters or (hand and note.playing_hand is not hand):
            continue
        at = start_seconds + (float(note.onset_quarters) - from_quarters) * quarter_seconds
        pitch = note.pitch
        if chord_order is not None:
            at += chord_order.uniform(0.0, 0.02)
        if mistakes is not None:
            kind = mistakes.randrange(42)
            if kind == 0:
                continue
            if kind == 1:
                pitch += mistakes.choice((-2, -1, 1, 2))
            if kind == 2:
                heard.append(HeardNote(at + 0.03, 0.1, pitch + 1, 40))
        heard.append(HeardNote(at, 0.3, pitch, 70))
    heard.sort(key=lambda note: note.onset_seconds)
    return heard[:count]
