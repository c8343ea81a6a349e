"""How long work tells how far it is, and how it is stopped.

Long work is a plain function that takes ``report`` and calls it between steps::

    def read_score(path, report=no_report): ...
        report(Progress(done=3, total=10, doing="Reading notes"))

Cancelling means that the next call of ``report`` raises :class:`companion.errors.Cancelled`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """How far a piece of work is: ``done`` of ``total`` steps; ``total`` 0 means unknown."""

    done: int
    total: int
    doing: str

    @property
    def fraction(self) -> float | None:
        """Share of the work done, 0 to 1, or None while the total is unknown."""
        return min(1.0, self.done / self.total) if self.total else None


Report = Callable[[Progress], None]


def no_report(progress: Progress) -> None:
    """Take a report and do nothing: the default where nobody watches."""
