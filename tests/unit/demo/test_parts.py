"""Ornaments, the final ritard, and how practice and rest change the skill."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.demo.ornaments import lower_neighbour, realised, scale_of, upper_neighbour
from companion.demo.skill import FIRST_READING, FLAWLESS, learnt_share
from companion.demo.touch import final_ritard


@pytest.mark.parametrize(
    ("sign", "key_fifths", "pitches"),
    [
        ("mordent", 0, [72, 71, 72]),
        ("inverted mordent", 0, [72, 74, 72]),
        ("turn", 0, [74, 72, 71, 72]),
        ("inverted turn", 0, [71, 72, 74, 72]),
        ("mordent", -3, [72, 70, 72]),  # C minor's signature: B flat below
        ("turn", 2, [74, 73, 71, 73]),  # on C sharp in D major
    ],
)
def test_an_ornament_is_played_in_the_key(sign, key_fifths, pitches):
    # Common practice: mordent main-lower-main, its inversion main-upper-main, turn from above.
    main = 73 if key_fifths == 2 else 72
    assert [s.pitch for s in realised(sign, main, key_fifths, 1.0)] == pitches


@given(
    st.sampled_from(["trill", "mordent", "turn", "delayed turn"]),
    st.integers(30, 100),
    st.integers(-7, 7),
    st.floats(0.1, 4.0),
)
def test_an_ornament_stays_inside_its_note_and_ends_on_it(sign, pitch, fifths, lasts):
    strokes = realised(sign, pitch, fifths, lasts)
    assert strokes[-1].pitch == pitch
    assert strokes[0].after_seconds == 0.0
    assert max(s.after_seconds + s.lasts_seconds for s in strokes) <= lasts + 1e-9
    assert {s.pitch for s in strokes} <= {
        pitch,
        upper_neighbour(pitch, fifths),
        lower_neighbour(pitch, fifths),
    }


def test_an_unknown_sign_is_a_plain_note():
    assert realised("glissando", 60, 0, 1.0) == ()


def test_the_scale_of_a_signature_is_that_of_its_major_key():
    assert scale_of(0) == {0, 2, 4, 5, 7, 9, 11}
    assert scale_of(1) - scale_of(0) == {6}  # G major: F sharp
    assert scale_of(-1) - scale_of(0) == {10}  # F major: B flat


@pytest.mark.parametrize(
    ("curvature", "shares"),
    [
        (3.0, (0.921008, 0.825482, 0.700510, 0.5)),
        (2.0, (0.901388, 0.790569, 0.661438, 0.5)),
    ],
)
def test_the_final_ritard_follows_the_published_curve(curvature, shares):
    # Friberg & Sundberg 1999, JASA 105:1469-1484, formula as usually cited.
    found = [
        final_ritard(place, end_tempo_share=0.5, curvature=curvature)
        for place in (0.25, 0.5, 0.75, 1.0)
    ]
    assert found == pytest.approx(shares, abs=1e-6)


def test_each_take_helps_less_than_the_one_before():
    gains = [learnt_share(n + 1, 0) - learnt_share(n, 0) for n in range(30)]
    assert all(later < earlier for earlier, later in itertools.pairwise(gains))
    assert all(gain > 0 for gain in gains)


def test_a_pause_costs_some_of_what_was_learnt():
    assert learnt_share(10, 30) < learnt_share(10, 1) < learnt_share(10, 0)
    assert learnt_share(10, 30) > 0.7 * learnt_share(10, 0)


def test_a_skill_part_way_lies_between():
    half = FIRST_READING.towards(FLAWLESS, 0.5)
    assert half.wrong_per_100 == FIRST_READING.wrong_per_100 / 2
    assert FIRST_READING.towards(FLAWLESS, 1.0) == FLAWLESS
