"""What must hold for the harmony of any progression."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from companion.analysis.chords import MEMBERS
from companion.analysis.harmony import MOST_ALTERNATIVES, Harmony, analyse_harmony
from companion.analysis.spelling import Key
from companion.score.model import Score
from tests.unit.analysis.typed_music import chordal, transposed

# four-part chords of C major and of its nearest applied dominants, bass first
CHORDS = (
    "C3 G3 E4 C5",
    "E3 G3 C4 C5",
    "D3 A3 F4 D5",
    "F3 A3 D4 D5",
    "F3 A3 C4 F4",
    "G3 D4 B4 G4",
    "G3 F3 D4 B4",
    "B2 G3 D4 F4",
    "A2 E3 C4 A4",
    "F#3 A3 D4 C5",
    "E3 G#3 B3 D4",
)
progressions = st.lists(st.sampled_from(CHORDS), min_size=4, max_size=24)
few = settings(max_examples=25, deadline=None)


def score_of(chords: list[str]) -> Score:
    return chordal("|".join(chords))


def at_each_quarter(score: Score, harmony: Harmony) -> list[tuple[int, str, str, str, int]]:
    found = []
    for quarter in range(int(score.end_quarters)):
        span = harmony.span_at(Fraction(quarter))
        assert span is not None
        found.append(
            (span.key.tonic_fifths, span.key.mode, span.degree, span.quality, span.inversion)
        )
    return found


@few
@given(progressions)
def test_spans_tile_the_piece_and_every_field_is_possible(chords: list[str]) -> None:
    score = score_of(chords)
    spans = analyse_harmony(score).spans
    assert spans[0].start_quarters == 0
    assert spans[-1].end_quarters == score.end_quarters
    for one, other in pairwise(spans):
        assert one.end_quarters == other.start_quarters
        assert (one.key, one.chord, one.inversion) != (other.key, other.chord, other.inversion)
    for span in spans:
        assert span.start_quarters < span.end_quarters
        assert 0 <= span.inversion < len(MEMBERS[span.quality])
        assert 0 <= span.confidence <= 1
        assert len(span.alternatives) <= MOST_ALTERNATIVES


@few
@given(progressions, st.integers(-6, 6))
def test_transposing_the_score_transposes_the_analysis(chords: list[str], fifths: int) -> None:
    score = score_of(chords)
    here = analyse_harmony(score)
    there = analyse_harmony(transposed(score, fifths))
    assert [
        (Key(span.key.tonic_fifths + fifths, span.key.mode), span.numeral, span.start_quarters)
        for span in here.spans
    ] == [(span.key, span.numeral, span.start_quarters) for span in there.spans]


@few
@given(progressions)
def test_an_octave_up_or_down_changes_nothing(chords: list[str]) -> None:
    score = score_of(chords)
    higher = replace(
        score,
        notes=tuple(
            replace(
                note,
                pitch=note.pitch + 12,
                spelling=f"{note.spelling[:-1]}{int(note.spelling[-1]) + 1}",
            )
            for note in score.notes
        ),
    )
    assert analyse_harmony(higher) == analyse_harmony(score)


CLEAR = ["C3 G3 E4 C5", "F3 A3 C4 F4", "G3 F3 D4 B4", "C3 G3 E4 C5", "A2 E3 C4 A4", "F3 A3 D4 D5"]
CLEAR = [*CLEAR, "G3 G3 E4 C5", "G3 F3 D4 B4", *["C3 G3 E4 C5"] * 4] * 2


@few
@given(st.integers(1, 3), st.sampled_from([-12, 12]), st.integers(0, len(CLEAR) - 4))
def test_doubling_a_voice_at_the_octave_leaves_most_of_the_harmony(
    voice: int, semitones: int, from_chord: int
) -> None:
    score = score_of(CLEAR)
    doubled = [
        replace(
            note,
            note_id=f"{note.note_id}-doubled",
            pitch=note.pitch + semitones,
            spelling=f"{note.spelling[:-1]}{int(note.spelling[-1]) + semitones // 12}",
        )
        for note in score.notes
        if note.note_id.endswith(f"-{voice}") and note.onset_quarters >= from_chord
        # a doubling below the bass would be another chord
        if semitones > 0 or voice == 3
    ]
    notes = sorted([*score.notes, *doubled], key=lambda note: (note.onset_quarters, note.pitch))
    richer = replace(score, notes=tuple(notes))
    plain = at_each_quarter(score, analyse_harmony(score))
    again = at_each_quarter(richer, analyse_harmony(richer))
    same = sum(a[:3] == b[:3] for a, b in zip(plain, again, strict=True))
    assert same >= 0.8 * len(plain)
