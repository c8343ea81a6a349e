"""The error tree. Each message is one plain sentence for the person at the piano.

- CompanionError
    - ScoreUnreadable      a score file is broken, hostile, empty, too large or no score
    - TakeUnreadable       a recorded MIDI file is broken or holds no notes
    - PortUnavailable      a MIDI port or the whole MIDI system cannot be used
    - HistoryUnavailable   the history file cannot be opened, read or written (full disk, locked)
        - HistoryTooNew    it was written by a newer version of the program
        - HistoryDamaged   the file is broken; backups lie beside it
        - HistoryInUse     another program, or another window of this one, holds it
    - EditRefused          an edit of the section map or the history that would break it
- Cancelled                the person stopped a long piece of work (not a fault, so not below)

Anything else that is raised is a bug: it reaches one handler that shows and logs it.
"""

from __future__ import annotations

from pathlib import Path


class CompanionError(Exception):
    """Root of everything that may be told to a person; ``str(error)`` is the sentence."""


class ScoreUnreadable(CompanionError):
    """A score file that cannot be used."""


class TakeUnreadable(CompanionError):
    """A recorded take that cannot be used."""


class PortUnavailable(CompanionError):
    """A MIDI port, or the MIDI system of the machine, that cannot be used."""


class HistoryUnavailable(CompanionError):
    """The history file cannot be opened, read or written."""


class HistoryTooNew(HistoryUnavailable):
    """The history file was written by a newer version of the program.

    Parameters
    ----------
    found, known
        Version number in the file and the newest one this program can read.
    """

    def __init__(self, found: int, known: int) -> None:
        super().__init__(
            "Your practice history was written by a newer version of this program "
            f"(format {found}; this one reads up to {known}). Nothing was changed: "
            "please use the newer program."
        )
        self.found = found
        self.known = known


class HistoryDamaged(HistoryUnavailable):
    """The history file is broken and is left as it is.

    Parameters
    ----------
    path
        The broken file.
    """

    def __init__(self, path: Path) -> None:
        super().__init__(
            f"Your practice history is damaged and cannot be read ({path}). It is kept as it is."
        )
        self.path = path


class HistoryInUse(HistoryUnavailable):
    """Another program, or another window of this one, holds the history file.

    Parameters
    ----------
    path
        The history file.
    """

    def __init__(self, path: Path) -> None:
        super().__init__(
            "Your practice history is open in another window or program "
            f"({path}). Use that one, or close it and try again."
        )
        self.path = path


class EditRefused(CompanionError):
    """An edit that would leave the section map or the history without sense."""


class Cancelled(Exception):
    """The person stopped the work."""
