"""Two-part music made up for the tests, and exact performances of it."""

from fractions import Fraction

from companion.listening.notes import HeardNote, ScoreNote

RIGHT_HAND = (72, 74, 76, 77, 79, 81, 79, 77, 76, 74, 72, 71, 72, 76, 79, 84)
LEFT_HAND = (48, 55, 52, 55, 47, 55, 50, 53)


def written(repeats: int = 4) -> list[ScoreNote]:
    """Invented two-part music: eighths over quarters, moved a step in each repeat."""
    notes = []
    for repeat in range(repeats):
        shift = (0, 2, 4, -3)[repeat % 4] + repeat // 4 % 12
        for place, pitch in enumerate(RIGHT_HAND):
            onset = Fraction(8 * repeat) + Fraction(place, 2)
            notes.append(a_note(len(notes), onset, Fraction(1, 2), pitch + shift, 1))
        for place, pitch in enumerate(LEFT_HAND):
            onset = Fraction(8 * repeat + place)
            notes.append(a_note(len(notes), onset, Fraction(1), pitch + shift, 2))
    notes.sort(key=lambda note: (note.onset_quarters, note.pitch))
    return notes


def a_note(number, onset, length, pitch, staff):
    measure = int(onset // 4)
    return ScoreNote(f"n{number}", onset, length, pitch, staff, 1, measure, onset - 4 * measure)


def played(notes, *, from_quarters=0, to_quarters=1000, start=0.0, quarter=0.5, staff=None):
    """An exact performance of a stretch."""
    return [
        HeardNote(
            start + float(note.onset_quarters - from_quarters) * quarter,
            0.9 * quarter * float(note.duration_quarters),
            note.pitch,
            70,
        )
        for note in notes
        if from_quarters <= note.onset_quarters < to_quarters and staff in (None, note.staff)
    ]
