from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.score.reading.repeats import MOST_TIMES_LONGER, Signs, playing_order
from tests.unit.score.musicxml_text import barline, measure, note, read_measures, words


def order(*signs):
    return playing_order(signs)


PLAIN = Signs()
OPEN = Signs(starts_repeat=True)
CLOSE = Signs(ends_repeat=True)
BOTH = Signs(starts_repeat=True, ends_repeat=True)
FIRST = Signs(ending=(1,), ends_repeat=True)
SECOND = Signs(ending=(2,))


@pytest.mark.parametrize(
    ("signs", "expected"),
    [
        pytest.param((PLAIN, PLAIN), (0, 1), id="no signs"),
        pytest.param((PLAIN, CLOSE, PLAIN), (0, 1, 0, 1, 2), id="from the start of the piece"),
        pytest.param((PLAIN, OPEN, CLOSE), (0, 1, 2, 1, 2), id="from a printed beginning"),
        pytest.param((CLOSE, CLOSE), (0, 0, 1, 1), id="from the end of the repeat before"),
        pytest.param((BOTH, BOTH), (0, 0, 1, 1), id="one measure each"),
        pytest.param((Signs(ends_repeat=True, times=4),), (0, 0, 0, 0), id="four times"),
        pytest.param((OPEN, FIRST, SECOND, PLAIN), (0, 1, 0, 2, 3), id="two endings"),
        pytest.param(
            (OPEN, Signs(ending=(1, 2), ends_repeat=True), Signs(ending=(3,))),
            (0, 1, 0, 1, 0, 2),
            id="first and second ending alike",
        ),
        pytest.param(
            (OPEN, Signs(ending=(1,)), FIRST, SECOND, SECOND),
            (0, 1, 2, 0, 3, 4),
            id="endings of two measures",
        ),
        pytest.param((OPEN, FIRST, PLAIN, CLOSE), (0, 1, 0, 2, 3, 2, 3), id="first ending alone"),
        pytest.param((PLAIN, PLAIN, SECOND, PLAIN), (0, 1, 2, 3), id="second ending alone"),
        # the worked example of common practice: |: A |1 B :|2 C | D, D.C. al Fine, Fine after A
        pytest.param(
            (
                Signs(starts_repeat=True, fine=True),
                FIRST,
                SECOND,
                Signs(da_capo=True),
            ),
            (0, 1, 0, 2, 3, 0),
            id="A B A C D A",
        ),
        pytest.param(
            (CLOSE, Signs(fine=True, ends_repeat=True), CLOSE, Signs(da_capo=True)),
            (0, 0, 1, 1, 2, 2, 3, 0, 1),
            id="no repeats after da capo",
        ),
        pytest.param(
            (
                Signs(ends_repeat=True, after_jump=True),
                Signs(fine=True),
                Signs(da_capo=True),
            ),
            (0, 0, 1, 2, 0, 0, 1),
            id="repeats after da capo where it says so",
        ),
        pytest.param(
            (OPEN, FIRST, Signs(ending=(2,), fine=True), Signs(da_capo=True)),
            (0, 1, 0, 2, 3, 0, 2),
            id="the last ending after da capo",
        ),
        pytest.param(
            (
                PLAIN,
                Signs(segno=""),
                Signs(to_coda=""),
                Signs(dal_segno=""),
                Signs(coda=""),
            ),
            (0, 1, 2, 3, 1, 2, 4),
            id="dal segno al coda",
        ),
        pytest.param(
            (
                Signs(segno="a"),
                Signs(segno="b"),
                Signs(dal_segno="a"),
                Signs(dal_segno="b"),
            ),
            (0, 1, 2, 0, 1, 2, 3, 1, 2, 3),
            id="two labelled signs",
        ),
        pytest.param(
            (CLOSE, Signs(fine=True), CLOSE, Signs(da_capo=True)),
            (0, 0, 1, 2, 2, 3, 0, 1),
            id="a repeat behind Fine does not go back before it",
        ),
        pytest.param((), (), id="nothing"),
    ],
)
def test_the_order_of_playing(signs, expected):
    assert order(*signs) == expected


