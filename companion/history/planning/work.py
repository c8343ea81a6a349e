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
- What is known and not due rests: the time goes to what is not known.
- Turns go by need: where first tries fail, where there is much to play, where it is hard.
- At most :data:`MOST_VISITS` turns for a section in a day: what is repeated more strains hands and
  helps little (common practice).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from companion.analysis.tasks.model import TaskKind
from companion.history.planning.beginnings import may_begin
from companion.history.planning.cold import is_due
from companion.history.planning.ladder import mark_at_most, next_mark
from companion.history.planning.model import Activity, DayKind, Place, PlaceKind, PlannedTurn
from companion.history.planning.phases import final_phase_begins
from companion.history.planning.situation import PlannedSection, PlannedTask, Situation
from companion.history.planning.stages import Stage, hours_left, stage_of

TURN_MINUTES = 3
SHORTEST_TURN_MINUTES = 3
LONGEST_TURN_MINUTES = 6
SHORTEST_BLOCK_MINUTES, LONGEST_BLOCK_MINUTES = 5, 15
MOST_VISITS = 5
MOST_BLOCKS = 2
MINUTES_FOR_EACH_BLOCK = 12
MOST_OPEN = 3
"""Sections whose notes are being learnt at a time; the next new one waits until there are fewer."""

BLOCK_SHARE = 0.35
"""Share of the working minutes of one block, when other sections wait for their turns."""

_FIRST_PASS_SHARE = 0.5
"""Share of the hours of a section until it can be played through."""

_USABLE_SHARE = 0.6
"""Share of the minutes of coming days that goes into learning."""

_HARDEST_COUNTS, _EASIEST_COUNTS = 2.0, 0.6
_KNOWN_COUNTS = 0.6
_UNTRIED_NEED = 0.6


@dataclass(frozen=True, slots=True)
class _Step:
    """What one turn does with a section."""

    activity: Activity
    task: PlannedTask | None = None


