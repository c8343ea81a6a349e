"""Telling the three augmented sixths apart by their spelling.

An Italian, French and German sixth share the flat sixth of the key in the bass, its tonic and the
raised fourth; the fourth note decides (none, the second, the flat third). They are rare in any
corpus, so what was learnt is unsure of them, but a score spells them out.
"""

from __future__ import annotations

import numpy as np

from companion.analysis.chords import AUGMENTED_SIXTH_ROOT, Chord
from companion.analysis.frames import REGISTER_CHANNELS, Floats, Frames

_RAISED_FOURTH, _TONIC, _SECOND, _FLAT_THIRD = 6, 0, 2, -3
_HEARD_SHARE = 0.25  # of the loudest note's time: what is shorter is passing


def spelled_augmented_sixth(
    frames: Frames, begin: int, end: int, tonic_place: int, chord: Chord
) -> Chord | None:
    """The augmented sixth that the notes of some frames spell, None if they spell none.

    Parameters
    ----------
    begin, end
        First frame, and the one behind the last.
    tonic_place
        Of the local key, on the table's line of fifths.
    chord
        What was found so far; its target is kept.
    """
    tonic = tonic_place + chord.target_fifths
    bass = tonic + AUGMENTED_SIXTH_ROOT
    lowest = frames.lowest_places[begin:end]
    if not bass >= 0 or not (lowest == bass).mean() > 0.5:
        return None
    heard = _heard(frames.table[begin:end])
    relative = {place - tonic for place in heard}
    if not {AUGMENTED_SIXTH_ROOT, _RAISED_FOURTH} <= relative:
        return None
    rest = relative - {AUGMENTED_SIXTH_ROOT, _RAISED_FOURTH, _TONIC}
    for name, extra in (("It", set()), ("Fr", {_SECOND}), ("Ger", {_FLAT_THIRD})):
        if rest == extra:
            target = f"/{chord.target}" if chord.target else ""
            return Chord(name + target, name)
    return None


def _heard(table: Floats) -> set[int]:
    time = table[:, :, :REGISTER_CHANNELS].sum(axis=(0, 2))
    return set(np.flatnonzero(time > _HEARD_SHARE * time.max()).tolist())
