"""Pencil signs as outlines: strokes with a slightly unsteady hand, the same each time.

The hand is seeded by the mark itself, so a sign never changes while it stands on the page. Signs
are drawn around (0, 0), in staff spaces.
"""

from __future__ import annotations

import itertools
import math
import random
import zlib
from functools import cache
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QPainterPath, QPolygonF, QTransform

from companion.desktop.score_view.marks import MarkKind
from companion.desktop.score_view.outlines import letters_path

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

Point = tuple[float, float]

PENCIL_WIDTH = 0.26
NAME_SIZE = 1.9
_STEP = 0.12  # distance of the points along a stroke
_WOBBLE = 0.035  # how far the hand strays
_HANDS = 24  # no two neighbours look alike, and each is drawn only once
_PRESSURE = 0.28  # how much the width varies


class Hand:
    """A hand that draws; two hands of the same seed draw the same."""

    def __init__(self, seed: str) -> None:
        self._random = random.Random(seed)

    def near(self, value: float, spread: float) -> float:
        """A value close to the wish."""
        return value + self._random.uniform(-spread, spread)

    def stroke(self, points: Sequence[Point], width: float = PENCIL_WIDTH) -> QPainterPath:
        """A stroke through the points: a closed outline that swells and tapers."""
        line = _resampled(points)
        phases = [self._random.uniform(0, math.tau) for _ in range(3)]
        upper, lower = [], []
        for place, (x, y) in enumerate(line):
            share = place / max(1, len(line) - 1)
            normal_x, normal_y = _normal(line, place)
            stray = _WOBBLE * (
                math.sin(5.1 * share + phases[0]) + 0.6 * math.sin(13.7 * share + phases[1])
            )
            pressure = 1 + _PRESSURE * math.sin(7.3 * share + phases[2])
            half = width / 2 * pressure * min(1.0, 0.45 + 5 * share, 0.3 + 4 * (1 - share))
            upper.append(QPointF(x + normal_x * (stray + half), y + normal_y * (stray + half)))
            lower.append(QPointF(x + normal_x * (stray - half), y + normal_y * (stray - half)))
        path = QPainterPath()
        path.addPolygon(QPolygonF([*upper, *reversed(lower)]))
        path.closeSubpath()
        return path


def _resampled(points: Sequence[Point]) -> list[Point]:
    line: list[Point] = [points[0]]
    for (x1, y1), (x2, y2) in itertools.pairwise(points):
        steps = max(1, round(math.hypot(x2 - x1, y2 - y1) / _STEP))
        line += [
            (x1 + (x2 - x1) * step / steps, y1 + (y2 - y1) * step / steps)
            for step in range(1, steps + 1)
        ]
    return line


def _normal(line: Sequence[Point], place: int) -> Point:
    x1, y1 = line[max(0, place - 1)]
    x2, y2 = line[min(len(line) - 1, place + 1)]
    length = math.hypot(x2 - x1, y2 - y1) or 1.0
    return -(y2 - y1) / length, (x2 - x1) / length


def _arc(
    centre: Point, radius: Point, from_degrees: float, to_degrees: float, steps: int = 14
) -> list[Point]:
    """Points of an arc; 0 degrees is to the right, positive turns go up."""
    turns = [
        math.radians(from_degrees + (to_degrees - from_degrees) * step / steps)
        for step in range(steps + 1)
    ]
    return [
        (centre[0] + radius[0] * math.cos(turn), centre[1] - radius[1] * math.sin(turn))
        for turn in turns
    ]


def _joined(strokes: Sequence[QPainterPath]) -> QPainterPath:
    whole = QPainterPath()
    whole.setFillRule(Qt.FillRule.WindingFill)
    for stroke in strokes:
        whole.addPath(stroke)
    return whole


def _right(hand: Hand) -> QPainterPath:
    """Soft shading behind the head, as with the flat of the lead: the print stays as it is."""
    path = QPainterPath()
    lean = hand.near(0.0, 0.08)
    outline = [
        QPointF(x * hand.near(1.0, 0.05) + lean * y, y * hand.near(1.0, 0.05))
        for x, y in _arc((0.0, 0.0), (1.12, 0.95), 0, 345, steps=23)
    ]
    path.addPolygon(QPolygonF(outline))
    path.closeSubpath()
    return path


