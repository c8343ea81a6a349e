"""Harmony of short progressions that every harmony primer has, typed by ourselves."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest

from companion.analysis.harmony import Harmony, analyse_harmony
from companion.analysis.harmony_table import NO_HARMONY, harmony_document, harmony_table
from companion.analysis.spelling import Key
from companion.errors import Cancelled
from companion.progress import Progress
from companion.score.model import Score
from tests.unit.analysis.typed_music import chordal, transposed

CADENCE = (
    "C3 G3 E4 C5 | F3 A3 C4 F4 | G2 G3 E4 C5 | G2 F3 D4 B4 |"
    "C3 G3 E4 C5 | C3 G3 E4 C5 | C3 G3 E4 C5 | C3 G3 E4 C5"
)


def named(harmony: Harmony) -> list[tuple[str, str]]:
    return [(span.key.name, span.numeral) for span in harmony.spans]


def numerals(score: Score) -> list[str]:
    return [span.numeral for span in analyse_harmony(score).spans]


def minor(chords: str) -> Score:
    ending = " | C3 Eb4 C5 G5" * 3
    return chordal(chords + ending, fifths=-3)


def test_a_cadence_ends_with_six_four_dominant_and_tonic() -> None:
    assert named(analyse_harmony(chordal(CADENCE))) == [
        ("C", "I"),
        ("C", "IV"),
        ("C", "I64"),
        ("C", "V7"),
        ("C", "I"),
    ]


@pytest.mark.parametrize(
    ("sixth", "numeral"),
    [("Ab2 C4 C5 F#5", "It6"), ("Ab2 D4 C5 F#5", "Fr43"), ("Ab2 Eb4 C5 F#5", "Ger65")],
)
def test_augmented_sixths_are_told_apart_by_their_spelling(sixth: str, numeral: str) -> None:
    score = minor(f"C3 G3 Eb4 C5 | F3 Ab3 C4 F4 | {sixth} | G2 D4 B4 G5 | C3 Eb4 C5 G5")
    assert numerals(score) == ["i", "iv", numeral, "V", "i"]


def test_the_neapolitan_is_the_flat_second_degree() -> None:
    score = minor("C3 G3 Eb4 C5 | F3 Ab3 Db4 F4 | G2 Eb4 C5 G5 | G2 D4 B4 F5 | C3 Eb4 C5 G5")
    assert numerals(score) == ["i", "bII6", "i64", "V7", "i"]


def test_a_dominant_of_the_dominant_in_passing_is_no_change_of_key() -> None:
    score = chordal(
        "C3 G3 E4 C5 | C3 G3 E4 C5 | F#3 A3 D4 C5 | G3 G3 D4 B4 |"
        "C3 G3 E4 C5 | F3 A3 D4 D5 | G3 F3 D4 B4 | C3 G3 E4 C5"
    )
    harmony = analyse_harmony(score)
    assert [area.key.name for area in harmony.key_areas] == ["C"]
    applied = [span for span in harmony.spans if span.is_applied]
    assert [span.degree for span in applied] == ["V/V"]
    assert applied[0].start_quarters == 2


def test_staying_in_the_dominant_with_its_own_cadences_is_a_change_of_key() -> None:
    home = "C3 G3 E4 C5 | G3 F3 D4 B4 | C3 G3 E4 C5 | C3 G3 E4 C5 |"
    away = "G3 B3 D4 G4 | C3 A3 E4 A4 | D3 A3 F#4 C5 | G3 B3 D4 G4 |" * 5
    harmony = analyse_harmony(chordal(home * 2 + away.rstrip("|")))
    assert [area.key.name for area in harmony.key_areas] == ["C", "G"]
    border = harmony.key_areas[1]
    assert abs(border.start_quarters - 8) <= 2  # the chord in between belongs to both keys
    assert harmony.key_areas[0].end_quarters == border.start_quarters


def test_an_opening_in_a_major_moves_by_inversions_in_each_measure() -> None:
    # the outline that analysts give of four measures of a well-known theme (Mozart, K. 331, first
    # movement): I, I6 | V6, V43 | vi7, V6 | I, ii6, V(64)-V; the notes here are our own
    score = chordal(
        "A3 E4 C#5 | A3 E4 C#5 | C#4 E4 E5 | C#4 E4 E5 |"
        "G#3 E4 B4 | G#3 E4 B4 | B3 E4 D5 | B3 E4 D5 |"
        "F#3 E4 A4 C#5 | F#3 E4 A4 C#5 | G#3 E4 B4 | G#3 E4 B4 |"
        "A3 E4 A4 C#5 | D4 F#4 B4 D5 | E4 A4 C#5 E5 | E4 G#4 B4 E5",
        fifths=3,
    )
    harmony = analyse_harmony(score)
    assert {span.key.name for span in harmony.spans} == {"A"}
    places = (0, 4, 6, 8, 10, 12, 13, 14, 15)
    found = [span.numeral for place in places if (span := harmony.span_at(Fraction(place)))]
    assert found == ["I", "V6", "V43", "vi7", "V6", "I", "ii6", "I64", "V"]


def test_spans_tile_the_piece_and_know_their_measure() -> None:
    score = chordal(CADENCE)
    spans = analyse_harmony(score).spans
    assert spans[0].start_quarters == 0
    assert spans[-1].end_quarters == score.end_quarters
    for one, other in pairwise(spans):
        assert one.end_quarters == other.start_quarters
    assert [span.position for span in spans] == [
        score.position_at(span.start_quarters) for span in spans
    ]


def test_the_harmony_is_asked_by_place() -> None:
    harmony = analyse_harmony(chordal(CADENCE))
    at_dominant = harmony.span_at(Fraction(7, 2))
    assert at_dominant is not None
    assert at_dominant.numeral == "V7"
    assert harmony.span_at(Fraction(8)) is None
    assert harmony.span_at(Fraction(-1)) is None


@pytest.mark.parametrize("fifths", [-5, -1, 2, 6])
def test_a_transposed_piece_has_the_transposed_harmony(fifths: int) -> None:
    score = chordal(CADENCE)
    here, there = analyse_harmony(score), analyse_harmony(transposed(score, fifths))
    assert [
        (Key(span.key.tonic_fifths + fifths, span.key.mode).name, span.numeral)
        for span in here.spans
    ] == named(there)


def test_other_readings_are_offered_and_none_of_them_is_the_chosen_one() -> None:
    for span in analyse_harmony(chordal(CADENCE)).spans:
        assert 0 < span.confidence <= 1
        assert 1 <= len(span.alternatives) <= 3
        beliefs = [reading.confidence for reading in span.alternatives]
        assert beliefs == sorted(beliefs, reverse=True)
        for reading in span.alternatives:
            assert (reading.key, reading.numeral) != (span.key, span.numeral)


def test_cue_hidden_and_grace_notes_do_not_count() -> None:
    score = chordal(CADENCE)
    alien = [
        replace(score.notes[0], note_id="cue", pitch=61, spelling="C#4", expected=False),
        replace(score.notes[0], note_id="grace", pitch=66, spelling="F#4", grace=True),
    ]
    with_alien = replace(score, notes=(*alien, *score.notes))
    assert named(analyse_harmony(with_alien)) == named(analyse_harmony(score))


def test_notes_without_spelling_are_spelled_by_the_key_signature() -> None:
    score = chordal(CADENCE)
    bare = replace(score, notes=tuple(replace(note, spelling="") for note in score.notes))
    assert analyse_harmony(bare) == analyse_harmony(score)


def test_a_score_without_notes_has_no_harmony() -> None:
    empty = replace(chordal(CADENCE), notes=())
    harmony = analyse_harmony(empty)
    assert harmony.spans == ()
    assert harmony_table(empty, harmony, 80) == NO_HARMONY
    assert harmony_document(empty, harmony) == {"spans": []}
    assert analyse_harmony(Score(title="", composer="", measures=(), notes=())).spans == ()


def test_progress_is_told_step_by_step_and_cancelling_stops() -> None:
    told: list[Progress] = []
    analyse_harmony(chordal(CADENCE), told.append)
    assert [progress.done for progress in told] == list(range(len(told)))

    def cancel(progress: Progress) -> None:
        if progress.done == 2:
            raise Cancelled

    with pytest.raises(Cancelled):
        analyse_harmony(chordal(CADENCE), cancel)


def test_the_document_has_the_agreed_fields() -> None:
    score = chordal(CADENCE)
    spans = harmony_document(score, analyse_harmony(score))["spans"]
    assert set(spans[0]) == {
        "start", "end", "measure", "offset_quarters", "key", "degree", "quality", "inversion",
        "numeral", "confidence", "written", "alternatives",
    }  # fmt: skip
    assert [span["written"] for span in spans] == ["I", "IV", "I6/4", "V7", "I"]
    assert [span["numeral"] for span in spans] == ["I", "IV", "I64", "V7", "I"]
    assert spans[2]["start"] == 2.0
    assert spans[2]["offset_quarters"] == "2"
    assert spans[2]["measure"] == "1"


def test_the_document_tells_other_readings_too() -> None:
    score = chordal(CADENCE)
    for span in harmony_document(score, analyse_harmony(score))["spans"]:
        assert 1 <= len(span["alternatives"]) <= 3
        beliefs = [other["confidence"] for other in span["alternatives"]]
        assert beliefs == sorted(beliefs, reverse=True)
        assert span["numeral"] not in [
            other["numeral"] for other in span["alternatives"] if other["key"] == span["key"]
        ]


def test_the_table_names_key_measure_beat_and_numeral_and_keeps_to_the_width() -> None:
    score = chordal(CADENCE)
    text = harmony_table(score, analyse_harmony(score), 40)
    lines = text.splitlines()
    assert lines[0] == "C major"
    assert "1 I" in lines[1]
    assert "4 V7" in text
    assert max(map(len, lines[:4])) <= 40
