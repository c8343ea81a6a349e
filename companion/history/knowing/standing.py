"""How sections stand today: the answer to "what do I know, and since when", as plain values.

A :class:`SectionStanding` is made of one stretch of the score, whether it is a section of the map
or a task inside one. It is derived: from the attempts of all takes, the rules of the piece, its
targets and the day that is asked about (:func:`section_standing`). When rules, targets or borders
change, the past answers under the new ones.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date

from companion.history.days import DAY_STARTS_AT_HOUR
from companion.history.knowing.attempts import Attempt
from companion.history.knowing.clean import Thresholds
from companion.history.knowing.known import (
    ColdTake,
    Knowledge,
    Spell,
    State,
    days_and_clean,
    knowledge,
)
from companion.history.knowing.played import PlayedStretch, played_stretch
from companion.history.knowing.retention import Estimate, retention
from companion.history.knowing.returns import (
    COLD_TAKES_COUNTED,
    PERFORMANCE_TEMPO_SHARE,
    Rating,
    Return,
    next_return,
    rate,
)
from companion.history.results import Stretch


@dataclass(frozen=True, slots=True, kw_only=True)
class FromMemory:
    """How a section went from memory: plain facts, no estimate.

    Parameters
    ----------
    tried
        Days with a try at the whole of it from memory; the first try of a day counts, also when
        the section was played with the score before.
    clean
        Those of them on which it was clean.
    last_day
        The day of the last one; None when there was none.
    """

    tried: int = 0
    clean: int = 0
    last_day: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionStanding:
    """How one section or task stands on one day.

    Parameters
    ----------
    section_id, name
        Of the section or the task. Two sections may share a stretch; each has its own standing.
    stretch
        What it covers in the score.
    target_quarters_per_minute
        The tempo aimed at today, by which *all* its cold takes are judged; None without one, the
        tempo is then not judged.
    knowledge
        State, judged cold takes (one a day at most, in rising order), spells of being known.
    retention
        Probability that a cold take today is clean, its interval, and the count of cold takes.
    next_return
        When it should be played cold again, never past the performance; None before its first cold
        take. The day may have passed already. It is a schedule, not a probability.
    played_days
        Practice days on which anything of it was played, hands separately too, in rising order.
    played_apart_days
        Those of them on which it was played hands separately.
    is_task
        Whether it is a task inside a section and not a section of the map.
    take_count
        How many takes touched it at all.
    from_memory
        What the tries from memory came to.
    """

    section_id: str
    name: str
    stretch: Stretch
    target_quarters_per_minute: float | None
    knowledge: Knowledge
    retention: Estimate
    next_return: Return | None
    played_days: tuple[date, ...] = field(default=(), repr=False)
    played_apart_days: tuple[date, ...] = field(default=(), repr=False)
    is_task: bool = False
    take_count: int = 0
    from_memory: FromMemory = FromMemory()

    @property
    def state(self) -> State:
        """New, learning, known or lapsed."""
        return self.knowledge.state

    @property
    def clean_days(self) -> int:
        """Clean cold takes that count towards being known, at most as many as are needed."""
        return self.knowledge.clean_days

    @property
    def known_since(self) -> date | None:
        """The day since which it is known without a lapse; None when it is not known."""
        return self.knowledge.known_since

    @property
    def lapsed_on(self) -> date | None:
        """The day of its last lapse, while it is lapsed; None otherwise."""
        return self.spells[-1].lapsed_on if self.state is State.LAPSED else None

    @property
    def spells(self) -> tuple[Spell, ...]:
        """The times through which it was known, in rising order; the last may still last."""
        return self.knowledge.spells

    @property
    def cold_takes(self) -> Sequence[ColdTake]:
        """Its cold takes with what was wrong with each, one a day at most, in rising order."""
        return self.knowledge.cold_takes

    @property
    def last_cold_take(self) -> ColdTake | None:
        """The newest cold take."""
        return self.cold_takes[-1] if self.cold_takes else None

    @property
    def last_played(self) -> date | None:
        """The last day on which anything of it was played, whether or not that was cold."""
        return self.played_days[-1] if self.played_days else None

    @property
    def tempo_reached_quarters_per_minute(self) -> float | None:
        """Running tempo of the newest cold take that tells one; None when none does."""
        for take in reversed(self.cold_takes):
            tempo = take.attempt.running_tempo_quarters_per_minute
            if tempo is not None:
                return tempo
        return None

    @property
    def tempo_share(self) -> float | None:
        """The tempo reached as a share of the target; None where either cannot be told."""
        reached = self.tempo_reached_quarters_per_minute
        if reached is None or not self.target_quarters_per_minute:
            return None
        return reached / self.target_quarters_per_minute

    def days_known(self, today: date) -> int:
        """Whole days since it became known; 0 when it is not known."""
        return self.knowledge.days_known(today)


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceStanding:
    """How all sections and tasks of a piece stand on one day.

    Parameters
    ----------
    today
        The practice day that is asked about.
    performance
        The day on which the piece must be played, None without one.
    rules
        What counted as clean and as known: the rules of today, for the past as well.
    sections
        In the order of the map, parents before their children; tasks behind them.
    takes_to_work_out
        Takes whose attempts are not worked out yet: they are missing from everything here.
    """

    today: date
    rules: Thresholds
    sections: tuple[SectionStanding, ...] = field(repr=False)
    performance: date | None = None
    day_starts_at_hour: int = DAY_STARTS_AT_HOUR
    takes_to_work_out: int = 0

    def __iter__(self) -> Iterator[SectionStanding]:
        return iter(self.sections)

    def section(self, section_id: str) -> SectionStanding | None:
        """The standing of a section or task; None for one that is not among them."""
        for standing in self.sections:
            if standing.section_id == section_id:
                return standing
        return None


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionAsked:
    """A section or task whose standing is asked for."""

    section_id: str
    name: str
    stretch: Stretch
    target_quarters_per_minute: float | None = None
    is_task: bool = False


def section_standing(
    asked: SectionAsked,
    attempts: Iterable[Attempt],
    today: date,
    *,
    rules: Thresholds | None = None,
    performance: date | None = None,
    day_starts_at_hour: int = DAY_STARTS_AT_HOUR,
) -> SectionStanding:
    """Return how a section stands, from all attempts at its stretch in any order.

    Attempts after ``today`` are left out, so that the past can be asked as well.
    """
    until_today = [each for each in attempts if each.day(day_starts_at_hour) <= today]
    return standing_from(
        asked,
        played_stretch(until_today, day_starts_at_hour),
        today,
        rules=rules,
        performance=performance,
        day_starts_at_hour=day_starts_at_hour,
    )


def standing_from(
    asked: SectionAsked,
    played: PlayedStretch,
    today: date,
    *,
    rules: Thresholds | None = None,
    performance: date | None = None,
    day_starts_at_hour: int = DAY_STARTS_AT_HOUR,
) -> SectionStanding:
    """Return how a section stands, from what was played of its stretch."""
    limits = rules if rules is not None else Thresholds()
    cold = played.judged(asked.target_quarters_per_minute, limits, day_starts_at_hour)
    counted = cold[-COLD_TAKES_COUNTED:]
    return SectionStanding(
        section_id=asked.section_id,
        name=asked.name,
        stretch=asked.stretch,
        target_quarters_per_minute=asked.target_quarters_per_minute,
        knowledge=knowledge(cold, limits),
        retention=retention(cold, today),
        next_return=next_return(
            ((take.day, _rated(take, asked.target_quarters_per_minute)) for take in counted),
            performance,
        ),
        played_days=played.days,
        played_apart_days=played.apart_days,
        is_task=asked.is_task,
        take_count=played.take_count,
        from_memory=_from_memory(
            played.from_memory.judged(asked.target_quarters_per_minute, limits, day_starts_at_hour)
            if played.from_memory is not None
            else ()
        ),
    )


def _rated(take: ColdTake, target_quarters_per_minute: float | None) -> Rating:
    tempo = take.attempt.running_tempo_quarters_per_minute
    return rate(
        take,
        performance_tempo=tempo is not None
        and target_quarters_per_minute is not None
        and tempo >= PERFORMANCE_TEMPO_SHARE * target_quarters_per_minute,
        from_memory=take.attempt.from_memory,
    )


def _from_memory(tries: Sequence[ColdTake]) -> FromMemory:
    told = tuple(days_and_clean(tries))
    return FromMemory(
        tried=len(told),
        clean=sum(clean for _, clean in told),
        last_day=told[-1][0] if told else None,
    )
