"""What the page of the tasks shows, as plain values."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from companion.desktop.days.content import SectionDays
from companion.score.model import Position


@dataclass(frozen=True, slots=True, kw_only=True)
class TaskLine:
    """A task as one line of the list.

    Parameters
    ----------
    name, title
        The whole name, and a shorter one that does not repeat measures and hand.
    section, rank
        Name of the section around it, and its place in the order of work, the hardest first; 0
        while that is not known.
    days
        How it went day by day; None until the history was read.
    known
        Since when it is known, or how far that is, in words; empty before a cold take.
    """

    task_id: str
    name: str
    title: str
    kind: str
    start: Position
    end: Position
    measures: str
    hand: str
    section: str
    rank: int
    reason: str
    how_to_practise: str
    kept: bool
    days: SectionDays | None = field(default=None, repr=False)
    known: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TasksContent:
    """Everything on the page for one piece, tasks in order of place.

    Not ``open`` without a piece on the stand; ``waiting`` while tasks are being looked for;
    ``first_day`` to ``today`` is the axis of the charts; ``dismissed`` is how many proposals were
    turned down.
    """

    open: bool = False

    lines: tuple[TaskLine, ...] = ()
    measure_numbers: tuple[str, ...] = ()
    waiting: bool = False
    dismissed: int = 0
    first_day: date | None = None
    today: date | None = None
