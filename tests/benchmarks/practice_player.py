"""A player who practises: expressive time, slips, hesitations; one pass at a time.

Nothing here is taken from the follower or the matcher, nor from :mod:`companion.demo`: the player
plays on a random-walk tempo, and every slip is drawn per note, so that a method is measured against
material that does not share its assumptions. Rates and spreads are common practice, chosen so that
the three levels have as many slips as students' practice takes have.

Conventions of the truth: a *wrong* key stands for the written note that was meant; a *brushed* key
stands for nothing; of an ornament the first stroke of the written key is the note and the others
are *real* additions; a key that two voices share is one stroke, which stands for the first of them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tests.benchmarks.practice_material import REALISED

if TYPE_CHECKING:
    from random import Random

    from companion.score.model import ScoreNote
    from tests.benchmarks.practice_material import Written

BOTH, RIGHT, LEFT = 0, 1, 2


@dataclass(frozen=True, kw_only=True)
class Level:
    """How well the piece goes. Rates are per written note or per written onset.

    ``walk`` is the spread of the log tempo's random walk per quarter, ``uneven`` that of single
    steps, ``spread_ms`` of the keys of a chord, ``hands_ms`` of one hand against the other.
    """

    name: str
    wrong: float
    missed: float
    brushed: float
    hesitates: float
    breaks_off: float
    slips_at_start: float
    slips_at_end: float
    one_hand: float
    slowest: float
    fastest: float
    walk: float
    uneven: float
    spread_ms: float
    hands_ms: float
    chord_built_up: float
    extra_ornament: float = 0.002


LIGHT = Level(
    name="light", wrong=0.011, missed=0.009, brushed=0.003, hesitates=0.003, breaks_off=0.006,
    slips_at_start=0.03, slips_at_end=0.10, one_hand=0.4, slowest=0.65, fastest=1.05, walk=0.03,
    uneven=0.05, spread_ms=10, hands_ms=12, chord_built_up=0.01, extra_ornament=0.006,
)  # fmt: skip
MEDIUM = Level(
    name="medium", wrong=0.030, missed=0.026, brushed=0.013, hesitates=0.02, breaks_off=0.02,
    slips_at_start=0.10, slips_at_end=0.25, one_hand=0.4, slowest=0.4, fastest=0.95, walk=0.05,
    uneven=0.09, spread_ms=16, hands_ms=22, chord_built_up=0.04,
)  # fmt: skip
HEAVY = Level(
    name="heavy", wrong=0.052, missed=0.057, brushed=0.035, hesitates=0.05, breaks_off=0.03,
    slips_at_start=0.20, slips_at_end=0.40, one_hand=0.5, slowest=0.3, fastest=0.85, walk=0.08,
    uneven=0.15, spread_ms=24, hands_ms=35, chord_built_up=0.08,
)  # fmt: skip
CONCERT = Level(
    name="concert", wrong=0.003, missed=0.004, brushed=0.006, hesitates=0.0, breaks_off=0.0,
    slips_at_start=0.0, slips_at_end=0.0, one_hand=0.0, slowest=0.95, fastest=1.08, walk=0.05,
    uneven=0.04, spread_ms=10, hands_ms=14, chord_built_up=0.02,
)  # fmt: skip


@dataclass(kw_only=True)
class Stroke:
    """A key going down, and what was meant by it."""

    onset: float
    lasts: float
    pitch: int
    velocity: int
    quarters: float
    written: int = -1
    wrong: bool = False
    extra: str = ""


@dataclass(kw_only=True)
class Pass:
    """A stretch played on; ``missed`` are written notes left out."""

    kind: str
    hand: int
    first_onset: int
    last_onset: int
    strokes: list[Stroke]
    missed: list[int]
    broke_off: bool


class Player:
    """Plays passes of one piece.

    Parameters
    ----------
    piece
        The written music.
    level
        How well it goes.
    rng
        Where all chance comes from.
    wanders
        The tempo wanders much more, and is slow.
    """

    def __init__(self, piece: Written, level: Level, rng: Random, *, wanders: bool = False) -> None:
        self.piece, self.level, self.rng, self.wanders = piece, level, rng, wanders

    def play(self, kind: str, first: int, last: int, hand: int, start: float) -> Pass | None:
        """Play from onset ``first`` to ``last`` or until the player breaks off.

        Returns
        -------
        Pass or None
            None where that hand has nothing to play there.
        """
        rng, level, piece = self.rng, self.level, self.piece
        places = [k for k in range(first, last + 1) if self._notes(k, hand)]
        if not places:
            return None
        done = Pass(
            kind=kind, hand=hand, first_onset=places[0], last_onset=places[0], strokes=[],
            missed=[], broke_off=False,
        )  # fmt: skip
        factor = (
            rng.uniform(0.3, 0.5) if self.wanders else rng.uniform(level.slowest, level.fastest)
        )
        quarter = 60.0 / (piece.quarters_per_minute * factor)
        walk = level.walk * (2.5 if self.wanders else 1.0)
        held = rng.choice((0.45, 0.75, 0.95, 1.02))  # staccato to legato
        drift, now = 0.0, start
        for number, place in enumerate(places):
            if number:
                step = piece.onsets[place] - piece.onsets[places[number - 1]]
                drift = 0.93 * drift + rng.gauss(0.0, walk * math.sqrt(step))
                ritard = self._ritard(place)
                stretch = math.exp(drift + rng.gauss(0.0, level.uneven)) * ritard
                now += max(0.03, step * quarter * stretch)
                if rng.random() < level.hesitates:
                    now += min(6.0, 0.25 + rng.expovariate(1.0 / 0.8))
            done.last_onset = place
            breaks = number > 1 and rng.random() < level.breaks_off
            slip = (number == 0 and rng.random() < level.slips_at_start) or (
                breaks and rng.random() < level.slips_at_end
            )
            ends = number in (0, len(places) - 1) or breaks
            slips = self._onset(done, place, now, quarter * held, slip=slip, sounds=ends)
            stops = breaks or (number > 1 and slips and rng.random() < 5 * level.breaks_off)
            # Where nothing was heard of an onset the player cannot be heard to stop there.
            heard = any(s.quarters == piece.onsets[place] for s in done.strokes if s.written >= 0)
            if stops and heard:
                done.broke_off = True
                break
        done.strokes.sort(key=lambda stroke: stroke.onset)
        return done

    def _notes(self, place: int, hand: int) -> list[int]:
        notes = self.piece.notes
        return [
            k for k in self.piece.at[place] if not hand or (1 if notes[k].staff == 1 else 2) == hand
        ]

    def _ritard(self, place: int) -> float:
        """Slower towards the end of a phrase of four measures, and at the end of the piece."""
        note = self.piece.notes[self.piece.at[place][0]]
        if place > len(self.piece.onsets) - 5:
            return 1.35
        return 1.12 if note.measure_index % 4 == 3 and note.measure_offset_quarters >= 1 else 1.0

    def _onset(
        self, done: Pass, place: int, now: float, quarter: float, *, slip: bool, sounds: bool
    ) -> int:
        """Strike the keys of one onset; returns how many slips there were."""
        rng, level, piece = self.rng, self.level, self.piece
        chosen = self._notes(place, done.hand)
        keys: dict[int, int] = {}
        for index in chosen:
            keys.setdefault(piece.notes[index].pitch, index)
        taken = set(keys)
        plain = [k for k in keys.values() if not piece.notes[k].grace]
        slipped = rng.choice(plain) if slip and plain else -1
        lag = {RIGHT: 0.0, LEFT: rng.gauss(0.0, level.hands_ms / 1000)}
        built_up = len(plain) > 2 and rng.random() < level.chord_built_up
        rolled = len(plain) > 2 and any(piece.notes[k].arpeggiated for k in plain)
        pace = rng.uniform(0.02, 0.06) if rolled else rng.uniform(0.03, 0.09)
        order = {
            k: place for place, k in enumerate(sorted(plain, key=lambda k: piece.notes[k].pitch))
        }
        if built_up:
            steps = list(order.values())
            rng.shuffle(steps)
            order = dict(zip(order, steps, strict=True))
        graces = [k for k in keys.values() if piece.notes[k].grace]
        slips, struck = 0, 0
        must_sound = rng.choice(list(keys.values())) if sounds else -1
        for pitch, index in keys.items():
            note = piece.notes[index]
            chance = rng.random()
            if index not in (must_sound, slipped) and chance < level.missed:
                done.missed += [k for k in chosen if piece.notes[k].pitch == pitch]
                slips += 1
                continue
            at = now + lag[RIGHT if note.staff == 1 else LEFT]
            at += rng.gauss(0.0, level.spread_ms / 1000)
            if rolled or built_up:
                at += order.get(index, 0) * pace
            if note.grace:
                at = now - 0.075 * (len(graces) - graces.index(index)) + rng.gauss(0, 0.008)
            lasts = max(0.03, float(note.duration_quarters) * quarter) * math.exp(
                rng.gauss(0, 0.12)
            )
            wrong = index == slipped or level.missed <= chance < level.missed + level.wrong
            struck_key = self._wrong_key(place, pitch, taken) if wrong else pitch
            velocity = round(min(115, max(14, rng.gauss(68 if note.staff == 1 else 56, 9))))
            stroke = Stroke(
                onset=at, lasts=lasts, pitch=struck_key, velocity=velocity,
                quarters=piece.onsets[place], written=index, wrong=wrong,
            )  # fmt: skip
            slips += wrong
            struck += 1
            if not wrong and not note.grace and note.ornament in REALISED:
                done.strokes += self._realised(stroke, note)
                continue
            done.strokes.append(stroke)
            if not wrong and not note.grace and rng.random() < level.extra_ornament:
                done.strokes.append(
                    _beside(stroke, pitch + rng.choice((1, 2)), -0.07, 0.06, "real")
                )
            if rng.random() < level.brushed:
                key = pitch + rng.choice((-2, -1, -1, 1, 1, 2))
                if key not in taken and 21 <= key <= 108:
                    touched = _beside(stroke, key, rng.gauss(0.01, 0.025), 0.08, "brush")
                    touched.velocity = max(8, velocity - rng.randint(8, 30))
                    done.strokes.append(touched)
        return slips

    def _wrong_key(self, place: int, pitch: int, taken: set[int]) -> int:
        """A key beside, the octave above or below, or a key of the chord before or after."""
        rng = self.rng
        kind = rng.random()
        near = [
            note.pitch
            for other in (place - 1, place + 1)
            if 0 <= other < len(self.piece.at)
            for note in (self.piece.notes[k] for k in self.piece.at[other])
            if 0 < abs(note.pitch - pitch) <= 7
        ]
        choices = [pitch + step for step in (-2, -1, -1, 1, 1, 2)]
        if kind < 0.12:
            choices = [pitch - 12, pitch + 12]
        elif kind < 0.22:
            choices = [pitch - 3, pitch + 3]
        elif kind < 0.32 and near:
            choices = near
        free = [key for key in choices if key not in taken and 21 <= key <= 108]
        return rng.choice(
            free or [k for k in (pitch + 1, pitch - 1, pitch + 2) if k not in taken] or [pitch + 1]
        )

    def _realised(self, stroke: Stroke, note: ScoreNote) -> list[Stroke]:
        """The strokes of an ornament, the written key's first one standing for the note."""
        pitch, upper, lower = note.pitch, note.pitch + 2, note.pitch - 1
        each = self.rng.uniform(0.07, 0.11)
        keys = {
            "mordent": [pitch, lower, pitch],
            "inverted mordent": [pitch, upper, pitch],
            "turn": [upper, pitch, lower, pitch],
            "inverted turn": [lower, pitch, upper, pitch],
        }.get(note.ornament)
        if keys is None:
            count = max(3, min(24, round(stroke.lasts / each)))
            first = self.rng.choice((0, 1))
            keys = [upper if (k + first) % 2 else pitch for k in range(count)]
        strokes, main = [], False
        for number, key in enumerate(keys):
            one = _beside(stroke, key, number * each, each, "real")
            if key == pitch and not main:
                main = True
                one.written, one.extra = stroke.written, ""
            strokes.append(one)
        strokes[-1].lasts = max(each, stroke.lasts - each * len(keys))
        return strokes


def _beside(stroke: Stroke, pitch: int, after: float, lasts: float, extra: str) -> Stroke:
    return Stroke(
        onset=stroke.onset + after, lasts=lasts, pitch=pitch, velocity=stroke.velocity,
        quarters=stroke.quarters, extra=extra,
    )  # fmt: skip
