"""Staying: the onset goes on, or a note is added beside it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.costs import NEVER
from companion.listening.decoding.moves import ADDED, CHORD, WRONG_IN_CHORD
from companion.listening.decoding.paths import COST, LEFT, OWED, REACHED, TEMPO

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from companion.listening.decoding.costs import Costs
    from companion.listening.decoding.paths import Paths
    from companion.listening.decoding.pitch_tables import PitchTables
    from companion.listening.decoding.recent_notes import RecentNotes, Wait
    from companion.listening.decoding.score_onsets import ScoreOnsets

_ADDED_OR_WRONG = np.array([ADDED, WRONG_IN_CHORD])

OVERTIME = 1.2
OVERTIME_SECONDS = 0.1
"""An ornament may last so many times its written length, and so long besides."""


@dataclass(frozen=True, slots=True)
class Beside:
    """What a note costs beside the onset where a player is.

    Parameters
    ----------
    added
        More than its key costs as an added one.
    late
        When it belongs to the onset.
    trill
        Whether it goes back and forth.
    leaves_complete
        Whether an onset that was complete, slips and all, is not taken up again: after a pause.
    """

    added: float
    late: float
    trill: bool
    leaves_complete: bool


def weigh_beside(
    costs: Costs, note: tuple[float, int, int], recent: RecentNotes, wait: Wait
) -> Beside:
    """What a note (seconds, pitch, velocity) costs beside an onset, whichever."""
    c, (seconds, pitch, velocity) = costs, note
    added = wait.hesitation - (c.soft_added_relief if recent.is_soft(velocity, c) else 0.0)
    late = 0.0
    alone = wait.seconds > c.chord_window_seconds
    if alone:
        added += c.added_alone + (c.added_after_pause if wait.pause else 0.0)
        late = (wait.seconds - c.chord_window_seconds) * c.late_in_chord_per_second
        late = min(c.late_in_chord_most, late)
    return Beside(added, late, recent.alternates(seconds, pitch), alone and wait.pause)


def costs_of_staying(
    onsets: ScoreOnsets,
    costs: Costs,
    paths: Paths,
    tables: PitchTables,
    seconds: float,
    beside: Beside,
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Cost and move of each path when its onset goes on, or the note is added to it."""
    c, here, states = costs, paths.table, paths.states
    since_reached = seconds - here[REACHED]
    added = tables.added[states]
    added += beside.added
    late_now = tables.late[states]
    late_now &= here[OWED] > 0.5
    late_now &= since_reached < c.late_seconds
    np.putmask(added, late_now, c.late_for_onset)
    if beside.trill:
        lasts = OVERTIME * onsets.longest_quarters[states] * here[TEMPO] + OVERTIME_SECONDS
        goes_on = since_reached < lasts
        added[goes_on] = np.minimum(added[goes_on] - c.trill_relief, c.added_in_trill)
    if tables.adorning_any:
        lasts = OVERTIME * onsets.ornament_quarters[states] * here[TEMPO] + OVERTIME_SECONDS
        adorning = tables.adorning[states]
        adorning &= since_reached < lasts
        np.putmask(added, adorning, c.added_in_ornament)

    wrong = tables.wrong[states]
    wrong += beside.late
    np.putmask(wrong, here[LEFT] < 0.5, NEVER)
    move = _ADDED_OR_WRONG[(wrong < added).view(np.int8)]
    stay: NDArray[np.float64] = np.minimum(wrong, added, out=added)
    fresh = (tables.bits[states] & ~paths.heard) != 0
    if beside.leaves_complete:
        fresh &= here[LEFT] > 0.5
    np.putmask(stay, fresh, beside.late)
    np.putmask(move, fresh, CHORD)
    stay += here[COST]
    return stay, move


def note_what_sounded(
    columns: NDArray[np.float64], added: NDArray[np.bool_], late: NDArray[np.bool_]
) -> None:
    """Update the columns of paths that stayed: what is still to come of this onset and before.

    Parameters
    ----------
    columns
        They are changed.
    added
        Which of them took the note as an added one.
    late
        Where its key is written just before.
    """
    left, owed = columns[LEFT], columns[OWED]
    left -= ~added
    np.maximum(left, 0.0, out=left)
    owed -= added & late
    np.maximum(owed, 0.0, out=owed)
