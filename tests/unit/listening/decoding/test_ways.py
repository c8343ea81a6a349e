"""The cheapest way to each place of the score."""

import numpy as np
import pytest

from companion.listening.decoding.ways import CheapestWays


def test_of_two_ways_to_a_place_the_cheaper_is_taken():
    chosen, lowest = CheapestWays(10).choose(
        np.array([3, 7, 3, 7]), np.array([2.0, 1.0, 1.5, 4.0]), beam=14.0, most=9
    )
    assert chosen.tolist() == [1, 2]
    assert lowest == 1.0


def test_of_equally_cheap_ways_the_first_is_taken():
    chosen, _ = CheapestWays(5).choose(np.array([4, 4, 4]), np.ones(3), beam=1.0, most=9)
    assert chosen.tolist() == [0]


def test_ways_that_cost_more_by_the_beam_are_given_up_and_so_are_all_but_the_best():
    cost = np.array([0.0, 5.0, 1.0, 2.0])
    states = np.arange(4)
    assert CheapestWays(4).choose(states, cost, beam=5.0, most=9)[0].tolist() == [0, 2, 3]
    assert CheapestWays(4).choose(states, cost, beam=9.0, most=2)[0].tolist() == [0, 2]


@pytest.mark.parametrize("seed", range(5))
def test_it_finds_what_looking_at_each_place_finds(seed):
    chance = np.random.default_rng(seed)
    room = CheapestWays(50)
    for _ in range(20):  # the room is used anew
        states, cost = chance.integers(0, 50, 200), chance.integers(0, 30, 200) / 2
        chosen, lowest = room.choose(states, cost, beam=6.0, most=999)
        best = {}
        for at, state in enumerate(states.tolist()):
            if cost[at] < lowest + 6.0 and (state not in best or cost[at] < cost[best[state]]):
                best[state] = at
        assert chosen.tolist() == sorted(best.values())
