"""The course of a take: when each onset falls, and where the flow breaks or goes back.

Conventions
-----------
- A *place* is an index into the route. A stretch covers places without going back.
- Times are those of the beat; single notes are moved around it later.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from random import Random

from companion.demo.performance import Break, BreakKind
from companion.demo.route import RouteOnset
from companion.demo.skill import Skill
from companion.demo.touch import Touch
from companion.listening.notes import Beginning
from companion.score.model import Position, Score
from companion.timebase import quarters_to_seconds

_MOST_RESTARTS_IN_A_MEASURE = 2
_FERMATA_FACTOR = 1.9
_DRIFT_SD = 0.006
_DRIFT_MEMORY = 0.97
_SHORTEST_STEP_SECONDS = 0.02


DEFAULT_QUARTERS_PER_MINUTE = 96.0


@dataclass(frozen=True, slots=True)
class Tempi:
    """Written tempo along the score: ``(quarters as printed, quarters a minute)``, in order."""

    marks: tuple[tuple[Fraction, float], ...]

    @classmethod
    def of_score(cls, score: Score) -> Tempi:
        """Tempo marks of a score; a middling tempo where nothing is marked."""
        marks = sorted(
            (score.quarters_at(mark.position), mark.quarters_per_minute)
            for mark in score.tempo_marks
            if mark.quarters_per_minute is not None
        )
        first = marks[0][1] if marks else DEFAULT_QUARTERS_PER_MINUTE
        return cls(((Fraction(0), first), *marks))

    def at(self, printed_quarters: Fraction) -> float:
        """Quarters a minute that are written at a place."""
        marked = [tempo for quarters, tempo in self.marks if quarters <= printed_quarters]
        return marked[-1] if marked else self.marks[0][1]


@dataclass(frozen=True, slots=True)
class Stretch:
    """Places ``first`` to ``last`` of the route played through; ``times`` has one each."""

    first: int
    last: int
    began_with: Beginning
    times: tuple[float, ...]

    def time_of(self, place: int) -> float:
        """When the onset at a place falls."""
        return self.times[place - self.first]

    def time_at_quarters(self, route: Sequence[RouteOnset], at_quarters: Fraction) -> float:
        """Time of any score time along the route, by straight lines between the onsets."""
        quarters = [route[p].at_quarters for p in range(self.first, self.last + 1)]
        left = min(max(bisect_right(quarters, at_quarters) - 1, 0), max(len(quarters) - 2, 0))
        if len(quarters) == 1:
            return self.times[0]
        slope = (self.times[left + 1] - self.times[left]) / float(
            quarters[left + 1] - quarters[left]
        )
        return self.times[left] + slope * float(at_quarters - quarters[left])


@dataclass(frozen=True, slots=True)
class Course:
    """All stretches of a take in the order of playing, and the breaks between and within them."""

    stretches: tuple[Stretch, ...]
    breaks: tuple[Break, ...]


class CoursePlanner:
    """Draws the course of one take.

    Parameters
    ----------
    score
        Gives the fermatas.
    tempi
        The written tempo of each place.
    touch, skill, trouble
        The person, their state, and where it is difficult (factor by measure index).
    """

    def __init__(
        self,
        score: Score,
        *,
        tempi: Tempi,
        touch: Touch,
        skill: Skill,
        trouble: Mapping[int, float],
        rng: Random,
    ) -> None:
        self._fermatas = {
            score.quarters_at(Position(f.measure_index, f.offset_quarters)) for f in score.fermatas
        }
        self._touch = touch
        self._skill = skill
        self._trouble = trouble
        self._tempi = tempi
        self._rng = rng
        self._drift = 0.0

    def course(self, route: Sequence[RouteOnset]) -> Course:
        """Play through the route, breaking off and going back as the skill has it."""
        stretches: list[Stretch] = []
        breaks: list[Break] = []
        restarts: dict[int, int] = {}
        began_with = Beginning.START
        first = place = 0
        now = 0.0
        times = [now]
        while place < len(route) - 1:
            now += self._step_seconds(route, place)
            kind = self._break_before(route[place + 1])
            place += 1
            if kind is not None:
                added = self._added_seconds(kind, route, place)
                now += added
                measure = route[place].route_measure
                if self._goes_back(kind, restarts.get(measure, 0)):
                    restarts[measure] = restarts.get(measure, 0) + 1
                    stretches.append(Stretch(first, place - 1, began_with, tuple(times)))
                    first = place = self._restart_place(route, place - 1)
                    began_with, times = Beginning.RESTART, []
                breaks.append(
                    Break(
                        kind=kind,
                        at_seconds=now,
                        added_seconds=added,
                        measure_index=route[place].measure_index,
                        passage=len(stretches),
                    )
                )
            times.append(now)
        stretches.append(Stretch(first, place, began_with, tuple(times)))
        return Course(tuple(stretches), tuple(breaks))

    def _step_seconds(self, route: Sequence[RouteOnset], place: int) -> float:
        onset, following = route[place], route[place + 1]
        quarters = following.at_quarters - onset.at_quarters
        measures_left = float(route[-1].route_measure - onset.route_measure)
        self._drift = _DRIFT_MEMORY * self._drift + self._rng.gauss(0.0, _DRIFT_SD)
        factor = self._touch.tempo_factor(float(onset.route_measure), measures_left)
        if onset.printed_quarters in self._fermatas:
            factor *= _FERMATA_FACTOR
        seconds = self._in_tempo(quarters, onset) * factor * (1.0 + self._drift)
        return max(_SHORTEST_STEP_SECONDS, seconds)

    def _in_tempo(self, quarters: Fraction | int, onset: RouteOnset) -> float:
        trouble = max(1.0, self._trouble.get(onset.measure_index, 1.0))
        tempo = self._tempi.at(onset.printed_quarters) * self._skill.tempo_share
        tempo *= trouble**-self._skill.caution
        return quarters_to_seconds(quarters, tempo)

    def _break_before(self, onset: RouteOnset) -> BreakKind | None:
        trouble = self._trouble.get(onset.measure_index, 1.0)
        chance = self._rng.random() * 100.0
        stops = self._skill.stops_per_100 * trouble
        if chance < stops:
            return BreakKind.STOP
        if chance < stops + self._skill.hesitations_per_100 * trouble:
            return BreakKind.HESITATION
        return None

    def _added_seconds(self, kind: BreakKind, route: Sequence[RouteOnset], place: int) -> float:
        beat_seconds = self._in_tempo(1, route[place])
        if kind is BreakKind.STOP:  # clearly longer than a beat and a half
            return self._rng.uniform(1.8, 3.0) * beat_seconds + 0.5
        step_quarters = route[place].at_quarters - route[place - 1].at_quarters
        step_seconds = self._in_tempo(step_quarters, route[place])
        return max(0.4, min(1.3 * step_seconds, 1.2 * beat_seconds))

    def _goes_back(self, kind: BreakKind, restarts_here: int) -> bool:
        return (
            kind is BreakKind.STOP
            and restarts_here < _MOST_RESTARTS_IN_A_MEASURE
            and self._rng.random() < self._skill.restart_share
        )

    def _restart_place(self, route: Sequence[RouteOnset], stopped_at: int) -> int:
        """The first onset of a measure, up to two measures back."""
        measure = max(0, route[stopped_at].route_measure - self._rng.choice((0, 0, 1, 1, 2)))
        return next(p for p, onset in enumerate(route) if onset.route_measure >= measure)
