"""A seeded pianist who plays a score as people do: in their own time, and not always right.

The same seed, score and skill give the same take on every machine. The take comes with the truth
about each note, and so serves as a test of the matching and as demo data.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from random import Random

from companion.demo.course import Course, CoursePlanner, Tempi
from companion.demo.performance import LeftOutNote, MeantNote, Performance, PlayedPassage
from companion.demo.route import RouteOnset, route_of
from companion.demo.skill import CONCERT, Skill
from companion.demo.strokes import StretchPlayer, Stroke, let_repeated_keys_come_up
from companion.demo.touch import Touch
from companion.history.model import RawEvent
from companion.listening.notes import Hands, HeardNote, PedalChange
from companion.score.model import Score


class SimulatedPianist:
    """Plays takes of one score.

    Parameters
    ----------
    score
        What to play.
    seed
        Everything random comes from it; each call of :meth:`play` goes on where the last one ended.
    touch
        The person.
    trouble
        Factor on the rate of mistakes and breaks for single measures, by measure index; 1 where
        nothing is said.
    quarters_per_minute
        One written tempo for the whole piece; None takes the marks of the score.
    pedal
        Whether the damper pedal is changed with every measure.
    """

    def __init__(
        self,
        score: Score,
        *,
        seed: int,
        touch: Touch | None = None,
        trouble: Mapping[int, float] | None = None,
        quarters_per_minute: float | None = None,
        pedal: bool = False,
    ) -> None:
        self._score = score
        self._seed = seed
        self._rng = Random(seed)
        self._touch = Touch() if touch is None else touch
        self._trouble = dict(trouble or {})
        self._tempi = (
            Tempi.of_score(score)
            if quarters_per_minute is None
            else Tempi(((Fraction(0), quarters_per_minute),))
        )
        self._pedal = pedal

    def play(
        self,
        skill: Skill = CONCERT,
        *,
        hands: Hands = Hands.BOTH,
        from_measure_index: int = 0,
        to_measure_index: int | None = None,
        repeats: bool = True,
    ) -> Performance:
        """Play a take; ValueError where there is nothing to play.

        Parameters
        ----------
        skill
            Tempo, mistakes and breaks.
        hands
            One hand alone, or both.
        from_measure_index, to_measure_index
            Written measures to play, the last one included; the whole piece by default.
        repeats
            Whether the repeats of the whole piece are taken.
        """
        route = route_of(
            self._score,
            hands=hands,
            from_measure_index=from_measure_index,
            to_measure_index=to_measure_index,
            repeats=repeats,
        )
        if not route:
            raise ValueError("nothing to play")
        tempo = self._tempi.at(route[0].printed_quarters) * skill.tempo_share
        planner = CoursePlanner(
            self._score,
            tempi=self._tempi,
            touch=self._touch,
            skill=skill,
            trouble=self._trouble,
            rng=self._rng,
        )
        course = planner.course(route)
        strokes: list[Stroke] = []
        left_out: list[LeftOutNote] = []
        for passage, stretch in enumerate(course.stretches):
            player = StretchPlayer(
                score=self._score,
                touch=self._touch,
                trouble=self._trouble,
                rng=self._rng,
                route=route,
                stretch=stretch,
                passage=passage,
                skill=skill,
            )
            player.play_all()
            strokes += player.strokes
            left_out += player.left_out
        let_repeated_keys_come_up(strokes)
        pedals = _pedal_changes(route, course) if self._pedal else []
        return self._performance(route, course, strokes, left_out, pedals, hands, tempo)

    def _performance(
        self,
        route: Sequence[RouteOnset],
        course: Course,
        strokes: list[Stroke],
        left_out: list[LeftOutNote],
        pedals: list[PedalChange],
        hands: Hands,
        tempo: float,
    ) -> Performance:
        strokes.sort(key=lambda s: (s.onset_seconds, s.pitch))
        start = strokes[0].onset_seconds if strokes else 0.0
        notes = tuple(
            HeardNote(s.onset_seconds - start, s.duration_seconds, s.pitch, s.velocity)
            for s in strokes
        )
        moved = tuple(replace(p, at_seconds=max(0.0, p.at_seconds - start)) for p in pedals)
        truth = tuple(s.meant for s in strokes)
        return Performance(
            notes=notes,
            pedals=moved,
            events=raw_events(notes, moved),
            truth=truth,
            left_out=tuple(replace(n, at_seconds=n.at_seconds - start) for n in left_out),
            breaks=tuple(replace(b, at_seconds=b.at_seconds - start) for b in course.breaks),
            passages=_passages(route, course, truth, hands),
            quarters_per_minute=tempo,
            seed=self._seed,
        )


def raw_events(
    notes: Sequence[HeardNote], pedals: Sequence[PedalChange] = ()
) -> tuple[RawEvent, ...]:
    """The messages that a piano would send for these notes and pedals, in order of time."""
    timed: list[tuple[float, int, bytes]] = []
    for note in notes:
        timed.append((note.onset_seconds, 2, bytes((0x90, note.pitch, note.velocity))))
        end = note.onset_seconds + note.duration_seconds
        timed.append((end, 0, bytes((0x80, note.pitch, 64))))
    timed += [(p.at_seconds, 1, bytes((0xB0, p.controller, p.value))) for p in pedals]
    return tuple(RawEvent(at, message) for at, _, message in sorted(timed))


def _pedal_changes(route: Sequence[RouteOnset], course: Course) -> list[PedalChange]:
    """Pedal with every measure: up with the new harmony, down again just after it."""
    changes: list[PedalChange] = []
    for stretch in course.stretches:
        measure = -1
        for place in range(stretch.first, stretch.last + 1):
            if route[place].route_measure != measure:
                measure = route[place].route_measure
                at = stretch.time_of(place)
                changes += [PedalChange(at - 0.01, 64, 40), PedalChange(at + 0.02, 64, 0)]
                changes += [PedalChange(at + 0.10, 64, 70), PedalChange(at + 0.13, 64, 127)]
        changes.append(PedalChange(stretch.times[-1] + 0.6, 64, 0))
    return changes


def _passages(
    route: Sequence[RouteOnset], course: Course, truth: tuple[MeantNote, ...], hands: Hands
) -> tuple[PlayedPassage, ...]:
    passages: list[PlayedPassage] = []
    for number, stretch in enumerate(course.stretches):
        played = [i for i, meant in enumerate(truth) if meant.passage == number]
        onsets = route[stretch.first : stretch.last + 1]
        passages.append(
            PlayedPassage(
                first_played=played[0] if played else 0,
                last_played=played[-1] if played else -1,
                from_quarters=min(o.printed_quarters for o in onsets),
                to_quarters=max(o.printed_quarters for o in onsets),
                from_measure_index=min(o.measure_index for o in onsets),
                to_measure_index=max(o.measure_index for o in onsets),
                hands=hands,
                began_with=stretch.began_with,
            )
        )
    return tuple(passages)
