"""Small scores made up for the tests."""

from fractions import Fraction

from companion.score.model import Measure, Position, Score, ScoreNote, TempoMark


def score_of(notes, *, measures, quarters_per_minute=100.0, playing_order=(), key_fifths=0):
    """A score in 4/4 of that many measures."""
    return Score(
        title="Invented",
        composer="Nobody",
        measures=tuple(
            Measure(
                index=i,
                number=str(i + 1),
                start_quarters=Fraction(4 * i),
                duration_quarters=Fraction(4),
                key_fifths=key_fifths,
            )
            for i in range(measures)
        ),
        notes=tuple(sorted(notes, key=lambda n: (n.onset_quarters, not n.grace, n.pitch))),
        tempo_marks=(
            TempoMark(position=Position(0), text="", quarters_per_minute=quarters_per_minute),
        ),
        playing_order=tuple(playing_order),
    )


def a_note(number, onset, length, pitch, staff=1, **more):
    onset = Fraction(onset)
    measure = int(onset // 4)
    return ScoreNote(
        note_id=f"n{number}",
        onset_quarters=onset,
        duration_quarters=Fraction(length),
        pitch=pitch,
        staff=staff,
        measure_index=measure,
        measure_offset_quarters=onset - 4 * measure,
        **more,
    )


def runs_over_chords(measures=16, quarters_per_minute=132.0):
    """Sixteenths in the right hand over chords of three in the left."""
    notes, number = [], 0
    for measure in range(measures):
        for step in range(16):
            pitch = 72 + (0, 2, 4, 5, 7, 9, 11, 12, 11, 9, 7, 5, 4, 2, 0, -1)[step] + measure % 3
            notes.append(a_note(number, 4 * measure + Fraction(step, 4), Fraction(1, 4), pitch))
            number += 1
        for beat in range(4):
            for third in (0, 4, 7):
                notes.append(a_note(number, 4 * measure + beat, 1, 48 + third + beat, 2))
                number += 1
    return score_of(notes, measures=measures, quarters_per_minute=quarters_per_minute)
