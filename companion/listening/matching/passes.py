"""Stretches of a take without a jump, read off the best path of the decoder.

After the whole take has been heard the path is followed backwards (Viterbi): each played note gets
the onset at which the best explanation of *everything* puts it. Where the path jumps, a new pass
begins.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.costs import NEVER
from companion.listening.decoding.decoder import PlaceDecoder
from companion.listening.decoding.moves import (
    is_jump,
    is_right,
    is_written_leap,
    is_wrong,
)
from companion.listening.matching.retries import begin_again_in_place

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from companion.listening.decoding.costs import Costs
    from companion.listening.decoding.decoder import Memory
    from companion.listening.decoding.few_paths import FewPaths
    from companion.listening.decoding.paths import Steps
    from companion.listening.decoding.score_onsets import ScoreOnsets
    from companion.listening.notes import HeardNote

NOTES_PER_MARK = 4
MARKS = 5
"""While nobody jumps the decoder is remembered every few notes, so many times."""
WEIGH_NOTES = 16
"""Once there is a reason to, jumps are weighed for at least so many notes."""
MISFIT = 8.0
"""Cost of the notes since the oldest mark that is a reason to weigh jumps from there on."""
SOON_NOTES = 4
"""So many notes after a pause it is settled whether it was a new start, if all that speaks against
it costs as much more as a misfit: that could come back only by notes that do not fit."""

LONGEST_WAIT_SECONDS = 0.4
"""A jump after a shorter wait than this is doubted."""
FEWEST_NOTES = 16
NEARLY = 0.95
"""Going on is believed when it explains this share of the notes that the jump explains."""


@dataclass(frozen=True, slots=True)
class Pass:
    """Notes ``first`` to ``last`` of a take, in one chain of onsets.

    ``states`` holds the state of each note, ``right`` whether its key is written there and new,
    ``wrong`` whether it stands for another key that is. ``lowest`` and ``highest`` are the states
    between which all was to be played. ``goes_on`` tells that it follows the pass before by a
    written leap.
    """

    first: int
    last: int
    chain: int
    states: NDArray[np.intp]
    right: NDArray[np.bool_]
    wrong: NDArray[np.bool_]
    lowest: int
    highest: int
    goes_on: bool = False


def find_passes(
    onsets: ScoreOnsets, notes: Sequence[HeardNote], costs: Costs | None = None
) -> list[Pass]:
    """Cut a take into passes.

    Parameters
    ----------
    onsets
        The laid out score.
    notes
        Heard notes sorted by onset.
    costs
        The model of the decoder.
    """
    states, moves = _best_path(onsets, notes, costs)
    if not len(states):
        return []
    jumps = [index for index, move in enumerate(moves) if is_jump(move)]
    leaps = {index: move for index, move in enumerate(moves) if is_written_leap(move)}
    starts = sorted({0, *jumps, *leaps})
    passes: list[Pass] = []
    for first, behind in zip(starts, [*starts[1:], len(states)], strict=True):
        piece = slice(first, behind)
        if states[first] < 0:
            continue
        lowest, highest = int(states[piece].min()), int(states[piece].max())
        if first in leaps:
            leap = onsets.leaps.index_of(int(states[first - 1]), int(states[first]))
            lowest = min(lowest, int(onsets.leaps.first[leap]))
        if behind in leaps:
            leap = onsets.leaps.index_of(int(states[behind - 1]), int(states[behind]))
            highest = max(highest, int(onsets.leaps.last[leap]))
        passes.append(
            Pass(
                first,
                behind - 1,
                int(onsets.state_chain[states[first]]),
                states[piece],
                np.array([is_right(move) for move in moves[piece]], np.bool_),
                np.array([is_wrong(move) for move in moves[piece]], np.bool_),
                lowest,
                highest,
                first in leaps,
            )
        )
    return passes


def _walk(decoder: PlaceDecoder, notes: Sequence[HeardNote]) -> list[Steps | FewPaths]:
    """Hear all notes, weighing new starts only where the music gives a reason to.

    While the player plainly goes on, jumps are not weighed at all, which is several times faster.
    A pause is a reason to weigh them, and so is a rival elsewhere, unless the same music stands
    there and goes on as plainly; so is misfit, for which the decoder goes back to before it.
    """
    trail: list[Steps | FewPaths] = []
    marks: deque[tuple[int, Memory]] = deque(maxlen=MARKS)
    losses: deque[float] = deque(maxlen=MARKS * NOTES_PER_MARK)
    weigh_until, paused_at, rivals = WEIGH_NOTES, -1, False
    index = 0
    while index < len(notes):
        note = notes[index]
        pause = index > 0 and decoder.pauses(note.onset_seconds)
        if pause and index + WEIGH_NOTES > weigh_until:
            paused_at = index if index >= weigh_until else paused_at
            weigh_until = index + WEIGH_NOTES
        weighs = index < weigh_until
        if not weighs and index % NOTES_PER_MARK == 0:
            marks.append((index, decoder.remember()))
        heard = (note.onset_seconds, note.pitch, note.velocity)
        if weighs or not decoder.hear_plainly(*heard):
            decoder.hear(*heard, may_jump=weighs or rivals)
        trail.append(decoder.steps)
        index += 1
        within = MISFIT if index >= paused_at + SOON_NOTES else NEVER
        if weighs and paused_at >= 0 and not pause and decoder.began_as_one(within):
            weigh_until, paused_at = index, -1  # no doubt whether it was a new start
        if weighs or rivals:
            rivals = index >= weigh_until and not decoder.is_settled()
        if weighs:
            marks.clear()
            losses.clear()
            continue
        losses.append(decoder.last_cost)
        if sum(losses) > MISFIT:
            # The stretch before was played from the first mark on: weigh everything there.
            began, memory = marks[0] if marks else (index, decoder.remember())
            decoder.go_back_to(memory)
            del trail[began:]
            weigh_until, paused_at = index + WEIGH_NOTES, -1
            index = began
            losses.clear()
            marks.clear()
    return trail


def _best_path(
    onsets: ScoreOnsets, notes: Sequence[HeardNote], costs: Costs | None
) -> tuple[NDArray[np.intp], list[int]]:
    decoder = PlaceDecoder(onsets, costs, starts_with_slips=True)
    trail = _walk(decoder, notes)
    states, moves = _trace(trail, decoder.best)
    _go_on_where_possible(decoder, notes, states, moves)
    begin_again_in_place(onsets, notes, states, moves)
    return states, moves


def _trace(trail: list[Steps | FewPaths], state: int) -> tuple[NDArray[np.intp], list[int]]:
    """Follow the best path backwards."""
    states = np.full(len(trail), -1, np.intp)
    moves = [0] * len(trail)
    for index in range(len(trail) - 1, -1, -1):
        if state < 0:
            break
        states[index] = state
        moves[index], state = trail[index].way_to(state)
    return states, moves


def _go_on_where_possible(
    decoder: PlaceDecoder, notes: Sequence[HeardNote], states: NDArray[np.intp], moves: list[int]
) -> None:
    """Undo jumps without a pause, where going on explains nearly as many notes.

    The same music may stand elsewhere, better written: a cadenza in wrong note values, a trill in
    full. Time tells against going on there, but nobody leaps through the piece without a pause.
    """
    jumps = [index for index, move in enumerate(moves) if is_jump(move) and index]
    for at, behind in pairwise([*jumps, len(notes)]):
        before = int(states[at - 1])
        wait = notes[at].onset_seconds - notes[at - 1].onset_seconds
        if before < 0 or wait > LONGEST_WAIT_SECONDS or behind - at < FEWEST_NOTES:
            continue
        tempo = _tempo_before(decoder.onsets, notes, states, at)
        decoder.begin_at(before, notes[at - 1].onset_seconds, tempo)
        trail: list[Steps | FewPaths] = []
        for note in notes[at:behind]:
            decoder.hear(note.onset_seconds, note.pitch, note.velocity, may_jump=False)
            trail.append(decoder.steps)
        other_states, other_moves = _trace(trail, decoder.best)
        right = sum(map(is_right, moves[at:behind]))
        if sum(map(is_right, other_moves)) >= NEARLY * right:
            states[at:behind] = other_states
            moves[at:behind] = other_moves


def _tempo_before(
    onsets: ScoreOnsets, notes: Sequence[HeardNote], states: NDArray[np.intp], at: int
) -> float:
    """Seconds per quarter over the last notes before an index."""
    since = max(0, at - 16)
    quarters = onsets.state_quarters[states[since:at]]
    seconds = notes[at - 1].onset_seconds - notes[since].onset_seconds
    moved = float(quarters[-1] - quarters[0])
    return min(3.0, max(0.1, seconds / moved)) if moved > 0.5 else 0.6
