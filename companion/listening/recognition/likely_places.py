"""The places where a heard key may belong: where the keys before it are written nearby, too."""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from companion.listening.recognition.piece_index import ShelfArrays

NEIGHBOURS = 4
NEIGHBOURS_ASKED = 3
"""A place is looked at when two of the last four keys are written around it, too; one of them, as
long as fewer than three different ones were heard."""

MOST_PLACES = 6_000
"""With more such places, three of the last four keys are asked for."""


class LikelyPlaces:
    """Looks heard keys up in the index of a shelf."""

    def __init__(self, arrays: ShelfArrays) -> None:
        self._arrays = arrays
        self.forget()

    def forget(self) -> None:
        """Nothing was heard yet."""
        self._recent: deque[int] = deque(maxlen=NEIGHBOURS)

    def hear(self, pitch: int) -> NDArray[np.int64]:
        """Take the next key; the entries of the index where it may have been struck."""
        entries = self._entries(pitch)
        self._recent.append(pitch)
        return entries

    def _entries(self, pitch: int) -> NDArray[np.int64]:
        arrays = self._arrays
        low, high = arrays.first_entry[pitch : pitch + 2].tolist()
        if not self._recent:
            return np.arange(low, high)
        bits = 0
        for before in self._recent:
            bits |= 1 << (before % 64)
        around = arrays.around[low:high] & np.uint64(bits)
        if bits.bit_count() >= NEIGHBOURS_ASKED:  # at least two of them: one bit less is not zero
            around &= around - np.uint64(1)
            if np.count_nonzero(around) > MOST_PLACES:  # a very large shelf: three of them
                around &= around - np.uint64(1)
        return np.asarray(np.flatnonzero(around) + low)
