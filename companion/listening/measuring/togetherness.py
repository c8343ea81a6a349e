"""How together the notes are that are written together.

Conventions
-----------
- Only played notes that stand for a written one count (a wrong key has its time too); graces,
  ornaments and arpeggios do not.
- Onsets more than 250 ms apart are taken for a spread chord and left out, as in the data that the
  reference values come from.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from companion.listening.measuring.played import PlayedTake
from companion.listening.measuring.score_index import Floats, Ints, ScoreIndex

LONGEST_SPREAD_SECONDS = 0.25


@dataclass(frozen=True, slots=True, eq=False)
class Chords:
    """Per chord that was played: its place and how together it was.

    Parameters
    ----------
    onset, passage
        The written onset and the passage.
    spread_ms
        Latest less earliest onset.
    lead_ms
        Mean onset of the other notes less that of the top note; NaN where the top note is missing.
    left_right_ms
        Mean onset of the left hand less that of the right; NaN where only one hand plays.
    """

    onset: Ints
    passage: Ints
    spread_ms: Floats
    lead_ms: Floats
    left_right_ms: Floats


def find_chords(index: ScoreIndex, take: PlayedTake) -> Chords:
    """Measure every chord of a take."""
    plain = ~index.note_arpeggiated[take.timed_note]
    note, passage = take.timed_note[plain], take.timed_passage[plain]
    seconds = take.timed_seconds[plain]
    onset = index.note_onset[note]
    order = np.lexsort((seconds, onset, passage))
    note, passage, seconds, onset = note[order], passage[order], seconds[order], onset[order]
    if not len(note):
        nothing, none = np.zeros(0, np.int64), np.zeros(0)
        return Chords(nothing, nothing, none, none, none)
    starts = np.flatnonzero(
        np.concatenate(([True], (np.diff(onset) != 0) | (np.diff(passage) != 0)))
    )
    group = np.repeat(np.arange(len(starts)), np.diff(np.append(starts, len(note))))
    counts = np.bincount(group)
    spread = seconds[np.append(starts[1:], len(note)) - 1] - seconds[starts]
    top = note == index.onset_top[onset]
    right = index.note_right_hand[note]
    with np.errstate(invalid="ignore", divide="ignore"):
        lead = _mean(group, seconds, ~top) - _mean(group, seconds, top)
        apart = _mean(group, seconds, ~right) - _mean(group, seconds, right)
    chosen = (counts >= 2) & (spread <= LONGEST_SPREAD_SECONDS)
    return Chords(
        onset=onset[starts][chosen],
        passage=passage[starts][chosen],
        spread_ms=1000.0 * spread[chosen],
        lead_ms=1000.0 * lead[chosen],
        left_right_ms=1000.0 * apart[chosen],
    )


def _mean(group: Ints, seconds: Floats, chosen: np.typing.NDArray[np.bool_]) -> Floats:
    """Mean per group over the chosen notes, NaN where there is none."""
    size = int(group[-1]) + 1
    sums = np.bincount(group[chosen], seconds[chosen], size)
    means: Floats = sums / np.bincount(group[chosen], minlength=size)
    return means
