"""Text and single shapes of the engraver's SVG."""

from __future__ import annotations

from pathlib import Path

import pytest
import verovio
from lxml import etree

from companion.score.engraving.model import Box, Glyph, Line, Outline, TextAnchor
from companion.score.engraving.paths import Matrix
from companion.score.engraving.shapes import outline_boxes, read_shape, shape_box
from companion.score.engraving.text import PLAIN, GlyphBook, read_text

BOOK = GlyphBook(Path(verovio.toolkit(False).getResourcePath()), "Leipzig")
NAMESPACES = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'


def element(text: str) -> etree._Element:
    name, rest = text[1:].split(maxsplit=1) if " " in text else (text[1:-1], "")
    return etree.fromstring(f"<{name} {NAMESPACES} {rest}")


def texts(text: str):
    return read_text(element(text), Matrix(), PLAIN, BOOK)


def test_runs_of_one_line_keep_their_order_and_style():
    (line,) = texts(
        '<text x="5" y="7" font-size="0px"><tspan font-weight="bold"><tspan font-size="10px">'
        'Andante</tspan></tspan><tspan font-style="italic" font-size="8px"> quasi</tspan></text>'
    )
    assert (line.x, line.y) == (5, 7)
    assert [(run.text, run.size, run.bold, run.italic) for run in line.runs] == [
        ("Andante", 10, True, False),
        (" quasi", 8, False, True),
    ]


def test_place_of_its_own_begins_a_new_line():
    upper, lower = texts(
        '<text x="0" y="0" font-size="9px">first<tspan x="3" y="20">second</tspan></text>'
    )
    assert (upper.runs[0].text, lower.runs[0].text) == ("first", "second")
    assert (lower.x, lower.y) == (3, 20)


def test_measure_number_without_an_x_stands_at_the_left_edge():
    (line,) = texts('<text y="4" text-anchor="middle"><tspan font-size="3px">12</tspan></text>')
    assert line.x == 0
    assert line.anchor is TextAnchor.MIDDLE


def test_letters_of_no_size_are_not_drawn():
    assert texts('<text x="0" y="0" font-size="0px">hidden</text>') == []


def test_music_character_inside_words_becomes_a_glyph_as_wide_as_the_font_says():
    """The width is that of the font's own table: 314 of 1000 design units, a notehead."""
    (line,) = texts('<text x="0" y="0" font-size="40px">(\ue0a3 = 60)</text>')
    before, glyph, after = line.runs
    assert (before.text, after.text) == ("(", " = 60)")
    assert glyph.code == "E0A3"
    assert glyph.advance == pytest.approx(40 * 0.314)


def test_unknown_glyph_has_no_outline_and_no_width():
    assert BOOK.outline("F8FF") == ()
    assert BOOK.width("F8FF") == 0


def test_arpeggio_glyph_in_a_rotated_group_lies_on_its_side():
    """A quarter turn to the left swaps width and height."""
    outline = outline_boxes({"EAA9": BOOK.outline("EAA9")})
    use = element('<use xlink:href="#EAA9-x" transform="translate(10, 20) scale(0.72, 0.72)"/>')
    upright = read_shape("use", use, Matrix())
    turned = read_shape("use", use, Matrix(0, -1, 1, 0, 0, 0))
    box, other = shape_box(upright, outline), shape_box(turned, outline)
    assert (box.width, box.height) == pytest.approx((other.height, other.width), abs=1e-3)


def test_usual_and_general_transforms_place_a_glyph_alike():
    usual = element('<use xlink:href="#E0A4-x" transform="translate(10, 20) scale(0.72, 0.72)"/>')
    general = element('<use xlink:href="#E0A4-x" transform="translate(10 20)scale(0.72)"/>')
    matrix = Matrix(a=1 / 180, d=1 / 180, e=3, f=4)
    first, second = read_shape("use", usual, matrix), read_shape("use", general, matrix)
    assert isinstance(first, Glyph)
    assert isinstance(second, Glyph)
    assert first.code == second.code == "E0A4"
    assert first[1:] == pytest.approx(second[1:])


def test_straight_path_is_a_line_and_a_bent_one_is_not():
    straight = read_shape("path", element('<path d="M1 2 L5 2" stroke-width="3"/>'), Matrix())
    bent = read_shape("path", element('<path d="M1 2 L5 2 L5 9" stroke-width="3"/>'), Matrix())
    assert straight == Line(1, 2, 5, 2, 3)
    assert isinstance(bent, Outline)


def test_dashes_are_scaled_with_the_line():
    dashed = '<path d="M0 0 L90 0" stroke-width="18" stroke-dasharray="36 72"/>'
    line = read_shape("path", element(dashed), Matrix(a=0.1, d=0.1))
    assert isinstance(line, Line)
    assert (line.dash, line.gap) == pytest.approx((3.6, 7.2))


def test_frame_around_a_rehearsal_mark_is_not_filled():
    frame = element('<rect x="1" y="2" width="3" height="4" stroke-width="1" fill-opacity="0"/>')
    shape = read_shape("rect", frame, Matrix())
    assert isinstance(shape, Outline)
    assert not shape.filled
    assert shape_box(shape, {}) == Box(1, 2, 3, 4)


def test_hairpin_is_an_open_line():
    hairpin = element('<polyline fill="none" stroke-width="2" points="9,1 0,2 9,3 "/>')
    shape = read_shape("polyline", hairpin, Matrix())
    assert isinstance(shape, Outline)
    assert not shape.filled
    assert [letter for letter, _ in shape.commands] == ["M", "L", "L"]
