"""Naming key and chord. The chords are those of the table of figures (common practice)."""

from fractions import Fraction
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.analysis.chords import Chord
from companion.analysis.harmony import Harmony, HarmonySpan, Reading
from companion.analysis.recitation import Answer, ask, judge, read_answer
from companion.analysis.spelling import Key
from companion.score.model import Position

C, A_MINOR, G = Key.from_name("C"), Key.from_name("a"), Key.from_name("G")


def span(numeral, degree, quality, inversion=0, *, start=0, length=1, key=C, alternatives=()):
    return HarmonySpan(
        start_quarters=Fraction(start),
        end_quarters=Fraction(start) + Fraction(length),
        position=Position(0, Fraction(start)),
        key=key,
        degree=degree,
        quality=quality,
        inversion=inversion,
        numeral=numeral,
        confidence=0.6,
        alternatives=alternatives,
    )


V43 = span("V43", "V", "dom7", 2)


@pytest.mark.parametrize(
    ("text", "key", "chord", "inversion"),
    [
        ("C: V4/3", "C", Chord("V", "dom7"), 2),
        ("C major, V43", "C", Chord("V", "dom7"), 2),
        ("Eb: I6", "Eb", Chord("I", "maj"), 1),
        ("E flat major I6", "Eb", Chord("I", "maj"), 1),
        ("c#: i", "c#", Chord("I", "min"), 0),
        ("f sharp minor: i6/4", "f#", Chord("I", "min"), 2),
    ],
)
def test_an_answer_names_key_and_chord(text, key, chord, inversion):
    assert read_answer(text, G) == Answer(Key.from_name(key), chord, inversion)


def test_a_numeral_alone_leaves_the_key_open():
    assert read_answer("V7", C) == Answer(None, Chord("V", "dom7"), 0)
    assert read_answer("i6", A_MINOR) == Answer(None, Chord("I", "min"), 1)


def test_a_key_alone_leaves_the_chord_open():
    assert read_answer("B flat minor", C) == Answer(Key.from_name("bb"))


@pytest.mark.parametrize("text", ["", "hello", "C: hello", "X major", "V99"])
def test_what_makes_no_sense_is_no_answer(text):
    assert read_answer(text, C) is None


def test_the_whole_answer_is_right():
    found = judge(V43, read_answer("C: V4/3", C))
    assert found.parts == (True, True, True, True)
    assert found.all_right


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("G: V43", (False, False, True, False)),
        ("C: V65", (True, True, True, False)),
        ("C: V", (True, True, False, False)),
        ("C: ii7", (True, False, False, True)),  # D F A C has the same bass
        ("V43", (None, True, True, True)),
        ("C major", (True, None, None, None)),
        ("G: I7", (False, True, False, False)),
    ],
)
def test_an_answer_is_judged_part_by_part(text, parts):
    assert judge(V43, read_answer(text, C)).parts == parts


def test_the_same_chord_named_in_another_key_has_the_right_root():
    # G B D F is V7 of C and a seventh chord on I of G: the chord is right, the key is not
    found = judge(V43, Answer(G, Chord("I", "dom7"), 2))
    assert found.parts == (False, True, True, True)


def test_another_likely_reading_is_accepted_as_a_whole_but_not_mixed():
    other = Reading(
        key=A_MINOR, degree="I", quality="min", inversion=0, numeral="i", confidence=0.3
    )
    unlikely = Reading(
        key=G, degree="IV", quality="maj", inversion=0, numeral="IV", confidence=0.01
    )
    place = span("vi", "VI", "min", alternatives=(other, unlikely))
    assert judge(place, read_answer("a: i", C)).all_right
    assert judge(place, read_answer("C: vi", C)).all_right
    assert judge(place, read_answer("G: IV", C)).key is False


@pytest.mark.parametrize(
    ("keys", "parts"),
    [
        ((62, 65, 67, 71), (None, True, True, True)),  # D F G B
        ((55, 59, 62, 65), (None, True, True, False)),  # G in the bass
        ((62, 67, 71), (None, True, False, True)),  # the seventh is missing
        ((60, 64, 67), (None, True, False, False)),  # C E G holds the root G, no more
    ],
)
def test_a_chord_may_be_played_instead(keys, parts):
    assert judge(V43, Answer(keys_played=keys)).parts == parts


def test_the_fifth_of_a_played_chord_may_be_left_out():
    root_position = span("V7", "V", "dom7")
    assert judge(root_position, Answer(keys_played=(55, 59, 65))).all_right


HARMONY = Harmony(
    spans=tuple(
        span("I", "I", "maj", start=n, length=Fraction(1, 4) if n % 3 == 0 else 1)
        for n in range(20)
    )
)


@given(st.integers(0, 19), st.integers(0, 20), st.integers(0, 30), st.integers())
def test_places_are_drawn_once_each_from_the_stretch_that_is_asked(start, length, count, seed):
    drawn = ask(HARMONY, Fraction(start), Fraction(start + length), count, Random(seed))
    starts = [each.start_quarters for each in drawn]
    assert len(set(starts)) == len(starts) <= count
    assert all(start <= quarters < start + length for quarters in starts)
    assert all(quarters % 3 != 0 for quarters in starts)  # the quick ones are left out
