"""A simulated learner at the piano: practises, forgets, plays cold takes, plays the piece through.

What is inside is hidden from plans and estimates; they see only :class:`Attempt` values, as from a
real take. The laws
-------------------
- Calling up: :mod:`companion.demo.learner.memory`. A section is a chain of chunks, a run a chain of
  sections and of the borders between them; a chunk that fails is a stop.
- Slips are Poisson with a rate that falls as a power of practice (it is a power of the sum inside
  the activation; Newell & Rosenbloom 1981, Heathcote, Brown & Mewhort 2000 for the doubt whether
  power or exponential).
- Tempo grows with the number of encounters by the power law of practice and does not fade within
  weeks (half of a gain in speed lasts about a year: Tatel & Ackerman, doi:10.1037/bul0000481).
- There are good days and bad days: one number for each day, added to every activation.
- An encounter is worth the same in whatever activity at the keyboard. Work away from it leaves half
  as much (mental practice alone is worse than physical, Coffman 1990; the half is invented).

Nothing favours a plan by definition: the kind of practice makes no difference here, only what is
practised when, how often, and in which order. Exponents, spreads and times are invented.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from math import exp
from random import Random

import numpy as np

from companion.demo.learner.memory import SECONDS_OF_A_DAY, MemoryLaw, Trace
from companion.demo.learner.piece import (
    SECTION_COUNTS,
    TARGET_QUARTERS_PER_MINUTE,
    LearnerPiece,
    LearnerSection,
    draw_piece,
)
from companion.history.knowing.attempts import Attempt
from companion.listening.notes import Hands

AWAY_WEIGHT = 0.5
SECONDS_BETWEEN_TRIES = 6.0
SECONDS_FOR_A_STOP = 12.0
"""What a stop costs until the flow goes on: failures take time, as in Pavlik & Anderson 2008."""

EASE = -0.3
SLIPS_AT_THRESHOLD = 5.0
"""Slips in 100 notes where recall succeeds half of the time."""

MOST_SLIPS = 25.0
SLIP_EXPONENT = 0.9
DIFFICULTY_SCALE = 0.28
"""How far the threshold of recall rises with one standard deviation of difficulty."""

BORDER_THRESHOLD = -0.15
"""Borders are called up a little more easily than a middling chunk."""

TEMPO_EXPONENT = 0.5
TEMPO_ROOM = 1.08
FORM_SD = 0.1
_STOPS_THAT_END_A_TAKE = 4
_FORM_NODES = 15


@dataclass(frozen=True, slots=True, kw_only=True)
class RunOutlook:
    """What a cold run would be like, averaged over good and bad days."""

    no_stop: float
    expected_slips: float


class Learner:
    """One person with one piece.

    Parameters
    ----------
    seed
        Draws the person, the piece and every chance in their course.
    section_counts
        Fewest and most sections of the piece.
    """

    def __init__(self, seed: int, section_counts: tuple[int, int] = SECTION_COUNTS) -> None:
        person = Random(seed)
        self.piece: LearnerPiece = draw_piece(person, section_counts)
        self.law = MemoryLaw(
            decay_intercept=MemoryLaw().decay_intercept * exp(person.gauss(0.0, 0.1)),
            decay_scale=MemoryLaw().decay_scale * exp(person.gauss(0.0, 0.15)),
            threshold=MemoryLaw().threshold + EASE + person.gauss(0.0, 0.12),
        )
        self.form_sd = FORM_SD * exp(person.gauss(0.0, 0.3))
        self._tempo_needed = {
            section.section_id: 1.2 * exp(0.25 * section.difficulty + person.gauss(0.0, 0.1))
            for section in self.piece.sections
        }
        self._border_thresholds = {
            (one.section_id, other.section_id): BORDER_THRESHOLD + person.gauss(0.0, 0.2)
            for one, other in pairwise(self.piece.sections)
        }
        self._traces = {s.section_id: Trace(self.law) for s in self.piece.sections}
        self._borders = {pair: Trace(self.law) for pair in self._border_thresholds}
        self._random = Random(seed + 1_000_003)
        self._sections = {s.section_id: s for s in self.piece.sections}
        self._now = 0.0
        self._session_seconds = 0.0
        self._day: date | None = None
        self._form = 0.0
        self._played_today: set[str] = set()
        self._takes = 0
        self.attempts: dict[str, list[Attempt]] = {s.section_id: [] for s in self.piece.sections}
        self.minutes: dict[str, float] = dict.fromkeys(self._sections, 0.0)
        self.runs: list[tuple[date, bool]] = []

    # --- practising

    def begin_day(self, day: date) -> None:
        """Let the time since the last day pass, and begin a new one."""
        if self._day is not None:
            days = (day - self._day).days
            rest = days * SECONDS_OF_A_DAY - self._session_seconds
            self._now += max(rest, 0.0) * self.law.between_sessions
        self._day = day
        self._session_seconds = 0.0
        self._form = self._random.gauss(0.0, self.form_sd)
        self._played_today = set()

    def practise(self, section_id: str, minutes: float, hands: Hands = Hands.BOTH) -> None:
        """Work on a section for some minutes; the first time of the day is an attempt at it."""
        section = self._sections[section_id]
        left = 60.0 * minutes
        while left > 0:
            seconds = self._seconds_of(section) + SECONDS_BETWEEN_TRIES
            if left < 0.5 * seconds:
                self._pass(left)  # too little for another try
                break
            self._play(section, hands)
            self._pass(min(seconds, left))
            left -= seconds
        self.minutes[section_id] += max(minutes, 0.0)

    def play_once(self, section_ids: Sequence[str]) -> float:
        """Play sections once each, over borders where they adjoin; return the seconds it took.

        Who does not come over a border stops as the following section begins.
        """
        spent = 0.0
        for number, name in enumerate(section_ids):
            section = self._sections[name]
            pair = (section_ids[number - 1], name) if number else ("", "")
            missed = pair in self._borders and (
                self._random.random() > self._border_holds(pair, self._form)
            )
            self.cross(*pair)
            seconds = self._seconds_of(section)
            self._play(section, Hands.BOTH, int(missed))
            self.minutes[name] += seconds / 60.0
            self._pass(seconds)
            spent += seconds
        return spent

    def run_through(self) -> None:
        """Play the whole piece, cold when nothing was played before on the day."""
        cold = not self._played_today
        self.play_once([section.section_id for section in self.piece.sections])
        if cold and self._day is not None:
            first_tries = [attempts[-1] for attempts in self.attempts.values()]
            held = all(each.complete and not each.stops for each in first_tries)
            self.runs.append((self._day, held))

    def cross(self, first_id: str, second_id: str) -> None:
        """Play over a border once, if the two adjoin."""
        trace = self._borders.get((first_id, second_id))
        if trace is not None:
            trace.encounter(self._now)

    def think_through(self, section_id: str, minutes: float) -> None:
        """Work on a section away from the keyboard."""
        seconds = self._sections[section_id].playing_seconds + SECONDS_BETWEEN_TRIES
        for _ in range(max(1, int(60.0 * minutes / seconds))):
            self._traces[section_id].encounter(self._now, AWAY_WEIGHT)
            self._pass(seconds)

    def _play(self, section: LearnerSection, hands: Hands, stops_before: int = 0) -> None:
        if section.section_id not in self._played_today:
            self._played_today.add(section.section_id)
            self.attempts[section.section_id].append(self._attempt(section, hands, stops_before))
        self._traces[section.section_id].encounter(self._now)

    def _seconds_of(self, section: LearnerSection) -> float:
        """How long it takes now: at the tempo that is reached, with the stops to be expected."""
        recall = self._recall(self._above(section, self._form))
        stops = section.chunks * (1.0 - recall)
        return (
            section.playing_seconds / self.tempo_share(section.section_id)
            + stops * SECONDS_FOR_A_STOP
        )

    def _pass(self, seconds: float) -> None:
        self._now += seconds
        self._session_seconds += seconds

    def rest(self, seconds: float) -> None:
        """Let a moment of the day's time pass."""
        self._pass(seconds)

    @property
    def session_minutes(self) -> float:
        """How long was practised on this day so far."""
        return self._session_seconds / 60.0

    @property
    def _today(self) -> date:
        if self._day is None:
            raise ValueError("begin a day before playing")
        return self._day

    # --- how it goes

    def tempo_share(self, section_id: str) -> float:
        """The tempo that is reached, as a share of the target; at most 1."""
        count = self._traces[section_id].count + 1
        needed = self._tempo_needed[section_id]
        reached: float = TEMPO_ROOM / (1.0 + needed * float(count) ** -TEMPO_EXPONENT)
        return min(1.0, reached)

    def holds(self, section_id: str, form: float = 0.0) -> float:
        """Probability that a section comes without a stop now."""
        section = self._sections[section_id]
        return float(self._recall(self._above(section, form)) ** section.chunks)

    def slip_rate(self, section_id: str, form: float = 0.0) -> float:
        """Expected slips in a section now."""
        section = self._sections[section_id]
        above = self._above(section, form)
        per_100 = MOST_SLIPS if above < -3 else SLIPS_AT_THRESHOLD * exp(-SLIP_EXPONENT * above)
        return min(MOST_SLIPS, per_100) * section.notes / 100.0

    def outlook(self, day: date) -> RunOutlook:
        """What a cold run on a later day would be like if nothing were played until then."""
        if self._day is None:
            return RunOutlook(no_stop=0.0, expected_slips=0.0)
        kept = self._now
        rest = (day - self._day).days * SECONDS_OF_A_DAY - self._session_seconds
        self._now += max(rest, 0.0) * self.law.between_sessions
        nodes, weights = np.polynomial.hermite_e.hermegauss(_FORM_NODES)
        total_hold = total_slips = 0.0
        for node, weight in zip(nodes, weights / weights.sum(), strict=True):
            form = self.form_sd * float(node)
            hold = 1.0
            for name in self._sections:
                hold *= self.holds(name, form)
                total_slips += float(weight) * self.slip_rate(name, form)
            for pair in self._borders:
                hold *= self._border_holds(pair, form)
            total_hold += float(weight) * hold
        self._now = kept
        return RunOutlook(no_stop=total_hold, expected_slips=total_slips)

    def _above(self, section: LearnerSection, form: float) -> float:
        threshold = self.law.threshold + DIFFICULTY_SCALE * section.difficulty
        return self._traces[section.section_id].activation(self._now) + form - threshold

    def _border_holds(self, pair: tuple[str, str], form: float) -> float:
        threshold = self.law.threshold + self._border_thresholds[pair]
        return self._recall(self._borders[pair].activation(self._now) + form - threshold)

    def _recall(self, above: float) -> float:
        scaled = -above / self.law.noise
        return 0.0 if scaled > 500 else 1.0 / (1.0 + exp(scaled))

    def _attempt(self, section: LearnerSection, hands: Hands, stops_before: int) -> Attempt:
        name = section.section_id
        recall = self._recall(self._above(section, self._form))
        stops = stops_before
        stops += sum(self._random.random() > recall for _ in range(section.chunks))
        slips = self._poisson(self.slip_rate(name, self._form))
        broke_off = stops >= _STOPS_THAT_END_A_TAKE or (stops > 0 and self._random.random() < 0.3)
        share = self.tempo_share(name) * exp(self._random.gauss(0.0, 0.02))
        self._takes += 1
        wrong = slips // 2
        moment = datetime.combine(self._today, time(17), tzinfo=UTC)
        return Attempt(
            take_id=f"take {self._takes}",
            started_at=moment + timedelta(seconds=self._session_seconds),
            zone="UTC",
            hands=hands,
            coverage=1.0 if not broke_off else self._random.uniform(0.5, 1.0),
            complete=not broke_off,
            began_again=broke_off,
            expected=section.notes,
            wrong=wrong,
            missed=slips - wrong,
            added=0,
            edge_errors=0,
            stops=stops,
            running_tempo_quarters_per_minute=share * TARGET_QUARTERS_PER_MINUTE,
        )

    def _poisson(self, mean: float) -> int:
        """Count the arrivals of one unit of time (means here are below a hundred)."""
        count, left = 0, self._random.expovariate(1.0)
        while left < mean:
            count += 1
            left += self._random.expovariate(1.0)
        return count
