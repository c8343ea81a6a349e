"""Ways to practise until a date with the same minutes: by our plan, and by four simpler habits.

The simpler habits work in turns of :data:`TURN_MINUTES`, too, and go over the borders between
sections as they come:

- *front to back*: every day from the beginning of the piece on, and from the beginning again when
  the end is reached;
- *going on*: in the order of the piece, going on where yesterday stopped, all sections alike;
- *hardest in a block*: the hardest section that was not clean at three first tries, all day;
- *playing through*: the whole piece from beginning to end over and over.

Nobody among them sees more than what was heard in cold takes and the estimated difficulty.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import cycle, pairwise

from companion.demo.learner.learner import SECONDS_BETWEEN_TRIES, Learner, RunOutlook
from companion.demo.learner.piece import TARGET_QUARTERS_PER_MINUTE
from companion.history.knowing.standing import (
    SectionAsked,
    SectionStanding,
    section_standing,
)
from companion.history.planning.day import plan_day
from companion.history.planning.model import Activity, PlannedTurn
from companion.history.planning.situation import (
    Availability,
    JoinStanding,
    Situation,
    planned_section,
)
from companion.history.results import Stretch
from companion.listening.notes import Hands
from companion.score.model import Position

TURN_MINUTES = 4.0
HOURS_PER_SECTION = 1.5
FIRST_DAY = date(2026, 3, 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """The time until the performance: days, minutes a day, and the weekday without practice."""

    days: int = 35
    minutes: int = 45
    day_off: int = 6

    @property
    def performance(self) -> date:
        """The day on which it is played."""
        return FIRST_DAY + timedelta(days=self.days)

    @property
    def availability(self) -> Availability:
        """The same for a plan."""
        minutes = [self.minutes] * 7
        minutes[self.day_off] = 0
        return Availability(minutes_by_weekday=tuple(minutes))

    def practice_days(self) -> Iterator[date]:
        """The days of practice before the performance."""
        for number in range(self.days):
            day = FIRST_DAY + timedelta(days=number)
            if self.availability.minutes_on(day):
                yield day


Habit = Callable[[Learner, Term], Iterator[date]]
"""Practises day by day and yields each day when it is over."""


def by_plan(learner: Learner, term: Term) -> Iterator[date]:
    """By the plan of each day."""
    joined: dict[tuple[str, str], date] = {}
    last_run: date | None = None
    for day in term.practice_days():
        learner.begin_day(day)
        plan = plan_day(_situation(learner, term, day, joined, last_run))
        for turn in plan.turns:
            _do(learner, turn)
            ids = turn.place.section_ids
            if turn.activity is Activity.RUN_THROUGH:
                last_run = day
            if turn.activity in (Activity.RUN_THROUGH, Activity.JOIN):
                joined.update(dict.fromkeys(pairwise(ids), day))
        yield day


def front_to_back(learner: Learner, term: Term) -> Iterator[date]:
    """Every day from the beginning on."""
    names = [section.section_id for section in learner.piece.sections]
    for day in term.practice_days():
        learner.begin_day(day)
        _in_turns(learner, cycle(names), term.minutes)
        yield day


def going_on(learner: Learner, term: Term) -> Iterator[date]:
    """In order, going on where yesterday stopped."""
    names = cycle([section.section_id for section in learner.piece.sections])
    for day in term.practice_days():
        learner.begin_day(day)
        _in_turns(learner, names, term.minutes)
        yield day


def hardest_in_a_block(learner: Learner, term: Term) -> Iterator[date]:
    """The hardest section that is not known, until it is; when all are known in order."""
    ranks = learner.piece.estimated_ranks
    hardest = sorted(ranks, key=lambda name: ranks[name])
    rest = cycle(hardest)
    for day in term.practice_days():
        learner.begin_day(day)
        standings = standings_of(learner, day)
        not_known = [name for name in hardest if standings[name].known_since is None]
        if not_known:
            learner.practise(not_known[0], term.minutes)
        else:
            _in_turns(learner, rest, term.minutes)
        yield day


def playing_through(learner: Learner, term: Term) -> Iterator[date]:
    """The whole piece from beginning to end, over and over."""
    names = [section.section_id for section in learner.piece.sections]
    for day in term.practice_days():
        learner.begin_day(day)
        pass_minutes = 0.0
        while (left := term.minutes - learner.session_minutes) > 0:
            if pass_minutes <= left:
                learner.run_through()
                learner.rest(SECONDS_BETWEEN_TRIES)
            else:  # no time for all of it any more
                fits = int(len(names) * left / pass_minutes)
                learner.play_once(names[:fits])
                break
            pass_minutes = left - (term.minutes - learner.session_minutes)
        yield day


HABITS: dict[str, Habit] = {
    "by our plan": by_plan,
    "front to back": front_to_back,
    "going on in order": going_on,
    "hardest in a block": hardest_in_a_block,
    "playing through": playing_through,
}


def practise(learner: Learner, habit: Habit, term: Term) -> RunOutlook:
    """Practise until the performance and return what the run on that day will be like."""
    for _ in habit(learner, term):
        pass
    return learner.outlook(term.performance)


def standings_of(learner: Learner, today: date) -> dict[str, SectionStanding]:
    """How the sections stand, from the attempts before a day, as the program would tell it."""
    found = {}
    for number, section in enumerate(learner.piece.sections):
        asked = SectionAsked(
            section_id=section.section_id,
            name=section.name,
            stretch=Stretch(Position(8 * number), Position(8 * number + 8)),
            target_quarters_per_minute=TARGET_QUARTERS_PER_MINUTE,
        )
        before = [each for each in learner.attempts[section.section_id] if each.day() < today]
        found[section.section_id] = section_standing(asked, before, today)
    return found


def days_known(learner: Learner, day: date) -> dict[str, int]:
    """For how many days each section has been known."""
    return {name: standing.days_known(day) for name, standing in standings_of(learner, day).items()}


def _situation(
    learner: Learner,
    term: Term,
    day: date,
    joined: dict[tuple[str, str], date],
    last_run: date | None,
) -> Situation:
    ranks = learner.piece.estimated_ranks
    standings = standings_of(learner, day)
    mean_notes = sum(s.notes for s in learner.piece.sections) / len(learner.piece.sections)
    return Situation(
        today=day,
        sections=tuple(
            planned_section(
                standings[section.section_id],
                rank=ranks[section.section_id],
                hours=HOURS_PER_SECTION * section.notes / mean_notes,
                playing_seconds=section.playing_seconds,
                practised_minutes=learner.minutes[section.section_id],
            )
            for section in learner.piece.sections
        ),
        availability=term.availability,
        performance=term.performance,
        first_day=FIRST_DAY,
        joins=tuple(
            JoinStanding(first_id=one, second_id=other, last_played=last)
            for (one, other), last in joined.items()
        ),
        last_run_through=last_run,
    )


def _in_turns(learner: Learner, names: Iterator[str], minutes: float) -> None:
    left, before = minutes, ""
    while left >= 1.0:
        name = next(names)
        if before:
            learner.cross(before, name)
        learner.practise(name, min(TURN_MINUTES, left))
        left -= TURN_MINUTES
        before = name


def _do(learner: Learner, turn: PlannedTurn) -> None:
    ids = turn.place.section_ids
    if turn.activity is Activity.RUN_THROUGH:
        learner.run_through()
    elif turn.activity is Activity.COLD_TAKE:
        spent = learner.play_once(ids) / 60.0
        for name in ids:  # the rest of the turn goes into what was just tried
            learner.practise(name, (turn.minutes - spent) / len(ids))
    elif turn.activity is Activity.JOIN:
        spent = once = 0.0
        while spent + 0.5 * once < 60.0 * turn.minutes:  # as often as it fits, as in any turn
            once = learner.play_once(ids) + SECONDS_BETWEEN_TRIES
            learner.rest(SECONDS_BETWEEN_TRIES)
            spent += once
    elif turn.activity is Activity.ROUND:
        _round(learner, ids, turn.minutes)
    elif not turn.activity.at_keyboard:
        for name in ids:
            learner.think_through(name, turn.minutes / len(ids))
    else:
        apart = turn.activity is Activity.HANDS_SEPARATELY
        for name in ids:
            learner.practise(name, turn.minutes / len(ids), Hands.RIGHT if apart else Hands.BOTH)


def _round(learner: Learner, ids: tuple[str, ...], minutes: float) -> None:
    """Each of these once, then round again, until the time is over."""
    spent = 0.0
    for name in cycle(ids):
        seconds = learner.play_once((name,)) + SECONDS_BETWEEN_TRIES
        learner.rest(SECONDS_BETWEEN_TRIES)
        spent += seconds
        if spent + 0.5 * seconds >= 60.0 * minutes:
            break
