"""The single strokes of a stretch: each written note struck, missed or mistaken by a human hand."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from random import Random

from companion.demo.course import Stretch
from companion.demo.ornaments import OrnamentStroke, lower_neighbour, realised, upper_neighbour
from companion.demo.performance import LeftOutNote, MeantNote
from companion.demo.route import RouteNote, RouteOnset
from companion.demo.skill import Skill
from companion.demo.touch import (
    CHORD_SPREAD_SD_SECONDS,
    LEFT_HAND_LATE_SD_SECONDS,
    MELODY_LEAD_SECONDS,
    PHRASE_MEASURES,
    RELEASE_MEAN_SECONDS,
    RELEASE_SD_SECONDS,
    REPEATED_NOTE_SHARE,
    Touch,
)
from companion.listening.notes import Verdict
from companion.score.model import Hand, Score

GRACE_SECONDS = 0.07
ARPEGGIO_STEP_SECONDS = 0.045
_SHORTEST_NOTE_SECONDS = 0.03
_MELODY_SLIPS = 0.5  # listeners and players agree: inner voices slip more (Repp 1996)


@dataclass(slots=True)
class Stroke:
    """A key going down: when, how long, how hard, and what it was meant to be."""

    onset_seconds: float
    duration_seconds: float
    pitch: int
    velocity: int
    meant: MeantNote


class StretchPlayer:
    """Strikes the notes of one stretch."""

    def __init__(
        self,
        *,
        score: Score,
        touch: Touch,
        trouble: Mapping[int, float],
        rng: Random,
        route: Sequence[RouteOnset],
        stretch: Stretch,
        passage: int,
        skill: Skill,
    ) -> None:
        self._score = score
        self._touch = touch
        self._trouble = trouble
        self._rng = rng
        self._route = route
        self._stretch = stretch
        self._passage = passage
        self._skill = skill
        self.strokes: list[Stroke] = []
        self.left_out: list[LeftOutNote] = []

    def play_all(self) -> None:
        """Strike everything, onset after onset."""
        for place in range(self._stretch.first, self._stretch.last + 1):
            self._play_onset(place)

    def _play_onset(self, place: int) -> None:
        onset = self._route[place]
        beat_seconds = self._stretch.time_of(place)
        since_last = self._since_last(place)
        beat_seconds += self._touch.onset_error_seconds(self._rng, since_last)
        left_late = self._rng.gauss(0.0, LEFT_HAND_LATE_SD_SECONDS)
        for number, route_note in enumerate(onset.graces):
            before = min(GRACE_SECONDS, 0.8 * since_last / (len(onset.graces) + 1))
            early = (len(onset.graces) - number) * before
            self._play_note(place, route_note, beat_seconds - early, before * 0.9, grace=True)
        top = max((n.note.pitch for n in onset.notes), default=-1)
        spread_from = _arpeggio_starts(onset)
        for route_note in onset.notes:
            note = route_note.note
            at = beat_seconds + self._rng.gauss(0.0, CHORD_SPREAD_SD_SECONDS)
            at += spread_from.get(route_note.score_index, 0.0)
            if note.playing_hand is Hand.LEFT:
                at += left_late
            if note.pitch == top and len(onset.notes) > 1:
                at -= MELODY_LEAD_SECONDS
            self._play_note(place, route_note, at, self._length_seconds(route_note, place, at))
        self._maybe_add(place, beat_seconds)

    def _since_last(self, place: int) -> float:
        if place == self._stretch.first:
            return 0.5
        return self._stretch.time_of(place) - self._stretch.time_of(place - 1)

    def _length_seconds(self, route_note: RouteNote, place: int, at: float) -> float:
        ends = self._stretch.time_at_quarters(
            self._route,
            self._route[place].at_quarters + Fraction(route_note.note.duration_quarters),
        )
        release = self._rng.gauss(RELEASE_MEAN_SECONDS, RELEASE_SD_SECONDS)
        return max(_SHORTEST_NOTE_SECONDS, 0.35 * (ends - at), ends + release - at)

    def _play_note(
        self, place: int, route_note: RouteNote, at: float, lasts: float, *, grace: bool = False
    ) -> None:
        onset, note = self._route[place], route_note.note
        inner = 1.0 if self._is_melody(route_note, onset) else 1.0 / _MELODY_SLIPS
        risk = self._trouble.get(onset.measure_index, 1.0) * inner / 1.5
        chance = self._rng.random() * 100.0
        if chance < self._skill.left_out_per_100 * risk:
            self.left_out.append(
                LeftOutNote(
                    score_index=route_note.score_index, passage=self._passage, at_seconds=at
                )
            )
            return
        pitch, verdict = note.pitch, Verdict.RIGHT
        if chance < (self._skill.left_out_per_100 + self._skill.wrong_per_100) * risk:
            pitch, verdict = self._slip(onset, pitch), Verdict.WRONG
        velocity = self._velocity(route_note, onset)
        plain = grace or verdict is Verdict.WRONG
        strokes = () if plain else self._ornament(note.ornament, onset, pitch, lasts)
        if strokes:
            self._strike_ornament(route_note, strokes, at, velocity)
            return
        meant = MeantNote(
            verdict=verdict,
            passage=self._passage,
            score_index=route_note.score_index,
            also=route_note.also,
        )
        self.strokes.append(Stroke(at, lasts, pitch, velocity, meant))

    def _strike_ornament(
        self, route_note: RouteNote, strokes: tuple[OrnamentStroke, ...], at: float, velocity: int
    ) -> None:
        """The first stroke of the written key is the note, all others are its ornament."""
        main_struck = False
        for stroke in strokes:
            is_main = not main_struck and stroke.pitch == route_note.note.pitch
            main_struck = main_struck or is_main
            meant = MeantNote(
                verdict=Verdict.RIGHT if is_main else Verdict.ORNAMENT,
                passage=self._passage,
                score_index=route_note.score_index,
            )
            softer = max(12, velocity - self._rng.randint(0, 12))
            onset = at + stroke.after_seconds + self._rng.gauss(0.0, 0.004)
            self.strokes.append(Stroke(onset, stroke.lasts_seconds, stroke.pitch, softer, meant))

    def _ornament(
        self, ornament: str, onset: RouteOnset, pitch: int, lasts: float
    ) -> tuple[OrnamentStroke, ...]:
        if not ornament:
            return ()
        return realised(ornament, pitch, self._key_fifths(onset), lasts)

    def _slip(self, onset: RouteOnset, pitch: int) -> int:
        """The key beside: mostly the next one of the scale, sometimes the next semitone."""
        fifths = self._key_fifths(onset)
        meant = {r.note.pitch for r in onset.notes}
        beside = [upper_neighbour(pitch, fifths), lower_neighbour(pitch, fifths)] * 2
        beside += [pitch + 1, pitch - 1]
        free = [key for key in beside if key not in meant and 21 <= key <= 108]
        return self._rng.choice(free or [pitch + 1])

    def _maybe_add(self, place: int, beat_seconds: float) -> None:
        """Now and then the finger catches a key beside the right one as well."""
        onset = self._route[place]
        if not onset.notes:
            return
        rate = self._skill.added_per_100 * self._trouble.get(onset.measure_index, 1.0)
        if self._rng.random() * 100.0 >= rate * len(onset.notes):
            return
        beside = self._rng.choice(onset.notes)
        at = beat_seconds + abs(self._rng.gauss(0.02, 0.02))
        velocity = max(10, self._velocity(beside, onset) - self._rng.randint(10, 25))
        meant = MeantNote(verdict=Verdict.ADDED, passage=self._passage)
        pitch = self._slip(onset, beside.note.pitch)
        self.strokes.append(Stroke(at, self._rng.uniform(0.04, 0.12), pitch, velocity, meant))

    def _velocity(self, route_note: RouteNote, onset: RouteOnset) -> int:
        return self._touch.velocity(
            self._rng,
            place_in_phrase=onset.route_measure / PHRASE_MEASURES % 1.0,
            accent=route_note.note.measure_offset_quarters == 0,
            melody=self._is_melody(route_note, onset),
        )

    def _key_fifths(self, onset: RouteOnset) -> int:
        return self._score.measures[onset.measure_index].key_fifths

    @staticmethod
    def _is_melody(route_note: RouteNote, onset: RouteOnset) -> bool:
        right = [r.note.pitch for r in onset.notes if r.note.playing_hand is Hand.RIGHT]
        return route_note.note.pitch == max(right, default=-1)


def _arpeggio_starts(onset: RouteOnset) -> dict[int, float]:
    """How much later than the lowest each note of a broken chord is struck, low to high."""
    rolled = sorted((r for r in onset.notes if r.note.arpeggiated), key=lambda r: r.note.pitch)
    return {r.score_index: step * ARPEGGIO_STEP_SECONDS for step, r in enumerate(rolled)}


def let_repeated_keys_come_up(strokes: list[Stroke]) -> None:
    """A key must be up before it can be struck again: shorten notes that would still be down."""
    by_pitch: dict[int, list[Stroke]] = {}
    for stroke in strokes:
        by_pitch.setdefault(stroke.pitch, []).append(stroke)
    for same in by_pitch.values():
        same.sort(key=lambda s: s.onset_seconds)
        for earlier, later in itertools.pairwise(same):
            gap = later.onset_seconds - earlier.onset_seconds
            if gap < 2 * _SHORTEST_NOTE_SECONDS:
                later.onset_seconds = earlier.onset_seconds + 2 * _SHORTEST_NOTE_SECONDS
                gap = 2 * _SHORTEST_NOTE_SECONDS
            earlier.duration_seconds = min(
                earlier.duration_seconds, max(REPEATED_NOTE_SHARE * gap, gap - 0.08)
            )
