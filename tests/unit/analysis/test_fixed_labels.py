"""The analysis around labels that the pianist has settled; the music is demo data."""

from fractions import Fraction

import pytest

from companion.analysis.chords import Chord
from companion.analysis.corrections import Correction, analysed_anew
from companion.analysis.harmony import Harmony, analyse_harmony
from companion.analysis.spelling import Key
from tests.unit.analysis.typed_music import chordal

SCORE = chordal(
    "C3 G3 E4 C5 | F3 A3 C4 F4 | G2 G3 E4 C5 | G2 F3 D4 B4 |"
    "C3 G3 E4 C5 | F#3 A3 D4 C5 | G3 G3 D4 B4 | C3 G3 E4 C5 |"
    "G3 B3 D4 G4 | F#3 A3 C4 D4 | G3 B3 D4 G4 | C3 G3 E4 C5"
)
FOUND = analyse_harmony(SCORE)


def label(
    start: int | Fraction, end: int | Fraction, key: str, chord: Chord, inversion: int = 0
) -> Correction:
    return Correction(
        start_quarters=Fraction(start),
        end_quarters=Fraction(end),
        key=Key.from_name(key),
        chord=chord,
        inversion=inversion,
    )


def at(harmony: Harmony, quarters: float) -> tuple[str, str]:
    span = harmony.span_at(quarters)
    assert span is not None
    return span.key.name, span.numeral


def test_a_fixed_label_comes_out_as_it_was_written() -> None:
    fixed = label(5, 6, "G", Chord("V", "dom7"), 1)
    assert at(FOUND, 5) != ("G", "V65")
    assert at(analyse_harmony(SCORE, fixed=[fixed]), 5) == ("G", "V65")


def test_what_follows_a_new_key_is_heard_in_it() -> None:
    fixed = label(5, 6, "G", Chord("V", "dom7"), 1)
    assert at(FOUND, 6) == ("C", "V")
    assert at(analyse_harmony(SCORE, fixed=[fixed]), 6) == ("G", "I")


def test_far_from_a_fixed_label_nothing_changes() -> None:
    fixed = label(10, 11, "G", Chord("I", "maj"))
    harmony = analyse_harmony(SCORE, fixed=[fixed])
    assert [at(harmony, place) for place in range(5)] == [at(FOUND, place) for place in range(5)]


def test_settling_what_was_found_changes_nothing() -> None:
    labels = [
        Correction(
            start_quarters=span.start_quarters,
            end_quarters=span.end_quarters,
            key=span.key,
            chord=span.chord,
            inversion=span.inversion,
        )
        for span in FOUND.spans
    ]
    again = analyse_harmony(SCORE, fixed=labels)
    assert [at(again, place) for place in range(12)] == [at(FOUND, place) for place in range(12)]


def test_the_bass_can_be_settled_too() -> None:
    fixed = label(0, 1, "C", Chord("I", "maj"), 1)
    assert at(analyse_harmony(SCORE, fixed=[fixed]), 0) == ("C", "I6")


def test_a_chord_beyond_the_vocabulary_is_put_in_with_its_exact_borders() -> None:
    rare = label(Fraction(4), Fraction(19, 4), "C", Chord("bV", "augmaj7"))
    harmony = analysed_anew(SCORE, [rare])
    span = harmony.span_at(Fraction(4))
    assert span is not None
    assert (span.degree, span.quality, span.end_quarters) == ("bV", "augmaj7", Fraction(19, 4))
    assert span.confidence == 1.0
    assert harmony.spans[-1].end_quarters == SCORE.end_quarters


@pytest.mark.parametrize("start", [-4, 12, 100])
def test_a_label_outside_the_piece_changes_nothing(start: int) -> None:
    fixed = label(start, start + 1, "F#", Chord("V", "maj"))
    assert analyse_harmony(SCORE, fixed=[fixed]) == FOUND
