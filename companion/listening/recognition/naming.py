"""Whether there is ground to name a piece, how sure that is, and which edition is meant."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

LEAST_SHARE, LEAST_SHARE_IN_DOUBT = 0.8, 0.9
SURE_EVIDENCE = 7.0
"""A piece is named when it is at least this likely against all other pieces together, more where
there is little evidence for any piece at all ..."""

EVIDENCE_ASKED_AFTER = (4, 7, 8, 16, 32)
EVIDENCE_ASKED = (8.0, 5.0, 3.0, 4.0, 6.5)
"""... and so much (natural logarithm) likelier than no piece at all after so many notes, in between
in proportion. Before the eighth note a piece must be nearly certain; later who plays a piece of the
shelf is mostly far beyond what is asked, and whoever plays something else is more often like some
piece the longer it lasts. Measured with pieces that are not on the shelf."""

LEAST_SHARE_TO_STAY, EVIDENCE_TO_STAY = 0.5, 2.5
"""Once named a piece stays named down to this: a few wrong keys do not make it another piece."""

EDITIONS_ALIKE = 8.0
"""An edition on the stand is not given up for another one for less than this, about one key that
fits the other one better: it may have been a slip."""

CONFIDENCE_SLOPE, CONFIDENCE_LESS = 0.52, 2.5
"""The confidence that is told is the share of right names among all that were given with so much
evidence: counted where one half of the takes was of music that is not on the shelf, but much like
it. Any music is like some piece somewhere, so that evidence is worth less than it seems."""

_NO_PIECE = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """A piece that was named; pieces are told by their places in the index.

    Parameters
    ----------
    piece
        The piece.
    confidence
        0 to 1: this piece against all others and against none.
    same_music
        Other editions of it.
    """

    piece: int
    confidence: float
    same_music: tuple[int, ...]


class Naming:
    """Names pieces; one that was named stays so as long as the notes do not speak against it.

    Parameters
    ----------
    music
        Per piece a number that editions of the same music share.
    at_hand
        The piece on the stand, None for none: the edition that is meant where it fits nearly as
        well as the others.
    """

    def __init__(self, music: NDArray[np.int64], at_hand: int | None) -> None:
        self._music = music
        self._at_hand = _NO_PIECE if at_hand is None else at_hand
        self.forget()

    def forget(self) -> None:
        """No piece was named yet."""
        self._named = _NO_PIECE

    def name(self, levels: NDArray[np.float32], evidence: float, heard: int) -> Named | None:
        """Name the piece that is being played; None while the notes do not tell.

        Parameters
        ----------
        levels
            Per piece how likely it makes the playing (natural logarithm, from any level).
        evidence
            How much likelier the best of them is than no piece at all (natural logarithm).
        heard
            How many notes that is known from.
        """
        best = int(levels.argmax())
        editions = np.flatnonzero(self._music == self._music[best])
        all_shares = np.exp((levels - float(levels[best])).astype(np.float64))
        others = float(all_shares.sum() - all_shares[editions].sum())
        piece = self._edition(levels, best, editions)
        share = LEAST_SHARE if evidence >= SURE_EVIDENCE else LEAST_SHARE_IN_DOUBT
        asked = _evidence_asked(heard)
        if piece == self._named:
            share, asked = LEAST_SHARE_TO_STAY, min(asked, EVIDENCE_TO_STAY)
        if 1.0 / (1.0 + others) < share or evidence < asked:
            self._named = _NO_PIECE
            return None
        self._named = piece
        doubt = math.exp(CONFIDENCE_LESS - CONFIDENCE_SLOPE * evidence)
        return Named(
            piece=piece,
            confidence=1.0 / (1.0 + others + doubt),
            same_music=tuple(k for k in editions.tolist() if k != piece),
        )

    def _edition(self, levels: NDArray[np.float32], best: int, editions: NDArray[np.int64]) -> int:
        """Which edition of the same music is meant."""
        if len(editions) == 1:
            return best
        fit = [k for k in editions.tolist() if levels[k] >= levels[best] - EDITIONS_ALIKE]
        return next((k for k in (self._at_hand, self._named) if k in fit), best)


def _evidence_asked(heard: int) -> float:
    """How much likelier than nothing a piece must be to be named after so many notes."""
    return float(np.interp(heard, EVIDENCE_ASKED_AFTER, EVIDENCE_ASKED))
