"""The notation in which the sample scores are written, and what it refuses."""

import sys
from fractions import Fraction
from pathlib import Path

import pytest
from lxml import etree

SOURCE = Path(__file__).resolve().parents[3] / "sample_scores" / "source"


@pytest.fixture(scope="module", autouse=True)
def _source_on_the_path():
    sys.path.insert(0, str(SOURCE))
    yield
    sys.path.remove(str(SOURCE))


def written(right, left="R", fifths=0, meter=(4, 4), **more):
    from score_writing.musicxml import musicxml
    from score_writing.piece import Piece, Section

    section = Section(music={"R": right, "L": left, **more}, fifths=fifths, meter=meter)
    piece = Piece(title="A line", file_name="a_line", sections=[section])
    return etree.fromstring(musicxml(piece))


@pytest.mark.parametrize(
    ("right", "complaint"),
    [
        ("c5/4 d5 e5", "3 of 4 quarters"),
        ("c5/4 d5 e5 f5 g5", "5 of 4 quarters"),
        ("c4+e5/1", "stretch of 16 semitones"),
        ("c5/2~ d5", "the tie before"),
        ("h5/1", "cannot read"),
        ("c9/1", "not on the piano"),
        ("c5/1)", "slur ends"),
    ],
)
def test_what_cannot_be_played_or_read_is_refused(right, complaint):
    with pytest.raises(ValueError, match=complaint):
        written(right)


def test_a_rolled_chord_may_be_wide():
    assert len(written("c4+e5/1&").findall(".//arpeggiate")) == 2


def accidentals(score):
    return [note.findtext("accidental") for note in score.iter("note") if note.find("rest") is None]


def test_an_accidental_holds_to_the_end_of_its_measure_and_is_taken_back_with_courtesy():
    score = written("f#4/4 f#4 f4 f#5 | f4/4 g4 f4 r", left="R | R")
    assert accidentals(score) == ["sharp", None, "natural", "sharp", None, None, None]
    assert [e.get("cautionary") for e in score.iter("accidental")] == [None, None, None]
    score = written("f#4/1 | f4/2 f4", left="R | R")
    assert accidentals(score) == ["sharp", "natural", None]
    assert score.find(".//accidental[.='natural']").get("cautionary") == "yes"


def test_the_key_signature_needs_no_accidentals():
    assert accidentals(written("bb4/2 eb5 ", fifths=-2)) == [None, None]
    assert accidentals(written("b4/2 e5 ", fifths=-2)) == ["natural", "natural"]


def test_an_accidental_is_not_repeated_on_a_tied_note_over_the_bar_line():
    assert accidentals(written("f#4/1~ | f#4/2 f#4", left="R | R")) == ["sharp", None, "sharp"]


def test_beams_join_the_notes_of_a_beat_with_hooks_for_odd_ones():
    score = written("c5/8. d5/16 c5/16 d5/8 e5/16 c5/4 r/8 c5/8")
    beams = [[b.text for b in note.findall("beam")] for note in score.iter("note")][:8]
    assert beams == [
        ["begin"],
        ["end", "backward hook"],
        ["begin", "forward hook"],
        ["continue"],
        ["end", "backward hook"],
        [],
        [],
        [],
    ]


def test_two_voices_in_a_staff_have_their_stems_apart():
    score = written("c4/1 | e5/2 f5", left="R | R", R2=" | c5/2 d5")
    stems = {
        (n.findtext("voice"), n.findtext("stem"))
        for n in score.iter("note")
        if n.find("stem") is not None
    }
    assert stems == {("1", "up"), ("2", "down")}


def test_a_triplet_lasts_as_long_as_two_of_its_notes():
    score = written("3{ c5/8 d5 e5 } f5/4 g5/2")
    assert [int(n.findtext("duration")) for n in score.iter("note")][:3] == [8, 8, 8]


@pytest.mark.parametrize(
    ("function", "arguments", "expected"),
    [
        ("transposed", ("e5 d#5 bb4", 3, 5), "a5 g#5 eb5"),
        ("transposed", ("c5 f#5", -1, -2), "bb4 e5"),
        ("octave", ("c5/8 b4", -2), "c3/8 b2"),
        ("shifted", ("f4 c#5", -2, -1), "d4 a#4"),
        ("in_major", ("g4 bb4 eb5 f5 f#5", "g"), "g4 b4 e5 f#5 f#5"),
        ("figure", ("0 2 1", "c4 e4 g4"), "c4 g4 e4"),
    ],
)
def test_notation_is_moved_by_intervals_and_along_scales(function, arguments, expected):
    from score_writing import pitch

    assert getattr(pitch, function)(*arguments) == expected


def test_a_transposition_leaves_signs_and_words_alone():
    from score_writing.pitch import transposed

    text = r"\w:a4_b5 \mf c5/8.:tr=3 d5"
    assert transposed(text, 1, 2) == r"\w:a4_b5 \mf d5/8.:tr=3 e5"


def test_a_tempo_of_dotted_halves_is_three_times_as_many_quarters():
    from score_writing.piece import Tempo

    assert Tempo("Waltz time", "half", 54, dotted=True).quarters_per_minute == Fraction(162)