def in_focus(situation: Situation, kind: DayKind, minutes: int) -> tuple[PlannedSection, ...]:
    """The sections whose notes are learnt today, each in a block, the hardest first.

    A new one is begun when its time has come
    (:func:`companion.history.planning.beginnings.may_begin`) and fewer than :data:`MOST_OPEN` are
    being learnt. When the time to the
    run-throughs runs short for those that were not begun, the hardest of these comes in although
    the others are not ready; in the last days nothing new is begun.
    """
    most = min(MOST_BLOCKS, max(1, minutes // MINUTES_FOR_EACH_BLOCK))
    opened = [s for s in situation.hardest_first if stage_of(s) is Stage.NOTES]
    new = [s for s in situation.hardest_first if stage_of(s) is Stage.NEW]
    if kind is DayKind.FINAL:
        new = []
    hardest_of_all = bool(new and opened) and new[0].rank < opened[0].rank
    at_least = int(hardest_of_all or (bool(new) and _pressed(situation)))
    in_time = [section for section in new if may_begin(situation, section)]
    begun = in_time[: max(MOST_OPEN - len(opened), 0)] or new[:at_least]
    chosen = begun[:most]
    # the hardest has the first word: a new easy section never pushes out a hard one
    waiting = sorted([*opened, *chosen], key=lambda section: section.rank)
    if len(waiting) > most and chosen:
        kept = [section for section in opened if section.rank < chosen[0].rank]
        chosen = sorted([*kept[: most - 1], chosen[0]], key=lambda section: section.rank)
        return tuple(chosen)
    return tuple(waiting[:most])


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
    """Return the turns of the day's work, at most ``minutes`` long together.

    First the blocks, then the rotation; but when the hardest section that is not up to tempo is
    past its block, it begins the day.
    """
    focus = in_focus(situation, kind, minutes)
    open_ones = [
        section
        for section in situation.hardest_first
        if stage_of(section) is not Stage.NEW and section not in focus
    ]
    rotation = [section for section in open_ones if not rests(section, situation.today)]
    work = _Work(situation, minutes)
    behind = next((s for s in rotation if stage_of(s) < Stage.SETTLING), None)
    if behind is not None and (not focus or behind.rank < focus[0].rank):
        work.turn(behind)
    for section in focus:
        length = round(BLOCK_SHARE * minutes) if rotation else minutes // len(focus)
        work.block(section, min(LONGEST_BLOCK_MINUTES, max(SHORTEST_BLOCK_MINUTES, length)))
    # what is quite new stays in its block, unless there is nothing else to turn to
    begun = [section for section in focus if stage_of(section) is not Stage.NEW]
    work.rotate([*begun, *rotation] or list(focus))
    work.rotate([section for section in open_ones if section not in rotation])
    return tuple(work.turns)


def rests(section: PlannedSection, today: date) -> bool:
    """Whether it is known and not due: it rests, and the time goes to what is not known."""
    return stage_of(section) is Stage.KNOWN and not is_due(section, today)


def need_of(section: PlannedSection, section_count: int) -> float:
    """How much of the rotation a section asks for, in any unit.

    The less likely its first try is clean, the longer and the harder it is, the more. (Project
    convention; that time should go where first tries fail is what the product of sections says.)
    """
    missing = 1.0 - section.retention.probability if section.retention else _UNTRIED_NEED
    place = (section.rank - 1) / max(section_count - 1, 1)
    hard = _HARDEST_COUNTS + (_EASIEST_COUNTS - _HARDEST_COUNTS) * min(max(place, 0.0), 1.0)
    known = _KNOWN_COUNTS if stage_of(section) is Stage.KNOWN else 1.0
    return float(missing * hard * known * max(section.hours, 0.1) ** 0.5)


class _Work:
    """The turns of a day while they are laid out."""

    def __init__(self, situation: Situation, minutes: int) -> None:
        self._situation = situation
        self._minutes = minutes
        self._left = minutes
        self._visits: dict[str, int] = {}
        self._last = ""
        self.turns: list[PlannedTurn] = []

    def block(self, section: PlannedSection, minutes: int) -> None:
        """A stretch for first learning; shorter when the day is."""
        self._visit(section, min(minutes, self._left), block=True)

    def turn(self, section: PlannedSection) -> None:
        """A turn of a few minutes."""
        length = LONGEST_TURN_MINUTES if self._minutes > 90 else TURN_MINUTES
        if self._left - length < SHORTEST_TURN_MINUTES:
            length = min(self._left, LONGEST_TURN_MINUTES)
        self._visit(section, length, block=False)

    def rotate(self, sections: Sequence[PlannedSection]) -> None:
        """Turns by need, never twice in a row for one section while there are others."""
        needs = {s.section_id: need_of(s, len(self._situation.sections)) for s in sections}
        while self._left >= SHORTEST_TURN_MINUTES:
            able = [s for s in sections if self._visits.get(s.section_id, 0) < MOST_VISITS]
            others = [s for s in able if s.section_id != self._last] or able
            if not others:
                break
            self.turn(
                max(
                    others,
                    key=lambda s: needs[s.section_id] / (1 + self._visits.get(s.section_id, 0)),
                )
            )

    def _visit(self, section: PlannedSection, minutes: int, *, block: bool) -> None:
        if minutes < 1 or (self.turns and minutes < SHORTEST_TURN_MINUTES):
            return
        for turn in _visit(self._situation, section, self._visits, minutes, block=block):
            self.turns.append(turn)
            self._left -= turn.minutes
        self._last = section.section_id


def _visit(
    situation: Situation,
    section: PlannedSection,
    visits: dict[str, int],
    minutes: int,
    *,
    block: bool,
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
        return f"Running notes ({rank}): in groups, and with changed rhythms."
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
        return "Up to tempo, but the last cold take was not clean."
    if stage_of(section) is Stage.KNOWN:
        return "Known: a few times in tempo so that it stays so."
    days = section.clean_days
    return f"Up to tempo; clean at first try on {days} {'day' if days == 1 else 'days'} so far."
