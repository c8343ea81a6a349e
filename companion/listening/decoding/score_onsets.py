"""The written music as the listener needs it: onsets in a row, for both hands and for each alone.

An *onset* is a written moment at which at least one key goes down, with all the notes that start
there (graces stand at the onset of their main note). There are three rows of onsets, called
*chains*: both hands, the right hand alone and the left hand alone; a player with hands separately
walks along the second or third. All chains lie one behind the other in flat numpy arrays, with
``PADDING`` empty places around each, so that "the onset three before" never reaches into another
chain and one vector operation treats every place in the score at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.written_order import Leaps, find_leaps
from companion.listening.notes import Hands
from companion.score.model import Hand

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from companion.score.model import ScoreNote

PADDING = 4
"""Empty places before each chain: the longest stride of the decoder."""

PITCHES = 128
MAX_KEYS = 62
"""Different keys told apart at one onset: the bits of a mask; two hands never reach so many."""

GRACE_QUARTERS = 0.5
"""Longest time that a grace takes from its surroundings (common practice: an eighth)."""

CHAIN_HANDS = (Hands.BOTH, Hands.RIGHT, Hands.LEFT)


@dataclass(frozen=True, slots=True)
class ScoreOnsets:
    """Onsets of all chains in flat arrays (one element per *state*, i.e. onset of a chain).

    Parameters
    ----------
    note_onset_quarters, note_pitch
        Per written note, in the caller's order.
    state_quarters
        Written onset; padding carries the value of its neighbour.
    state_chain
        Index into :data:`CHAIN_HANDS`.
    keys
        Number of different keys of the onset that are expected to be played.
    others
        One fewer, but never below 0: how many are to come when the first has sounded.
    padding
        True for the empty places.
    pitch_bits
        Per pitch the mask bit it has at each state, 0 where it is not written. Built on demand.
    chain_start, chain_end
        Where each chain's real states lie.
    notes_at
        Per state the note indices (caller's order).
    ornament_quarters
        How long an ornament may go on at a state: the length of the longest note with an ornament
        sign, an eighth for a grace, 0 where nothing is adorned.
    adorned
        Per pitch and state whether a note there carries an ornament sign or is a grace.
    longest_quarters
        Length of the longest note of a state.
    opens_measure, on_quarter
        Whether a state is the first of its chain in a measure; whether it lies whole quarters
        behind the barline.
    note_grace, note_ornament_quarters
        Per written note whether it is a grace, and how long its ornament may go on (0 for none).
    leaps
        Where the score itself leads elsewhere than to the next onset.
    """

    note_onset_quarters: NDArray[np.float64]
    note_pitch: NDArray[np.int64]
    note_expected: NDArray[np.bool_]
    state_quarters: NDArray[np.float64]
    state_chain: NDArray[np.int8]
    keys: NDArray[np.float32]
    others: NDArray[np.float64]
    padding: NDArray[np.bool_]
    written: NDArray[np.bool_]
    slot: NDArray[np.int8]
    chain_start: tuple[int, ...]
    chain_end: tuple[int, ...]
    notes_at: tuple[tuple[int, ...], ...]
    ornament_quarters: NDArray[np.float32]
    adorned: NDArray[np.bool_]
    longest_quarters: NDArray[np.float32]
    opens_measure: NDArray[np.bool_]
    on_quarter: NDArray[np.bool_]
    note_grace: NDArray[np.bool_]
    note_ornament_quarters: NDArray[np.float32]
    leaps: Leaps

    @property
    def size(self) -> int:
        """Number of states, padding included."""
        return len(self.state_quarters)

    def state_of(self, chain: int, quarters: float) -> int:
        """The state of a chain at or next after a written onset (the last one behind the end)."""
        start, end = self.chain_start[chain], self.chain_end[chain]
        at = start + int(self.state_quarters[start:end].searchsorted(quarters - 1e-6))
        return min(at, end - 1)


def lay_out_onsets(
    score_notes: Sequence[ScoreNote], playing_order: Sequence[int] | None = None
) -> ScoreOnsets:
    """Sort the notes of a score into the three chains.

    Parameters
    ----------
    score_notes
        Written notes in any order; indices in the result are places in this sequence.
    playing_order
        Measure indices in the order of playing, repeats and all; None as printed.
    """
    count = len(score_notes)
    quarters = np.fromiter((float(n.onset_quarters) for n in score_notes), np.float64, count)
    quarters = np.round(quarters, 5)
    pitch = np.fromiter((int(n.pitch) for n in score_notes), np.int64, count)
    expected = np.fromiter((bool(n.expected) for n in score_notes), np.bool_, count)
    length = np.fromiter((float(n.duration_quarters) for n in score_notes), np.float32, count)
    grace = np.fromiter((bool(n.grace) for n in score_notes), np.bool_, count)
    right = np.fromiter((n.playing_hand is Hand.RIGHT for n in score_notes), np.bool_, count)
    adorned_quarters = np.fromiter(
        (
            max(float(n.duration_quarters), GRACE_QUARTERS)
            if n.ornament
            else GRACE_QUARTERS * bool(n.grace)
            for n in score_notes
        ),
        np.float32,
        count,
    )

    state_quarters: list[float] = []
    chains: list[int] = []
    padding: list[bool] = []
    notes_at: list[tuple[int, ...]] = []
    starts: list[int] = []
    ends: list[int] = []
    selections = (np.ones(count, np.bool_), right, ~right)
    for chain, chosen in enumerate(selections):
        # A piece written for one hand needs no chain of its own for that hand.
        if chain and (not chosen.any() or chosen.all()):
            starts.append(len(padding))
            ends.append(len(padding))
            continue
        indices = np.flatnonzero(chosen)
        if not len(indices):
            starts.append(len(padding))
            ends.append(len(padding))
            continue
        order = indices[np.lexsort((pitch[indices], quarters[indices]))]
        onsets, first = np.unique(quarters[order], return_index=True)
        padding += [True] * PADDING
        state_quarters += [float(onsets[0]) if len(onsets) else 0.0] * PADDING
        notes_at += [()] * PADDING
        chains += [chain] * (PADDING + len(onsets))
        starts.append(len(padding))
        padding += [False] * len(onsets)
        state_quarters += onsets.tolist()
        sorted_notes, borders = order.tolist(), [*first.tolist(), len(order)]
        notes_at += [tuple(sorted_notes[at:end]) for at, end in pairwise(borders)]
        ends.append(len(padding))

    padding += [True] * PADDING
    state_quarters += [state_quarters[-1] if state_quarters else 0.0] * PADDING
    notes_at += [()] * PADDING
    chains += [-1] * PADDING
    size = len(padding)
    written = np.zeros((PITCHES, size), np.bool_)
    slot = np.zeros((PITCHES, size), np.int8)
    keys = np.zeros(size, np.float32)
    ornament = np.zeros(size, np.float32)
    longest = np.zeros(size, np.float32)
    opens_measure = np.zeros(size, np.bool_)
    on_quarter = np.zeros(size, np.bool_)
    adorned = np.zeros((PITCHES, size), np.bool_)
    where = np.array(state_quarters)
    state_end = np.zeros(size, np.int64)
    for start, end in zip(starts, ends, strict=True):
        state_end[start:end] = end
    # Plain lists for what is asked once a note: each look into an array costs as much as the rest.
    key_of, is_expected = pitch.tolist(), expected.tolist()
    length_of, adorned_of = length.tolist(), adorned_quarters.tolist()
    rows: list[int] = []
    columns: list[int] = []
    slots: list[int] = []
    measure_before = (-1, -1)
    for state, notes in enumerate(notes_at):
        if not notes:
            continue
        first_note = score_notes[notes[0]]
        measure = (chains[state], int(first_note.measure_index))
        if measure != measure_before:
            opens_measure[state] = True
            measure_before = measure
        offset = float(first_note.measure_offset_quarters)
        on_quarter[state] = abs(offset - round(offset)) < 1e-4
        longest[state] = max(length_of[note] for note in notes)
        found: set[int] = set()
        wanted: set[int] = set()
        for note in notes:
            key = key_of[note]
            if key not in found:
                rows.append(key)
                columns.append(state)
                slots.append(min(len(found), MAX_KEYS - 1))
                found.add(key)
            if is_expected[note]:
                wanted.add(key)
            if adorned_of[note] > 0:
                _spread_ornament(state, key, adorned_of[note], where, state_end, adorned, ornament)
        keys[state] = len(wanted)
    written[rows, columns] = True
    slot[rows, columns] = slots
    return ScoreOnsets(
        note_onset_quarters=quarters,
        note_pitch=pitch,
        note_expected=expected,
        state_quarters=np.array(state_quarters, np.float64),
        state_chain=np.array(chains, np.int8),
        keys=keys,
        others=np.maximum(keys.astype(np.float64) - 1.0, 0.0),
        padding=np.array(padding, np.bool_),
        written=written,
        slot=slot,
        chain_start=tuple(starts),
        chain_end=tuple(ends),
        notes_at=tuple(notes_at),
        ornament_quarters=ornament,
        adorned=adorned,
        longest_quarters=longest,
        opens_measure=opens_measure,
        on_quarter=on_quarter,
        note_grace=grace,
        note_ornament_quarters=adorned_quarters,
        leaps=find_leaps(score_notes, playing_order or (), where, keys, starts, ends),
    )


def _spread_ornament(
    state: int,
    key: int,
    lasts: float,
    where: NDArray[np.float64],
    state_end: NDArray[np.int64],
    adorned: NDArray[np.bool_],
    ornament: NDArray[np.float32],
) -> None:
    """Mark a state and those after it, under which the ornament is still going on."""
    until = where[state] + lasts
    for later in range(state, int(state_end[state])):
        remains = until - where[later]
        if remains <= 1e-6:
            break
        adorned[key, later] = True
        ornament[later] = max(float(ornament[later]), remains)
