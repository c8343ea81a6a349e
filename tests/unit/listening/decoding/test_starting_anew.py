"""Which paths may jump, held against a plain search in the words of the rule."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from companion.listening.decoding.costs import Costs
from companion.listening.decoding.paths import COST, LEFT, ROWS, SLIPPED, Paths
from companion.listening.decoding.score_onsets import lay_out_onsets
from companion.listening.decoding.starting_anew import (
    MOST_DEPARTURES,
    RIVAL_DEPARTURE,
    departures,
)
from tests.unit.listening.invented_music import written

COSTS = Costs()
ONSETS = lay_out_onsets(written(6))

a_path = st.tuples(
    st.integers(0, ONSETS.size - 1),
    st.sampled_from([0.0, 0.5, 1.0, 2.5, 3.0, 4.0]),  # so that many are equal
    st.integers(0, 2),
    st.booleans(),
)


def plainly(rows: list[tuple[int, float, int, bool]]) -> list[tuple[int, int, float, bool]]:
    leaving = [
        cost + COSTS.unfinished_note * left + slipped * COSTS.retry_after_slip
        for _, cost, left, slipped in rows
    ]
    found: list[tuple[int, int, float, bool]] = []
    for at in sorted(range(len(rows)), key=lambda at: (leaving[at], rows[at][0])):
        state, slipped = rows[at][0], rows[at][3]
        apart = all(
            abs(ONSETS.state_quarters[state] - ONSETS.state_quarters[other]) >= COSTS.beats_quarters
            for _, other, _, _ in found
        )
        if apart and leaving[at] <= min(leaving) + RIVAL_DEPARTURE:
            found.append((at, state, leaving[at], slipped))
    return found[:MOST_DEPARTURES]


@given(st.lists(a_path, min_size=1, max_size=40, unique_by=lambda row: row[0]))
def test_the_cheapest_paths_that_are_apart_may_jump(
    rows: list[tuple[int, float, int, bool]],
) -> None:
    states = np.array([row[0] for row in rows])
    table = np.zeros((ROWS, len(rows)))
    table[COST] = [row[1] for row in rows]
    table[LEFT] = [row[2] for row in rows]
    heard = np.array([int(SLIPPED) * row[3] for row in rows])
    none = np.full(len(rows), -1)
    found = departures(ONSETS, COSTS, Paths(states, none, none, table, heard, 0))
    assert [(d.path, d.state, d.cost, bool(d.by_slip)) for d in found] == plainly(rows)
