"""The plan of a day."""

from __future__ import annotations

from dataclasses import replace

from companion.history.planning.cold import cold_turns, is_due
from companion.history.planning.finishing import (
    MOST_REPLAYED,
    away_turns,
    join_turns,
    replay_turn,
    round_turn,
)
from companion.history.planning.model import (
    Activity,
    DayKind,
    DayPlan,
    Place,
    PlaceKind,
    PlannedTurn,
)
from companion.history.planning.phases import kind_of_day
from companion.history.planning.situation import Situation
from companion.history.planning.stages import Stage, stage_of
from companion.history.planning.words import in_days, joined
from companion.history.planning.work import in_focus, work_turns

DAY_BEFORE_SHARE = 0.5
DAY_BEFORE_MOST_MINUTES = 40
PERFORMANCE_MOST_MINUTES = 15
"""The day before is light, the day itself only for warming up (common practice)."""

SHORTEST_DAY_WITH_REPLAY_MINUTES = 12
_JOINING = (DayKind.JOINING, DayKind.KEEPING, DayKind.FINAL)


def plan_day(situation: Situation) -> DayPlan:
    """Return what to do on the day that the situation is about.

    First what is due, cold; then the work, the hardest first, with the work away from the keyboard
    in its middle, where hands are glad of a pause; then joins; at the end the replay.
    """
    kind = kind_of_day(situation)
    minutes = situation.availability.minutes_on(situation.today)
    if kind is DayKind.STOPPED or kind is DayKind.OFF or not situation.sections:
        return _plan(situation, kind, minutes, ())
    if kind is DayKind.PERFORMANCE:
        return _plan(situation, kind, minutes, _warming_up(situation, minutes))
    if kind is DayKind.DAY_BEFORE:
        most = min(DAY_BEFORE_MOST_MINUTES, max(1, int(DAY_BEFORE_SHARE * minutes)))
        return _plan(situation, kind, minutes, _day_before(situation, min(most, minutes)))
    return _plan(situation, kind, minutes, _working_day(situation, kind, minutes))


def _working_day(situation: Situation, kind: DayKind, minutes: int) -> tuple[PlannedTurn, ...]:
    cold = cold_turns(situation, kind, minutes)
    left = minutes - _length(cold)
    away = away_turns(situation, left)
    joins = join_turns(situation, left) if kind in _JOINING else ()
    played = {name for turn in (*cold, *joins) for name in turn.place.section_ids}
    closing = round_turn(situation, left, played)
    rounds = () if closing is None else (closing,)
    for_work = left - _length(away) - _length(joins) - _length(rounds)
    with_replay = left >= SHORTEST_DAY_WITH_REPLAY_MINUTES
    focus = in_focus(situation, kind, for_work)
    kept_back = min(len(focus), MOST_REPLAYED) if with_replay else 0
    work = work_turns(situation, kind, for_work - kept_back)
    touched = {section_id for turn in work for section_id in turn.place.section_ids}
    replay = replay_turn([section for section in focus if section.section_id in touched])
    ending = (replay,) if with_replay and replay is not None else ()
    half = (len(work) + 1) // 2
    return (*cold, *work[:half], *away, *work[half:], *joins, *rounds, *ending)


def _day_before(situation: Situation, minutes: int) -> tuple[PlannedTurn, ...]:
    cold = cold_turns(situation, DayKind.DAY_BEFORE, minutes)
    left = minutes - _length(cold)
    turns = [*cold]
    if left >= 3:
        starts = _starts(
            situation, min(left, 6), "A few beginnings, calmly: each once, and enough."
        )
        turns.append(starts)
        left -= starts.minutes
    if left >= 3:
        turns.extend(
            replace(turn, minutes=min(turn.minutes, left))
            for turn in away_turns(situation, 10 * left)[:1]
        )
    return tuple(turns)


def _warming_up(situation: Situation, minutes: int) -> tuple[PlannedTurn, ...]:
    length = min(PERFORMANCE_MOST_MINUTES, minutes)
    if length < 1:
        return ()
    why = "Warm up, then some beginnings under tempo; leave the rest for the performance."
    return (_starts(situation, length, why),)


def _starts(situation: Situation, minutes: int, why: str) -> PlannedTurn:
    return PlannedTurn(
        turn_id=f"{Activity.STARTS}/piece",
        activity=Activity.STARTS,
        place=Place(
            kind=PlaceKind.PIECE,
            section_ids=tuple(section.section_id for section in situation.sections),
            name="The whole piece",
        ),
        minutes=minutes,
        why=why,
    )


def _plan(
    situation: Situation, kind: DayKind, minutes: int, turns: tuple[PlannedTurn, ...]
) -> DayPlan:
    return DayPlan(
        day=situation.today,
        kind=kind,
        minutes_available=minutes,
        headline=_headline(situation, kind, minutes, turns),
        turns=turns,
    )


def _headline(
    situation: Situation, kind: DayKind, minutes: int, turns: tuple[PlannedTurn, ...]
) -> str:
    if kind is DayKind.STOPPED:
        return "You noted discomfort: nothing more today."
    if kind is DayKind.PERFORMANCE:
        return "Today it is played: warm up, and leave the rest for the performance."
    if kind is DayKind.OFF:
        return "A day without practice."
    if not situation.sections:
        return "The piece has no sections yet: draw them on the map first."
    when = ""
    if situation.ahead is not None:
        when = f" The performance is {in_days((situation.ahead - situation.today).days)}."
    if kind is DayKind.DAY_BEFORE:
        return "A light day: once through, a few beginnings, nothing new."
    if kind is DayKind.FINAL:
        weak = [s.name for s in situation.hardest_first if stage_of(s) is not Stage.KNOWN][:2]
        after = f", then {joined(weak)}" if weak else ""
        return f"Run-through first{after}; nothing new any more.{when}"
    if kind is DayKind.KEEPING:
        return f"Everything is known: keep it so.{when}"
    due = sum(is_due(section, situation.today) for section in situation.sections)
    first = in_focus(situation, kind, minutes)
    then = (
        f"{first[0].name}, the hardest that is not ready"
        if first
        else "what is up to tempo and not known yet"
    )
    if due:
        sections = "1 section is" if due == 1 else f"{due} sections are"
        return f"{sections} due first thing, then {then}.{when}"
    return f"{then[0].upper()}{then[1:]}.{when}"


def _length(turns: tuple[PlannedTurn, ...]) -> int:
    return sum(turn.minutes for turn in turns)
