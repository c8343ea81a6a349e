"""An engraved score as plain frozen values, without Qt and without the engraver.

Conventions
-----------
- The unit is the *staff space*, the distance between two neighbouring lines of a staff (the unit
  of SMuFL too: a music glyph is designed on an em of 4 staff spaces). x grows to the right and y
  downwards, both from the upper left corner of the page.
- What belongs to one measure stands in its :class:`EngravedMeasure`, apart from the noteheads,
  which are kept one by one so that each can be found, clicked and marked.
- Shapes are named tuples and not dataclasses: a page holds thousands of them and crosses a process
  border, and tuples are pickled several times faster.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

LAYOUT_VERSION = 3
"""Part of the key of a page cache: rises when the same score would be engraved differently."""


class Box(NamedTuple):
    """An upright rectangle, in staff spaces."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """The x of the right edge."""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """The y of the lower edge."""
        return self.y + self.height

    @property
    def centre_x(self) -> float:
        """The x of the middle."""
        return self.x + self.width / 2

    @property
    def centre_y(self) -> float:
        """The y of the middle."""
        return self.y + self.height / 2

    def contains(self, x: float, y: float) -> bool:
        """Whether a point lies in the box, edges included."""
        return self.x <= x <= self.right and self.y <= y <= self.bottom

    def united(self, other: Box) -> Box:
        """Return the smallest box around both."""
        x, y = min(self.x, other.x), min(self.y, other.y)
        return Box(x, y, max(self.right, other.right) - x, max(self.bottom, other.bottom) - y)


PathCommand = tuple[str, tuple[float, ...]]
"""``("M", (x, y))``, ``("L", (x, y))``, ``("C", (x1, y1, x2, y2, x, y))``,
``("Q", (x1, y1, x, y))`` or ``("Z", ())``; absolute coordinates."""


class Line(NamedTuple):
    """A straight stroke; ``dash`` and ``gap`` are 0 for an unbroken one."""

    x1: float
    y1: float
    x2: float
    y2: float
    width: float
    dash: float = 0.0
    gap: float = 0.0
    round_ends: bool = False


class Glyph(NamedTuple):
    """A music glyph: its outline from the page's table under the matrix (a b c d x y).

    A point (px, py) of the outline lands on (a px + c py + x, b px + d py + y).
    """

    code: str
    a: float
    b: float
    c: float
    d: float
    x: float
    y: float


class Outline(NamedTuple):
    """A free shape: slur, beam, hairpin, brace. ``stroke_width`` 0 means filled only."""

    commands: tuple[PathCommand, ...]
    stroke_width: float
    filled: bool


class TextRun(NamedTuple):
    """Letters of one style, or one music glyph (``code`` not empty) with its advance width.

    ``size`` is the em of the letters, in staff spaces.
    """

    text: str
    size: float
    bold: bool = False
    italic: bool = False
    code: str = ""
    advance: float = 0.0


class TextAnchor(StrEnum):
    """Which part of a text stands at its x."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


class Text(NamedTuple):
    """A line of text on its baseline."""

    x: float
    y: float
    anchor: TextAnchor
    runs: tuple[TextRun, ...]


Shape = Line | Glyph | Outline | Text


@dataclass(frozen=True, slots=True)
class Notehead:
    """The head of one written note.

    Parameters
    ----------
    note_id
        Id of the note in the prepared score.
    measure_index
        0-based written measure.
    staff
        Counted from 1 at the top of the system.
    box
        Bounds of the head.
    glyphs
        Usually one.
    """

    note_id: str
    measure_index: int
    staff: int
    box: Box
    glyphs: tuple[Glyph, ...]


@dataclass(frozen=True, slots=True)
class StaffBox:
    """One staff inside one measure: the box from its first to its last line."""

    staff: int
    box: Box


@dataclass(frozen=True, slots=True)
class EngravedMeasure:
    """One written measure on the page.

    Parameters
    ----------
    measure_index
        0-based written measure.
    system
        Index of its system on the page.
    box
        From the first line of the first staff to the last line of the last one.
    staves
        From the top.
    shapes
        All that is drawn, without staff lines and noteheads.
    staff_lines
        Kept apart because they are drawn on whole pixels.
    content_left
        The x where notes may begin: behind clef, key and time signature.
    words_above
        Tempo and rehearsal marks above the first staff, not among the other shapes: they may move
        further up where signs of the pianist stand between them and the notes.
    """

    measure_index: int
    system: int
    box: Box
    staves: tuple[StaffBox, ...]
    shapes: tuple[Shape, ...]
    staff_lines: tuple[Line, ...]
    content_left: float
    words_above: tuple[Shape, ...] = ()


@dataclass(frozen=True, slots=True)
class EngravedSystem:
    """One system: measures side by side under a common brace.

    ``box`` goes from staff line to staff line, ``outer_box`` around everything drawn.
    """

    index: int
    first_measure: int
    last_measure: int
    box: Box
    outer_box: Box
    shapes: tuple[Shape, ...]


@dataclass(frozen=True, slots=True)
class EngravedPage:
    """One page, ready to be drawn.

    Parameters
    ----------
    index
        0-based.
    width, height
        Size of the paper.
    glyphs
        Outlines of the glyphs that the page uses, by code: at normal size, origin at (0, 0).
    heading
        Title and composer, on the first page only.
    """

    index: int
    width: float
    height: float
    glyphs: dict[str, tuple[PathCommand, ...]]
    systems: tuple[EngravedSystem, ...]
    measures: tuple[EngravedMeasure, ...]
    noteheads: tuple[Notehead, ...]
    heading: tuple[Text, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class EngravingSummary:
    """What a whole engraving came to."""

    pages: int
    measures: int
    noteheads: int
    engraver: str


class Breaks(StrEnum):
    """Who decides where systems and pages end."""

    AUTOMATIC = "auto"
    AS_WRITTEN = "encoded"


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """How a score is laid out; frozen, so that it can be part of a cache key.

    Parameters
    ----------
    page_width, page_height
        Size of the paper in staff spaces; the defaults are A4 with a staff space of 1.8 mm,
        a usual size for piano music (common practice).
    margin
        White border on all sides, in staff spaces.
    breaks
        Automatic breaks fit any paper; written ones keep the turns of an edition.
    density
        Horizontal spacing from 0 (tight) over 0.5 (usual) to 1 (wide).
    title, composer
        Heading of the first page; without a title there is no heading.
    """

    page_width: float = 210 / 1.8
    page_height: float = 297 / 1.8
    margin: float = 6.0
    breaks: Breaks = Breaks.AUTOMATIC
    density: float = 0.5
    title: str = ""
    composer: str = ""

    @classmethod
    def for_width(cls, width: float, *, ratio: float = 297 / 210) -> Layout:
        """Return a layout for paper of ``width`` staff spaces and ``width * ratio`` height."""
        return cls(page_width=width, page_height=width * ratio)
