"""Path data and transforms of SVG as absolute commands in staff spaces.

Source: W3C, Scalable Vector Graphics (SVG) 1.1, sections 7.6 (transform) and 8.3 (path data).
Arcs are left out: the engraver draws none.
"""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from companion.score.engraving.model import PathCommand

_TOKEN = re.compile(r"([MmLlHhVvCcSsQqTtZz])|([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)")
_TRANSFORM = re.compile(r"(\w+)\s*\(([^)]*)\)")
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_ARGUMENTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "Z": 0}
_CIRCLE = 0.5522847498  # control points of a quarter circle: 4 / 3 * (sqrt(2) - 1)


class Matrix(NamedTuple):
    """An affine map: (x, y) goes to (a x + c y + e, b x + d y + f)."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def after(self, inner: Matrix) -> Matrix:
        """Return the map that first does ``inner``, then this one."""
        return Matrix(
            self.a * inner.a + self.c * inner.b,
            self.b * inner.a + self.d * inner.b,
            self.a * inner.c + self.c * inner.d,
            self.b * inner.c + self.d * inner.d,
            self.a * inner.e + self.c * inner.f + self.e,
            self.b * inner.e + self.d * inner.f + self.f,
        )

    def point(self, x: float, y: float) -> tuple[float, float]:
        """Map a point."""
        return self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f

    @property
    def size(self) -> float:
        """Mean scale: how much longer a stroke's width becomes."""
        return math.sqrt(abs(self.a * self.d - self.b * self.c))


def numbers(text: str) -> list[float]:
    """All numbers in an attribute."""
    return [float(match) for match in _NUMBER.findall(text)]


def parse_transform(text: str) -> Matrix:
    """Matrix of a ``transform`` attribute: translate, scale, rotate and matrix."""
    result = Matrix()
    for name, arguments in _TRANSFORM.findall(text):
        result = result.after(_elementary(name, numbers(arguments)))
    return result


def _elementary(name: str, values: list[float]) -> Matrix:
    if name == "translate":
        return Matrix(e=values[0], f=values[1] if len(values) > 1 else 0.0)
    if name == "scale":
        return Matrix(a=values[0], d=values[1] if len(values) > 1 else values[0])
    if name == "rotate":
        turn = math.radians(values[0])
        cosine, sine = math.cos(turn), math.sin(turn)
        rotation = Matrix(cosine, sine, -sine, cosine)
        if len(values) < 3:
            return rotation
        x, y = values[1], values[2]
        return Matrix(e=x, f=y).after(rotation).after(Matrix(e=-x, f=-y))
    if name == "matrix":
        return Matrix(*values)
    raise ValueError(f"transform {name} is not known")


def parse_path(text: str, matrix: Matrix) -> tuple[PathCommand, ...]:
    """Turn path data into absolute ``M``, ``L``, ``C``, ``Q`` and ``Z`` under ``matrix``."""
    return tuple((letter, tuple(_mapped(matrix, values))) for letter, values in _absolute(text))


def _mapped(matrix: Matrix, values: tuple[float, ...]) -> Iterator[float]:
    for place in range(0, len(values), 2):
        yield from matrix.point(values[place], values[place + 1])


def _segments(text: str) -> Iterator[tuple[str, list[float]]]:
    """Split into single segments; repeated arguments repeat the command (after M comes L)."""
    letter, waiting = "", list[float]()
    for command, number in _TOKEN.findall(text):
        if command:
            letter = command
            if command in "Zz":
                yield command, []
            continue
        waiting.append(float(number))
        if len(waiting) == _ARGUMENTS[letter.upper()]:
            yield letter, waiting
            waiting = []
            letter = {"M": "L", "m": "l"}.get(letter, letter)


def _absolute(text: str) -> Iterator[PathCommand]:
    x = y = start_x = start_y = 0.0
    handle: tuple[float, float] | None = None  # last control point, for S and T
    for letter, values in _segments(text):
        kind = letter.upper()
        if kind == "Z":
            x, y, handle = start_x, start_y, None
            yield "Z", ()
            continue
        if kind in "HV":
            values = _full_point(letter, values[0], x, y)
        elif letter.islower():
            values = [v + (y if place % 2 else x) for place, v in enumerate(values)]
        if kind in "ST":
            mirror = (2 * x - handle[0], 2 * y - handle[1]) if handle else (x, y)
            values = [*mirror, *values]
        kind = {"H": "L", "V": "L", "S": "C", "T": "Q"}.get(kind, kind)
        handle = (values[-4], values[-3]) if kind in "CQ" else None
        x, y = values[-2], values[-1]
        if kind == "M":
            start_x, start_y = x, y
        yield kind, tuple(values)


def _full_point(letter: str, value: float, x: float, y: float) -> list[float]:
    return {"H": [value, y], "h": [x + value, y], "V": [x, value], "v": [x, y + value]}[letter]


def ellipse_path(
    centre_x: float, centre_y: float, radius_x: float, radius_y: float, matrix: Matrix
) -> tuple[PathCommand, ...]:
    """An ellipse as four curves."""
    k = _CIRCLE
    unit = (
        ("M", (1.0, 0.0)),
        ("C", (1.0, k, k, 1.0, 0.0, 1.0)),
        ("C", (-k, 1.0, -1.0, k, -1.0, 0.0)),
        ("C", (-1.0, -k, -k, -1.0, 0.0, -1.0)),
        ("C", (k, -1.0, 1.0, -k, 1.0, 0.0)),
        ("Z", ()),
    )
    place = matrix.after(Matrix(radius_x, 0.0, 0.0, radius_y, centre_x, centre_y))
    return tuple((letter, tuple(_mapped(place, values))) for letter, values in unit)


def polygon_path(points: list[float], matrix: Matrix, *, closed: bool) -> tuple[PathCommand, ...]:
    """Points x1 y1 x2 y2 ... joined by straight lines."""
    mapped = [matrix.point(points[i], points[i + 1]) for i in range(0, len(points) - 1, 2)]
    drawn: list[PathCommand] = [("L" if i else "M", point) for i, point in enumerate(mapped)]
    if closed:
        drawn.append(("Z", ()))
    return tuple(drawn)


def bounds(commands: Iterable[PathCommand]) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of all points and control points (0 0 0 0 for no points)."""
    xs: list[float] = []
    ys: list[float] = []
    for _, values in commands:
        xs.extend(values[0::2])
        ys.extend(values[1::2])
    if not xs:
        return 0.0, 0.0, 0.0, 0.0
    return min(xs), min(ys), max(xs), max(ys)
