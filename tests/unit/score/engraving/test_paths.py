"""SVG path data and transforms, checked against fontTools' independent reader."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
import verovio
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from companion.score.engraving.paths import (
    Matrix,
    bounds,
    ellipse_path,
    parse_path,
    parse_transform,
    polygon_path,
)

DATA = Path(verovio.toolkit(False).getResourcePath())


def glyph_paths() -> list[str]:
    files = sorted((DATA / "Leipzig").glob("E[05]*.xml"))
    found = (etree.parse(str(file)).getroot().find("path") for file in files)
    return [path.get("d") for path in found if path is not None]


def test_music_glyphs_are_read_as_an_independent_reader_does():
    pens = pytest.importorskip("fontTools.pens.recordingPen", reason="fontTools is not installed")
    reader = pytest.importorskip("fontTools.svgLib.path")
    assert len(glyph_paths()) > 20
    for text in glyph_paths():
        pen = pens.RecordingPen()
        reader.parse_path(text, pen)
        theirs = [
            coordinate
            for name, points in pen.value
            if name not in ("closePath", "endPath")
            for point in points
            for coordinate in point
        ]
        ours = [value for _, values in parse_path(text, Matrix()) for value in values]
        # fontTools writes out the closing line where a path does not end on its start
        assert len(theirs) >= len(ours)
        assert bounds_of(theirs) == pytest.approx(bounds(parse_path(text, Matrix())))


def bounds_of(values: list[float]) -> tuple[float, float, float, float]:
    xs, ys = values[0::2], values[1::2]
    return min(xs), min(ys), max(xs), max(ys)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("M1 2 3 4", [("M", (1, 2)), ("L", (3, 4))]),
        ("m1 2 3 4", [("M", (1, 2)), ("L", (4, 6))]),
        ("M1,2H5V-3h1v1", [("M", (1, 2)), ("L", (5, 2)), ("L", (5, -3)), ("L", (6, -3)),
                           ("L", (6, -2))]),
        ("M0 0c1 1 2 1 3 0s2-1 3 0", [("M", (0, 0)), ("C", (1, 1, 2, 1, 3, 0)),
                                      ("C", (4, -1, 5, -1, 6, 0))]),
        ("M0 0Q1 1 2 0T4 0", [("M", (0, 0)), ("Q", (1, 1, 2, 0)), ("Q", (3, -1, 4, 0))]),
        ("M1 1l2 0zl0 5", [("M", (1, 1)), ("L", (3, 1)), ("Z", ()), ("L", (1, 6))]),
        ("M.5-.5L1e1 2", [("M", (0.5, -0.5)), ("L", (10, 2))]),
    ],
    ids=["implied line", "relative", "level and upright", "smooth curve", "smooth parabola",
         "after closing", "terse numbers"],
)  # fmt: skip
def test_path_data_becomes_absolute(text: str, expected: list[object]):
    assert list(parse_path(text, Matrix())) == expected


def test_rotation_about_a_point_leaves_that_point():
    matrix = parse_transform("rotate(-90 10,20)")
    assert matrix.point(10, 20) == pytest.approx((10, 20))
    assert matrix.point(11, 20) == pytest.approx((10, 19))


def test_transforms_apply_from_right_to_left():
    assert parse_transform("translate(5, 6) scale(2, 3)").point(1, 1) == pytest.approx((7, 9))


def test_unknown_transform_is_refused():
    with pytest.raises(ValueError, match="skewX"):
        parse_transform("skewX(3)")


numbers = st.floats(-100, 100, allow_nan=False)
matrices = st.builds(Matrix, numbers, numbers, numbers, numbers, numbers, numbers)


@given(matrices, matrices, numbers, numbers)
def test_composed_matrices_map_as_one_after_the_other(
    outer: Matrix, inner: Matrix, x: float, y: float
):
    one_by_one = outer.point(*inner.point(x, y))
    assert outer.after(inner).point(x, y) == pytest.approx(one_by_one, rel=1e-6, abs=1e-3)


def test_ellipse_keeps_to_its_radii():
    assert bounds(ellipse_path(1, 2, 3, 4, Matrix())) == pytest.approx((-2, -2, 4, 6))


def test_circle_of_four_curves_is_round():
    """Middle of each quarter lies within 0.03 % of the radius (a known bound of this fit)."""
    path = ellipse_path(0, 0, 1, 1, Matrix())
    start = path[0][1]
    for _, (x1, y1, x2, y2, x3, y3) in path[1:-1]:
        x = (start[0] + 3 * x1 + 3 * x2 + x3) / 8
        y = (start[1] + 3 * y1 + 3 * y2 + y3) / 8
        assert math.hypot(x, y) == pytest.approx(1.0, abs=3e-4)
        start = (x3, y3)


def test_polygon_is_closed_and_polyline_is_not():
    closed = polygon_path([0, 0, 1, 0, 1, 1], Matrix(), closed=True)
    open_line = polygon_path([0, 0, 1, 0, 1, 1], Matrix(), closed=False)
    assert closed[-1][0] == "Z"
    assert [letter for letter, _ in open_line] == ["M", "L", "L"]