def _wrong(hand: Hand) -> QPainterPath:
    """A proof-reader's stroke through the head, from lower left to upper right."""
    reach, rise = hand.near(1.3, 0.1), hand.near(1.15, 0.1)
    return hand.stroke([(-reach, rise), (0.0, hand.near(0.0, 0.05)), (reach, -rise)], 0.42)


def _missed(hand: Hand) -> QPainterPath:
    """A ring of dashes around the head."""
    dashes = 7
    start = hand.near(20, 15)
    radius = (hand.near(1.3, 0.06), hand.near(1.15, 0.06))
    strokes = []
    for dash in range(dashes):
        begin = start + dash * 360 / dashes
        arc = _arc((0.0, 0.0), radius, begin, begin + hand.near(33, 4), steps=6)
        strokes.append(hand.stroke(arc, 0.3))
    return _joined(strokes)


def _added(hand: Hand) -> QPainterPath:
    """A caret, its point upwards where something was put in."""
    width, height = hand.near(0.65, 0.06), hand.near(1.3, 0.1)
    return _joined(
        [
            hand.stroke([(-width, height), (0.0, 0.0)]),
            hand.stroke([(-0.05, 0.02), (width, height)]),
        ]
    )


def _stop(hand: Hand) -> QPainterPath:
    """A caesura: two slanted strokes across the top line."""
    first = hand.near(0.0, 0.04)
    return _joined(
        [
            hand.stroke([(first - 0.45, 0.9), (first + 0.4, -1.5)], 0.32),
            hand.stroke([(first + 0.35, 0.9), (first + 1.2, -1.5)], 0.32),
        ]
    )


def _hesitation(hand: Hand) -> QPainterPath:
    """A comma, as for a breath."""
    curl = _arc((-0.3, -0.9), (0.62, 1.1), 75, -75, steps=10)
    dot = QPainterPath()
    dot.addEllipse(QPointF(-0.06, hand.near(-1.62, 0.03)), 0.4, 0.4)
    return _joined([dot, hand.stroke(curl, 0.36)])


def _restart(hand: Hand) -> QPainterPath:
    """An arrow that turns back to the left."""
    arc = _arc((0.0, 0.0), (hand.near(1.5, 0.08), hand.near(1.1, 0.08)), 5, 172)
    tip_x, tip_y = arc[-1]
    return _joined(
        [
            hand.stroke(arc, 0.32),
            hand.stroke([(tip_x - 0.65, tip_y - 0.7), (tip_x, tip_y + 0.2)], 0.32),
            hand.stroke([(tip_x, tip_y + 0.2), (tip_x + 0.9, tip_y - 0.35)], 0.32),
        ]
    )


_SIGNS: dict[MarkKind, Callable[[Hand], QPainterPath]] = {
    MarkKind.RIGHT: _right,
    MarkKind.WRONG: _wrong,
    MarkKind.MISSED: _missed,
    MarkKind.ADDED: _added,
    MarkKind.STOP: _stop,
    MarkKind.HESITATION: _hesitation,
    MarkKind.RESTART: _restart,
}


def sign_path(kind: MarkKind, seed: str) -> QPainterPath:
    """Outline of a sign around (0, 0), in the hand of ``seed``: always the same for one seed."""
    return _sign_by_hand(kind, zlib.crc32(seed.encode()) % _HANDS)


@cache
def _sign_by_hand(kind: MarkKind, hand: int) -> QPainterPath:
    return _SIGNS[kind](Hand(f"{kind} {hand}"))


@cache
def name_path(name: str, x: float, y: float) -> QPainterPath:
    """A small note name, italic, with its baseline's start at (x, y)."""
    printed = name[:1] + name[1:].replace("#", "♯").replace("b", "♭")
    scaled = QTransform.fromScale(NAME_SIZE, NAME_SIZE).map(letters_path(printed, italic=True))
    return scaled.translated(x, y)
