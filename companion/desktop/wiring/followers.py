"""One follower for the piece on the stand, made ahead in a thread: a first note must not wait."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from companion.listening.follower import Follower
    from companion.score.model import ScoreNote


class FollowerMaker:
    """Makes the follower of a piece and hands it out for each take with an empty memory.

    Parameters
    ----------
    notes
        The notes of the piece.
    """

    def __init__(self, notes: Sequence[ScoreNote]) -> None:
        self._notes = notes
        self._made: Follower | None = None
        self._thread = threading.Thread(target=self._make, name="follower", daemon=True)
        self._thread.start()

    def __call__(self) -> Follower:
        """Return the follower, ready for a new take; waits for it only right after opening."""
        self._thread.join()
        if self._made is None:
            self._make()
        follower = self._made
        if follower is None:
            raise RuntimeError("no follower could be made")
        follower.forget()
        return follower

    def _make(self) -> None:
        from companion.listening.follower import Follower

        self._made = Follower(self._notes)
