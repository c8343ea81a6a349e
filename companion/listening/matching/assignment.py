"""Which written note each played note of a pass stands for.

The decoder tells roughly where the player was. Here every note is judged, key by key:

1. The time of each written onset is taken from the notes that are surely right (``clock``).
2. For each key, the written and the played notes are paired in order (``pairing``); with what was
   paired the clock is drawn anew.
3. What is left over is compared across keys: a played key may be wrong for a written one, brushed,
   or added (``slips``).
4. What still stands for nothing may belong to an ornament.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.costs import Costs
from companion.listening.matching.clock import Due, draw_clock
from companion.listening.matching.pairing import pair_by_key
from companion.listening.matching.slips import Played, Written, settle_slips

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from companion.listening.decoding.score_onsets import ScoreOnsets
    from companion.listening.matching.passes import Pass
    from companion.listening.notes import HeardNote

ROUNDS = 2
ORNAMENT_BEFORE_SECONDS = 0.15
ORNAMENT_SEMITONES = 4
ORNAMENT_OVERTIME = 1.2
"""Ornaments begin a little early, stay near the note they adorn, and last a little longer."""


@dataclass(frozen=True, slots=True)
class Assignment:
    """Written note for each played note of a pass, -1 for none; and what was not played.

    ``adorns`` tells of notes that stand for nothing whose ornament they belong to, -1 for none.
    """

    note: NDArray[np.int64]
    wrong: NDArray[np.bool_]
    adorns: NDArray[np.int64]
    missed: NDArray[np.int64]


def assign(
    onsets: ScoreOnsets, passage: Pass, notes: Sequence[HeardNote], costs: Costs | None = None
) -> Assignment:
    """Judge the notes of one pass.

    Parameters
    ----------
    onsets
        The laid out score.
    passage
        The pass, from :func:`companion.listening.matching.passes.find_passes`.
    notes
        The heard notes of the whole take.
    costs
        The model of the decoder.
    """
    heard = notes[passage.first : passage.last + 1]
    count = len(heard)
    played = Played(
        np.fromiter((note.onset_seconds for note in heard), np.float64, count),
        np.fromiter((note.pitch for note in heard), np.int64, count),
        np.fromiter((note.velocity for note in heard), np.float64, count),
    )
    within = range(passage.lowest, passage.highest + 1)
    score = np.array([index for state in within for index in onsets.notes_at[state]], np.int64)
    written = Written(onsets.note_onset_quarters[score], onsets.note_pitch[score])

    pairs, due = _pair_right_keys(onsets, passage, played, written, score)
    right, slips = settle_slips(played, written, due, pairs, costs or Costs())
    note = np.full(count, -1, np.int64)
    wrong = np.zeros(count, np.bool_)
    taken = np.zeros(len(score), np.bool_)
    for source, is_wrong in ((right, False), (slips, True)):
        at, meant = list(source), list(source.values())
        note[at], wrong[at], taken[meant] = score[meant], is_wrong, True
    missed = score[~taken & onsets.note_expected[score] & ~_played_by_twin(written, taken)]
    return Assignment(
        note, wrong, _adorned_notes(onsets, score, played, written, due, note), missed
    )


def _pair_right_keys(
    onsets: ScoreOnsets,
    passage: Pass,
    played: Played,
    written: Written,
    score: NDArray[np.int64],
) -> tuple[dict[int, int], Due]:
    """Pair what has the same key, and tell when every written note was due."""
    place = onsets.state_quarters[passage.states]
    sure = passage.right if passage.right.any() else np.ones(len(place), np.bool_)
    clock = draw_clock(place[sure], played.seconds[sure])
    pairs: dict[int, int] = {}
    for _ in range(ROUNDS):
        due = Due.of(clock, written.quarters)
        pairs = pair_by_key(played.seconds, played.pitch, due.seconds, due.reach, written.pitch)
        at = np.fromiter(pairs, np.int64, len(pairs))
        paired = np.fromiter(pairs.values(), np.int64, len(pairs))
        steady = ~onsets.note_grace[score[paired]]
        if steady.any():
            slipped = passage.wrong & ~np.isin(np.arange(len(place)), at)
            clock = draw_clock(
                np.concatenate((written.quarters[paired][steady], place[slipped])),
                np.concatenate((played.seconds[at][steady], played.seconds[slipped])),
            )
    return pairs, Due.of(clock, written.quarters)


def _adorned_notes(
    onsets: ScoreOnsets,
    score: NDArray[np.int64],
    played: Played,
    written: Written,
    due: Due,
    note: NDArray[np.int64],
) -> NDArray[np.int64]:
    """Whose ornament the notes belong to that stand for nothing, -1 for none."""
    adorns = np.full(len(note), -1, np.int64)
    adorned = np.flatnonzero(onsets.note_ornament_quarters[score] > 0)
    if not len(adorned):
        return adorns
    begins = due.seconds[adorned] - ORNAMENT_BEFORE_SECONDS
    lasts = onsets.note_ornament_quarters[score[adorned]] * due.seconds_per_quarter[adorned]
    ends = due.seconds[adorned] + ORNAMENT_OVERTIME * lasts + ORNAMENT_BEFORE_SECONDS
    for index in np.flatnonzero(note < 0).tolist():
        near = np.abs(written.pitch[adorned] - played.pitch[index]) <= ORNAMENT_SEMITONES
        near &= (begins <= played.seconds[index]) & (played.seconds[index] <= ends)
        if near.any():
            # The latest one that had begun: ornaments follow each other.
            adorns[index] = score[adorned[np.flatnonzero(near)[-1]]]
    return adorns


def _played_by_twin(written: Written, taken: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Notes whose key another voice has at the same onset, and which sounded for both."""
    place = written.keys()
    order = np.argsort(place, kind="stable")
    twins = np.zeros(len(place), np.bool_)
    same = np.flatnonzero(np.diff(place[order]) == 0)
    sounded = set(place[taken].tolist())
    for at in same.tolist():
        for index in (int(order[at]), int(order[at + 1])):
            # Of unisons that never sounded one is missed, the first.
            twins[index] = int(place[index]) in sounded or index == int(order[at + 1])
    return twins