def test_music_that_no_path_reaches_makes_the_order_be_given_up():
    skipped = (Signs(to_coda="", da_capo=True), PLAIN, Signs(coda=""))
    assert order(*skipped) is None


SIGNS = st.builds(
    Signs,
    starts_repeat=st.booleans(),
    ends_repeat=st.booleans(),
    times=st.integers(1, 16),
    after_jump=st.booleans(),
    ending=st.sampled_from([(), (), (1,), (2,), (1, 2), (3,), (32,)]),
    segno=st.sampled_from([None, None, "", "a"]),
    coda=st.sampled_from([None, None, "", "a"]),
    da_capo=st.booleans(),
    dal_segno=st.sampled_from([None, None, "", "a"]),
    to_coda=st.sampled_from([None, None, "", "a"]),
    fine=st.booleans(),
)


@given(st.lists(SIGNS, max_size=24))
def test_whatever_the_signs_the_order_ends_and_plays_every_measure(signs):
    found = playing_order(signs)
    if found is not None:
        assert set(found) == set(range(len(signs)))
        assert len(found) <= MOST_TIMES_LONGER * len(signs)


@given(st.lists(st.sampled_from([PLAIN, OPEN, CLOSE, BOTH]), max_size=24))
def test_plain_repeats_play_each_measure_once_or_twice(signs):
    found = playing_order(signs)
    assert all(found.count(place) in (1, 2) for place in range(len(signs)))


# from the page


def whole():
    return note("C4", 4)


@pytest.mark.parametrize(
    ("fine", "jump"),
    [
        (words("Fine"), words("D.C. al Fine")),
        (words("Fine"), words("Da Capo al Fine")),
        (words("", sound='fine="yes"'), words("", sound='dacapo="yes"')),
        (words("fine.", sound='fine="yes"'), words("M.D.C.", sound='dacapo="yes"')),
    ],
    ids=["words", "long words", "sound", "both"],
)
def test_da_capo_al_fine_is_found_in_words_and_sounds(tmp_path, fine, jump):
    score = read_measures(tmp_path, measure(whole(), fine), measure(whole(), jump))
    assert score.playing_order == (0, 1, 0)


def test_dal_segno_al_coda_is_found_in_signs_and_words(tmp_path):
    score = read_measures(
        tmp_path,
        measure(whole()),
        measure(words("", signs="<segno/>"), whole(), words("To Coda")),
        measure(whole(), words("D.S. al Coda")),
        measure(words("Coda", signs="<coda/>"), whole()),
    )
    assert score.playing_order == (0, 1, 2, 1, 3)


def test_the_first_of_two_coda_signs_says_where_to_leave(tmp_path):
    score = read_measures(
        tmp_path,
        measure(whole(), words("", signs="<coda/>")),
        measure(whole(), words("D.C.")),
        measure(words("", signs="<coda/>"), whole()),
    )
    assert score.playing_order == (0, 1, 0, 2)


def test_a_trio_without_fine_is_followed_by_the_first_part_alone(tmp_path):
    score = read_measures(
        tmp_path,
        measure(whole(), barline(repeat="backward")),
        measure(words("Trio"), whole(), barline(repeat="backward"), words("Menuetto D.C.")),
    )
    assert score.playing_order == (0, 0, 1, 1, 0)


def test_endings_are_read_from_their_brackets(tmp_path):
    score = read_measures(
        tmp_path,
        measure(barline("left", repeat="forward"), whole()),
        measure(
            barline("left", ending="start", number="1, 2"),
            whole(),
            barline(ending="stop", number="1, 2", repeat='backward" times="3'),
        ),
        measure(
            barline("left", ending="start", number="3"),
            whole(),
            barline(ending="discontinue", number="3"),
        ),
        measure(whole()),
    )
    assert score.playing_order == (0, 1, 0, 1, 0, 2, 3)


def test_words_that_only_contain_the_letters_are_no_jump(tmp_path):
    score = read_measures(
        tmp_path, measure(whole(), words("m.d. sopra")), measure(whole(), words("infine"))
    )
    assert score.playing_order == (0, 1)
