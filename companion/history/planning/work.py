"""The middle of a day: the hardest first, a few at a time, in turns.

Sources of the rules
--------------------
- Hardest first, so that it is known longest: the purpose of the program.
- First contact in one block, turns of a few minutes in rotation once the notes are learnt: whenever
  ratings differed, interleaved was better (Carter & Grahn 2016, doi:10.3389/fpsyg.2016.01251: four
  times 3 minutes against 12 in one block); the effect is weaker for beginners (Stambaugh 2011).
- Hands separately, groups and rhythms, a ladder of tempi: common practice; rhythm variants have no
  controlled study. Slow alternates with a probe at full tempo (Henley 2001).
- Starts inside a section, because section starts look better known than they are (Chaffin & Logan
  2006), and from memory where that is wanted.
- At most :data:`MOST_VISITS` turns for a section in a day: what is repeated more strains hands and
  helps little (common practice).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from companion.analysis.tasks.model import TaskKind
from companion.history.planning.ladder import mark_at_most, next_mark
from companion.history.planning.model import Activity, DayKind, Place, PlaceKind, PlannedTurn
from companion.history.planning.phases import final_phase_begins
from companion.history.planning.situation import PlannedSection, PlannedTask, Situation
from companion.history.planning.stages import Stage, hours_left, stage_of

TURN_MINUTES = 4
SHORTEST_TURN_MINUTES = 3
LONGEST_TURN_MINUTES = 6
SHORTEST_BLOCK_MINUTES, LONGEST_BLOCK_MINUTES = 5, 15
MOST_VISITS = 4
MINUTES_FOR_EACH_IN_FOCUS = 12
MOST_IN_FOCUS = 4
MOST_BLOCKS = 2
BLOCK_SHARE = 0.4
"""Share of the working minutes that the first block may take."""

_FIRST_PASS_SHARE = 0.5
"""Share of the hours of a section until it can be played through."""

_USABLE_SHARE = 0.6
"""Share of the minutes of coming days that goes into learning."""


@dataclass(frozen=True, slots=True)
class _Step:
    """What one turn does with a section."""

    activity: Activity
    task: PlannedTask | None = None


def in_focus(situation: Situation, kind: DayKind, minutes: int) -> tuple[PlannedSection, ...]:
    """The sections that are learnt today, the hardest first: a few at a time.

    A section stays in focus until it is up to tempo; then the cold takes have the word, and the
    next hardest takes its place. When the time to the run-throughs runs short for the sections that
    were not begun, the hardest of these comes in although the others are not ready.
    """
    learning = [
        section
        for section in situation.hardest_first
        if stage_of(section) < Stage.SETTLING
        and not (kind is DayKind.FINAL and stage_of(section) is Stage.NEW)
    ]
    count = min(MOST_IN_FOCUS, max(1, minutes // MINUTES_FOR_EACH_IN_FOCUS))
    focus = learning[:count]
    waiting = [section for section in learning[count:] if stage_of(section) is Stage.NEW]
    if waiting and all(stage_of(s) is not Stage.NEW for s in focus) and _pressed(situation):
        focus = [*focus[: max(count - 1, 1)], waiting[0]]
    return tuple(focus)


def _pressed(situation: Situation) -> bool:
    """Whether what was not begun needs all the time that is left until the run-throughs."""
    final = final_phase_begins(situation)
    if final is None:
        return False
    untouched = sum(
        _FIRST_PASS_SHARE * hours_left(section)
        for section in situation.sections
        if stage_of(section) is Stage.NEW
    )
    left = situation.availability.minutes_between(situation.today, final)
    return 60.0 * untouched > _USABLE_SHARE * left


def work_turns(situation: Situation, kind: DayKind, minutes: int) -> tuple[PlannedTurn, ...]:
    """Return the turns of the day's work, at most ``minutes`` long together."""
    focus = in_focus(situation, kind, minutes)
    settling = [s for s in situation.hardest_first if stage_of(s) is Stage.SETTLING]
    turns: list[PlannedTurn] = []
    left = minutes
    visits: dict[str, int] = {}
    blocks = 0
    for section in focus:  # the first visit of each, the hardest first
        length = TURN_MINUTES
        if not stage_of(section).notes_learnt:
            if blocks == MOST_BLOCKS:
                continue
            blocks += 1
            length = round(BLOCK_SHARE * minutes)
            length = min(LONGEST_BLOCK_MINUTES, max(SHORTEST_BLOCK_MINUTES, length))
        length = min(length, left)
        if length < min(SHORTEST_TURN_MINUTES, max(minutes, 1)):
            break
        for turn in _visit(situation, section, visits, length):
            turns.append(turn)
            left -= turn.minutes
    begun = [section for section in focus if stage_of(section) is not Stage.NEW]
    # what is quite new stays in its block, unless there is nothing else to turn to
    rotation = [*begun, *settling] or list(focus) or _to_keep(situation)
    for section in _in_turn(rotation, visits, focus):
        if left < SHORTEST_TURN_MINUTES:
            break
        length = LONGEST_TURN_MINUTES if minutes > 90 else TURN_MINUTES
        if left - length < SHORTEST_TURN_MINUTES:
            length = min(left, LONGEST_TURN_MINUTES)
        for turn in _visit(situation, section, visits, length, block=False):
            turns.append(turn)
            left -= turn.minutes
    return tuple(turns)


def _in_turn(
    rotation: Sequence[PlannedSection],
    visits: dict[str, int],
    focus: Sequence[PlannedSection],
) -> Iterator[PlannedSection]:
    """Rounds through the sections; who had a first visit already waits for the others."""
    had = {section.section_id for section in focus if section.section_id in visits}
    for section in rotation:
        if section.section_id not in had:
            yield section
    for _ in range(MOST_VISITS):
        for section in rotation:
            if visits.get(section.section_id, 0) < MOST_VISITS:
                yield section


