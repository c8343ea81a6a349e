"""What comes back from a worker process."""

from __future__ import annotations

from dataclasses import dataclass

from companion.progress import Progress

OUT_OF_MEMORY = "This needed more memory than the program may use, so it was given up."
ENDED_UNEXPECTEDLY = (
    "The work was ended from outside before it was done, perhaps because memory ran short."
)
OWN_FAULT = "Something went wrong in the program itself; please report it."


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
