"""Groups of running notes as plain frozen values.

Conventions
-----------
- A run consists of *steps*: what is struck together, usually one note. Groups are stretches of
  steps; the groups of a run follow each other without gap or overlap.
- Notes are named by their ids; places in a run are counted in steps from 0.
- A :class:`Grouping` is never changed: every edit returns a new one, and undo is going back to the
  old value.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise

from companion.errors import EditRefused
from companion.processes.values import QuickPickle
from companion.score.model import Hand, Position


class Way(StrEnum):
    """How a run is divided into groups."""

    LEADING = "leading to the beat"
    BEAT = "beat by beat"
    POSITION = "by hand position"
    PATTERN = "by pattern"


@dataclass(frozen=True, slots=True)
class Run(QuickPickle):
    """A run of equal short notes in one hand.

    Parameters
    ----------
    run_id
        The id of its first note.
    hand, voice
        Who plays it.
    value_quarters
        Written length of each step.
    start, end
        Place of the first step and of the first moment behind the last one.
    steps
        Note ids that are struck together, low to high, step by step.
    on_beat
        Per step whether it falls on a beat that groups lead to.
    lands_on
        Ids of the notes of the same hand that begin where the run ends: what the last group leads
        to. Empty where a rest follows.
    """

    run_id: str
    hand: Hand
    voice: int
    value_quarters: Fraction
    start: Position
    end: Position
    steps: tuple[tuple[str, ...], ...]
    on_beat: tuple[bool, ...]
    lands_on: tuple[str, ...] = ()

    @property
    def note_ids(self) -> tuple[str, ...]:
        """Ids of all notes of the run."""
        return tuple(note_id for step in self.steps for note_id in step)


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Some steps of a run that are thought and played as one.

    Parameters
    ----------
    first_step, end_step
        Half-open stretch of steps.
    note_ids
        The notes of the group, without those of a goal behind it.
    goal_ids
        The note or chord that the group leads to: its own last step where that is on the beat, else
        what follows it; empty where nothing follows.
    reason
        Why these notes belong together, in words.
    """

    run_id: str
    first_step: int
    end_step: int
    note_ids: tuple[str, ...]
    goal_ids: tuple[str, ...]
    reason: str

    @property
    def goal_inside(self) -> bool:
        """Whether the goal is the last step of the group itself."""
        return bool(self.goal_ids) and self.goal_ids[0] in self.note_ids


@dataclass(frozen=True, slots=True)
class RunGroups:
    """A run and how it is divided.

    Parameters
    ----------
    begins
        The steps with which groups begin, rising, the first one 0.
    reasons
        One for each group.
    edited
        Whether the pianist has set the borders by hand.
    chosen
        Whether the pianist has chosen the way for this run.
    """

    run: Run
    way: Way
    begins: tuple[int, ...]
    reasons: tuple[str, ...]
    edited: bool = False
    chosen: bool = False

    @property
    def groups(self) -> tuple[Group, ...]:
        """The groups in order."""
        steps = self.run.steps
        found = []
        for (first, end), reason in zip(
            pairwise((*self.begins, len(steps))), self.reasons, strict=True
        ):
            if self.run.on_beat[end - 1] and end - first > 1:
                goal = steps[end - 1]
            else:
                goal = steps[end] if end < len(steps) else self.run.lands_on
            found.append(
                Group(
                    run_id=self.run.run_id,
                    first_step=first,
                    end_step=end,
                    note_ids=tuple(note_id for step in steps[first:end] for note_id in step),
                    goal_ids=goal,
                    reason=reason,
                )
            )
        return tuple(found)


@dataclass(frozen=True, slots=True)
class Grouping:
    """The groups of a piece: its runs in order of their first note."""

    runs: tuple[RunGroups, ...] = ()

    @property
    def groups(self) -> tuple[Group, ...]:
        """All groups of all runs."""
        return tuple(group for run in self.runs for group in run.groups)

    def run(self, run_id: str) -> RunGroups:
        """Return the run with this id; raises EditRefused when there is none."""
        for run in self.runs:
            if run.run.run_id == run_id:
                return run
        raise EditRefused("This run is no longer in the score.")

    def run_of(self, note_id: str) -> RunGroups | None:
        """The run that a note is in, None for a note outside all runs."""
        for run in self.runs:
            if any(note_id in step for step in run.run.steps):
                return run
        return None

    def group_of(self, note_id: str) -> Group | None:
        """The group that a note is in, None for a note outside all runs."""
        run = self.run_of(note_id)
        if run is None:
            return None
        return next(group for group in run.groups if note_id in group.note_ids)
