"""What comes back from a worker process."""

from __future__ import annotations

from dataclasses import dataclass

from companion.progress import Progress

OUT_OF_MEMORY = "This needed more memory than the program may use, so it was given up."
ENDED_FROM_OUTSIDE = (
    "The work was ended from outside before it was done, perhaps because memory ran short."
)
BROKE_DOWN = (
    "The part of the program that does this work broke down, and the work was given up. "
    "The rest of the program goes on."
)
CANNOT_START = (
    "The part of the program that does this work cannot be started on this computer. "
    "Run “python3 -m companion.install --only” to bring it in order."
)
CANNOT_START_NOW = (
    "This computer cannot start another program at the moment, so the work was not done. "
    "Close what you do not need and try again."
)
OWN_FAULT = "Something went wrong in the program itself; please report it."


@dataclass(frozen=True, slots=True)
class Started:
    """The child is at work: its first message, which belongs to no job."""


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the result that is ready, as given to ``emit``."""

    value: object


@dataclass(frozen=True, slots=True)
class Done:
    """The last message of a job that returned."""

    value: object


@dataclass(frozen=True, slots=True)
class Failed:
    """The last message of a job that failed.

    Parameters
    ----------
    sentence
        One plain sentence for the person.
    is_bug
        True when it is the program's own fault, so that it is to be shown as one and logged.
    traceback
        Where it happened, empty unless it is a bug.
    """

    sentence: str
    is_bug: bool = False
    traceback: str = ""


@dataclass(frozen=True, slots=True)
class Stopped:
    """The last message of a job that was cancelled."""


Message = Progress | Part | Done | Failed | Stopped