def _to_keep(situation: Situation) -> list[PlannedSection]:
    """Known sections, those that are held least surely first."""
    known = [s for s in situation.hardest_first if stage_of(s) is Stage.KNOWN]
    return sorted(known, key=lambda s: s.retention.probability if s.retention else 0.0)


def _visit(
    situation: Situation,
    section: PlannedSection,
    visits: dict[str, int],
    minutes: int,
    *,
    block: bool = True,
) -> list[PlannedTurn]:
    """One visit: one turn, or two in the block of a section that is quite new."""
    number = visits.get(section.section_id, 0)
    stage = stage_of(section)
    steps = _steps(situation, section, stage)
    # another beginning each day, so that no visit repeats yesterday's; slow work leads to the probe
    in_order = stage in (Stage.NEW, Stage.TEMPO)
    start = 0 if in_order else situation.today.toordinal() % len(steps)
    step = steps[(start + number) % len(steps)]
    visits[section.section_id] = number + 1
    if not (block and not stage.notes_learnt and minutes >= 2 * SHORTEST_BLOCK_MINUTES):
        return [_turn(section, step, minutes, number)]
    second = steps[(start + number + 1) % len(steps)]
    visits[section.section_id] = number + 2
    first_minutes = (minutes + 1) // 2
    return [
        _turn(section, step, first_minutes, number),
        _turn(section, second, minutes - first_minutes, number + 1),
    ]


def _steps(situation: Situation, section: PlannedSection, stage: Stage) -> list[_Step]:
    tasks = [_step_of(task) for task in section.tasks]
    if stage in (Stage.NEW, Stage.NOTES):
        return [_Step(Activity.HANDS_SEPARATELY), *tasks, _Step(Activity.UNDER_TEMPO)]
    if stage is Stage.TEMPO:
        # a probe at full tempo after the slow work
        return [_Step(Activity.UNDER_TEMPO), *tasks[:2], _Step(Activity.UP_TO_TEMPO)]
    by_heart = [_Step(Activity.FROM_MEMORY)] if situation.from_memory else []
    if stage is Stage.SETTLING:
        return [_Step(Activity.UP_TO_TEMPO), *by_heart, _Step(Activity.STARTS)]
    return [_Step(Activity.STARTS), *(by_heart or [_Step(Activity.UP_TO_TEMPO)])]


def _step_of(task: PlannedTask) -> _Step:
    """Runs in groups and rhythms; what is a matter of one hand in that hand; the rest slowly."""
    if task.kind is TaskKind.RUN:
        return _Step(Activity.GROUPS_AND_RHYTHMS, task)
    if task.hand is not None or task.kind is TaskKind.TWO_RHYTHMS:
        return _Step(Activity.HANDS_SEPARATELY, task)
    return _Step(Activity.UNDER_TEMPO, task)


def _turn(section: PlannedSection, step: _Step, minutes: int, number: int) -> PlannedTurn:
    task = step.task
    place = Place(
        kind=PlaceKind.TASK if task is not None else PlaceKind.SECTION,
        section_ids=(section.section_id,),
        name=task.name if task is not None else section.name,
        task_id=task.task_id if task is not None else None,
    )
    mark = _mark(section, step.activity)
    return PlannedTurn(
        turn_id=f"{step.activity}/{place.task_id or section.section_id}/{number}",
        activity=step.activity,
        place=place,
        minutes=minutes,
        why=_why(section, step.activity, mark),
        hand=task.hand if task is not None else None,
        beats_per_minute=mark,
    )


def _mark(section: PlannedSection, activity: Activity) -> int | None:
    target = section.target_beats_per_minute
    if not target:
        return None
    if activity is Activity.UNDER_TEMPO:
        return next_mark(target, section.tempo_share)
    return mark_at_most(target) if activity is Activity.UP_TO_TEMPO else None


def _why(section: PlannedSection, activity: Activity, mark: int | None) -> str:
    rank = "the hardest section" if section.rank == 1 else f"number {section.rank} in difficulty"
    stage = stage_of(section)
    if activity is Activity.HANDS_SEPARATELY:
        if stage is Stage.NEW:
            return f"New, and {rank}: each hand by itself first, in one stretch."
        return f"The notes are not sure yet ({rank}): each hand by itself."
    if activity is Activity.GROUPS_AND_RHYTHMS:
        return f"The running notes of {rank}: in groups, and with changed rhythms."
    if activity is Activity.UNDER_TEMPO:
        if mark is None:
            return f"Slowly and without slips, then a little faster ({rank})."
        if section.tempo_share is None:
            return f"No tempo was heard yet: begin at {mark}, a mark faster when it is clean."
        reached = round(100 * section.tempo_share)
        return f"{reached} % of the tempo was reached: next mark {mark}, faster when clean."
    if activity is Activity.UP_TO_TEMPO:
        if stage is Stage.TEMPO:
            return "A try at full tempo between the slow ones, to hear what is still missing."
        return _still_missing(section)
    if activity is Activity.FROM_MEMORY:
        return "It will be played without the score: close it, and play on where you are."
    return "From the middle as well: beginnings look better known than they are."


def _still_missing(section: PlannedSection) -> str:
    if section.recent_clean and not section.recent_clean[-1]:
        return "Up to tempo, but the last first try was not clean."
    if stage_of(section) is Stage.KNOWN:
        return "Known: a few times in tempo so that it stays so."
    days = section.clean_days
    return f"Up to tempo; clean at first try on {days} {'day' if days == 1 else 'days'} so far."
