"""What of a day's plan is done, told from what was played and recited: nobody ticks anything off.

Rules (project conventions)
---------------------------
- What was done is laid upon the turns in the order in which it happened; each part of a take goes
  to the first turn that asks for it and is not done yet.
- A cold take, a join and a run-through are done when they were played once: cold as the first of
  that section on the day, also when it broke off and was begun again, a join without a break from
  the one section into the other, a run-through with nearly all sections complete. Any other turn is
  done when half of its minutes were spent playing, because pauses between takes belong to practice.
- A turn from memory asks for takes that were noted as played from memory.
- A run-through that was played first thing is a cold take of every section.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum
from itertools import pairwise

from companion.history.planning.model import Activity, DayPlan, PlaceKind, PlannedTurn
from companion.listening.notes import Hands

PLAYING_SHARE = 0.5
"""Share of the minutes of a turn that is spent playing when it is done."""

RUN_THROUGH_SHARE = 0.9
"""Share of the sections that a run-through takes in to its end."""

ATTEMPT_COVERAGE = 0.5
"""Share of a section from which a first take counts as the cold one."""

SECONDS_FOR_AN_ANSWER = 20.0
"""How long a chord that was named counts for where nobody measured it."""

UP_TO_TEMPO_SHARE = 0.9
"""Share of the target from which a take counts as one in tempo."""


class DoneKind(StrEnum):
    """What was done."""

    PLAYED = "played"
    DRILLED = "drilled"
    RECITED = "recited"
    CONDUCTED = "conducted"


@dataclass(frozen=True, slots=True, kw_only=True)
class DonePart:
    """A section that was gone through, or where something was recited.

    Parameters
    ----------
    seconds
        Spent on it.
    coverage
        Share (0-1) of it.
    tempo_share
        Running tempo as a share of the target; None where that cannot be told.
    """

    section_id: str
    seconds: float
    coverage: float = 1.0
    complete: bool = True
    began_again: bool = False
    tempo_share: float | None = None
    task_ids: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """A take, a drill, or an entry of today: its parts in the order in which they came."""

    done_id: str
    at: datetime
    kind: DoneKind
    parts: tuple[DonePart, ...]
    hands: Hands = Hands.BOTH
    from_memory: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class TickedTurn:
    """A turn and what was done of it; ``done_ids`` are the takes and entries that did it.

    ``too_late`` tells a cold take that cannot be made up today, because its sections were played
    otherwise before.
    """

    turn: PlannedTurn
    seconds: float = 0.0
    done: bool = False
    done_ids: tuple[str, ...] = ()
    too_late: bool = False

    @property
    def open(self) -> bool:
        """Whether it is still to be done."""
        return not self.done and not self.too_late


@dataclass(frozen=True, slots=True, kw_only=True)
class TickedPlan:
    """A plan and what of it is done; ``beyond_seconds`` were spent on what no turn asked for."""

    plan: DayPlan
    turns: tuple[TickedTurn, ...]
    beyond_seconds: float = 0.0

    @property
    def next_turn(self) -> PlannedTurn | None:
        """The first turn that is still to be done; None without any."""
        return next((each.turn for each in self.turns if each.open), None)

    @property
    def minutes_left(self) -> int:
        """Of the turns that are still to be done."""
        return sum(each.turn.minutes for each in self.turns if each.open)


def ticked(plan: DayPlan, done: Iterable[Done]) -> TickedPlan:
    """Return what of a plan is done.

    Parameters
    ----------
    done
        What was done on the day of the plan, in any order.
    """
    turns = [TickedTurn(turn=turn) for turn in plan.turns]
    touched: set[str] = set()
    beyond = 0.0
    for each in sorted(done, key=lambda item: (item.at, item.done_id)):
        _tick_whole(turns, each, touched)
        for part in each.parts:
            beyond += _tick_part(turns, each, part, touched)
            if each.kind is DoneKind.PLAYED:
                touched.add(part.section_id)
    turns = [replace(each, too_late=_is_too_late(each, touched)) for each in turns]
    return TickedPlan(plan=plan, turns=tuple(turns), beyond_seconds=beyond)


def _is_too_late(each: TickedTurn, touched: set[str]) -> bool:
    cold = each.turn.activity is Activity.COLD_TAKE
    return cold and not each.done and touched.issuperset(each.turn.place.section_ids)


def what_is_left(plan: TickedPlan, minutes: int) -> tuple[PlannedTurn, ...]:
    """Return the turns still to do when only so many minutes are left.

    In order, as far as they fit; the replay at the end keeps its place, because without it the
    night keeps less of the day's work.
    """
    open_turns = [each.turn for each in plan.turns if each.open]
    ending = [turn for turn in open_turns if turn.activity is Activity.REPLAY]
    left = minutes - sum(turn.minutes for turn in ending)
    if left < 0:
        ending, left = [], minutes
    kept = []
    for turn in open_turns:
        if turn.activity is not Activity.REPLAY and turn.minutes <= left:
            kept.append(turn)
            left -= turn.minutes
    return (*kept, *ending)


def _tick_whole(turns: list[TickedTurn], done: Done, touched: set[str]) -> None:
    """Tick what a take does as a whole: a run-through, joins, cold takes on the way."""
    if done.kind is not DoneKind.PLAYED or done.hands is not Hands.BOTH:
        return
    seconds = {part.section_id: part.seconds for part in done.parts}
    complete = {part.section_id for part in done.parts if part.complete}
    crossed = {(one.section_id, other.section_id) for one, other in pairwise(done.parts)}
    tried = {
        part.section_id
        for part in done.parts
        if part.complete or part.began_again or part.coverage >= ATTEMPT_COVERAGE
    }
    for number, each in enumerate(turns):
        if each.done:
            continue
        wanted = each.turn.place.section_ids
        activity = each.turn.activity
        finished = False
        if activity is Activity.RUN_THROUGH:
            played = sum(name in complete for name in wanted)
            finished = len(wanted) > 0 and played >= RUN_THROUGH_SHARE * len(wanted)
        elif activity is Activity.JOIN:
            finished = all(pair in crossed for pair in pairwise(wanted))
        elif activity is Activity.COLD_TAKE:
            # several sections may have their cold takes in several takes
            before = {name for name in wanted if name in touched}
            now = {name for name in wanted if name in tried - touched}
            if now:
                finished = before | now == set(wanted)
                turns[number] = each = _with(each, done, sum(seconds[name] for name in now))
        if finished:
            spent = (
                0.0
                if activity is Activity.COLD_TAKE
                else sum(seconds.get(name, 0.0) for name in wanted)
            )
            turns[number] = replace(_with(each, done, spent), done=True)


def _tick_part(turns: list[TickedTurn], done: Done, part: DonePart, touched: set[str]) -> float:
    """Give the seconds of a part to the first turn that asks for it; return what nobody wanted."""
    for number, each in enumerate(turns):
        if done.done_id in each.done_ids and _asks_for_once(each.turn):
            if part.section_id in each.turn.place.section_ids:
                return 0.0  # counted with the take as a whole
            continue
        if each.done or _asks_for_once(each.turn) or not _fits(each.turn, done, part):
            continue
        changed = _with(each, done, part.seconds)
        needed = PLAYING_SHARE * 60.0 * each.turn.minutes
        turns[number] = replace(changed, done=changed.seconds >= needed)
        return 0.0
    return part.seconds


def _asks_for_once(turn: PlannedTurn) -> bool:
    return turn.activity.cold or turn.activity is Activity.JOIN


_BOTH_HANDS = (
    Activity.UP_TO_TEMPO,
    Activity.FROM_MEMORY,
    Activity.STARTS,
    Activity.ROUND,
)


def _fits(turn: PlannedTurn, done: Done, part: DonePart) -> bool:
    if part.section_id not in turn.place.section_ids:
        return False
    activity = turn.activity
    if done.kind is DoneKind.RECITED:
        return activity is Activity.RECITE
    if done.kind is DoneKind.CONDUCTED:
        return activity is Activity.CONDUCT
    if done.kind is DoneKind.DRILLED:
        return activity is Activity.GROUPS_AND_RHYTHMS
    if not activity.at_keyboard:
        return False
    of_task = turn.place.kind is PlaceKind.TASK and part.task_ids
    if of_task and turn.place.task_id not in part.task_ids:
        return False
    if activity is Activity.HANDS_SEPARATELY:
        if turn.hand is not None:
            return done.hands.value == turn.hand.value
        return done.hands is not Hands.BOTH
    if activity is Activity.FROM_MEMORY and not done.from_memory:
        return False
    if activity in _BOTH_HANDS and done.hands is not Hands.BOTH:
        return False
    if activity is Activity.UP_TO_TEMPO:
        return part.tempo_share is None or part.tempo_share >= UP_TO_TEMPO_SHARE
    return True


def _with(each: TickedTurn, done: Done, seconds: float) -> TickedTurn:
    ids = each.done_ids if done.done_id in each.done_ids else (*each.done_ids, done.done_id)
    return replace(each, seconds=each.seconds + seconds, done_ids=ids)
