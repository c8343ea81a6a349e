"""Where the same music stands twice: which places in the score look back on the same keys.

What has been heard of a passage may be written in several places. As long as the keys do not tell
them apart, they speak for one another against a place where other music is written.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from companion.listening.decoding.score_onsets import ScoreOnsets

LOOKS_BACK = 16
"""Onsets; who has the last sixteen in common has the music in common."""


class AlikePlaces:
    """Which states of a score look back on the same onsets, with the same keys.

    The stretches of one, two, three, ... onsets that end at a state are numbered, the same music
    by the same number.
    """

    def __init__(self, onsets: ScoreOnsets) -> None:
        keys = np.packbits(onsets.written, axis=0).T
        known: dict[bytes, int] = {}
        numbers = np.array([known.setdefault(row.tobytes(), len(known)) for row in keys], np.int64)
        # An empty place is like no other, so that no stretch reaches out of its chain.
        numbers[onsets.padding] = -1 - np.flatnonzero(onsets.padding)
        rows = [numbers]
        for _ in range(1, LOOKS_BACK):
            before = np.concatenate((rows[-1][:1], rows[-1][:-1])) + onsets.size
            pairs = before * (2 * onsets.size) + numbers + onsets.size
            rows.append(np.unique(pairs, return_inverse=True)[1].reshape(-1))
        self._numbers = np.array(rows)

    def share(self, states: NDArray[np.intp], heard: NDArray[np.intp]) -> NDArray[np.bool_]:
        """Whether what was heard up to some states stands before each of the others, too.

        Parameters
        ----------
        states
            Where the paths are.
        heard
            Per state how many onsets its path has passed, its own included.

        Returns
        -------
        array
            One row and one column per state: does what the path in the column has heard stand
            before the state in the row?
        """
        length = np.minimum(heard, LOOKS_BACK) - 1
        alike: NDArray[np.bool_] = (
            self._numbers[length, states[:, np.newaxis]] == self._numbers[length, states]
        )
        return alike
