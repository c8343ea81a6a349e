"""Page turns are decided by rules that can be checked without a window."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from companion.desktop.score_view.follow import Extent, turn_to

SYSTEMS = [Extent(top, top + 200.0) for top in range(0, 2000, 250)]


def test_nothing_moves_while_this_and_the_next_system_are_in_sight():
    assert turn_to(SYSTEMS, 0, 0.9, 0.0, 500.0) is None


def test_page_turns_early_in_the_last_system_before_the_fold():
    assert turn_to(SYSTEMS, 1, 0.1, 0.0, 500.0) is None
    assert turn_to(SYSTEMS, 1, 0.3, 0.0, 500.0) == SYSTEMS[1].top


def test_restart_on_an_earlier_page_goes_back_at_once():
    assert turn_to(SYSTEMS, 0, 0.0, 1000.0, 500.0) == SYSTEMS[0].top


def test_jump_ahead_goes_there_at_once():
    assert turn_to(SYSTEMS, 6, 0.0, 0.0, 500.0) == SYSTEMS[6].top


def test_low_window_turns_at_the_last_moment():
    assert turn_to(SYSTEMS, 1, 0.5, 250.0, 220.0) is None
    assert turn_to(SYSTEMS, 1, 0.9, 250.0, 220.0) == SYSTEMS[2].top


def test_last_system_stays():
    assert turn_to(SYSTEMS, len(SYSTEMS) - 1, 1.0, SYSTEMS[-1].top, 500.0) is None


def test_system_taller_than_the_window_does_not_jump_forever():
    assert turn_to([Extent(0.0, 900.0)], 0, 0.5, 0.0, 400.0) is None


def test_beside_each_other_the_right_page_is_in_sight_with_the_left():
    spread = [Extent(0.0, 200.0), Extent(250.0, 450.0), Extent(0.0, 200.0), Extent(250.0, 450.0)]
    assert turn_to(spread, 1, 0.9, 0.0, 500.0) is None


@given(
    playing=st.integers(0, len(SYSTEMS) - 1),
    share=st.floats(0, 1),
    top=st.floats(0, 2000),
    height=st.floats(210, 1200),
)
def test_after_a_turn_the_system_being_played_is_in_sight_and_nothing_moves_again(
    playing: int, share: float, top: float, height: float
):
    target = turn_to(SYSTEMS, playing, share, top, height)
    if target is None:
        return
    turned_ahead = target == SYSTEMS[min(playing + 1, len(SYSTEMS) - 1)].top
    if target == SYSTEMS[playing].top:
        assert target + height >= SYSTEMS[playing].bottom
        again = turn_to(SYSTEMS, playing, share, target, height)
        assert again is None or again == SYSTEMS[min(playing + 1, len(SYSTEMS) - 1)].top
    else:
        assert turned_ahead
        assert share >= 0.5


@given(share=st.floats(0, 1), top=st.floats(0, 1500))
def test_wavering_place_never_makes_the_page_waver(share: float, top: float):
    """Once turned, no place in the same system turns the page back."""
    target = turn_to(SYSTEMS, 3, share, top, 600.0)
    if target is not None:
        assert all(turn_to(SYSTEMS, 3, step / 20, target, 600.0) is None for step in range(21))
