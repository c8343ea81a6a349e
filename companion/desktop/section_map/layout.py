"""Where everything on the map lies: measures along, levels and lanes down. No painting here.

All measures are equally wide; a place inside a measure lies in proportion to its offset.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import cached_property

from PySide6.QtCore import QRectF

from companion.score.model import Measure, Position
from companion.score.sections.section_map import Section, SectionMap

GUTTER_PIXELS = 92
MARGIN_PIXELS = 24
RULER_PIXELS = 18
RETURNS_PIXELS = 12
BRACKET_PIXELS = 21
BAND_PIXELS = 32
TASK_PIXELS = 15
LANE_PIXELS = 18
STRIP_PIXELS = 18
DEPTH_PIXELS = 34
GAP_PIXELS = 6
BORDER_REACH_PIXELS = 5


class Lane(StrEnum):
    """The rows under the band, from above."""

    KEYS = "keys"
    WORK = "work"
    ACCURACY = "accuracy"
    TEMPO = "tempo"
    LAST_PLAYED = "last played"
    TAKES = "takes"


USUAL_LANES: tuple[Lane, ...] = tuple(lane for lane in Lane if lane is not Lane.KEYS)
"""Those that are always there; the key plan comes with the numerals under the score."""

DEPTH, ERRORS = "known since", "errors"
"""Names of the two that are no plain rows: the lane of depths, and the strip of errors."""

TAKE_LANES: tuple[Lane, ...] = (Lane.ACCURACY, Lane.TEMPO, Lane.LAST_PLAYED, Lane.TAKES)
"""Those that are empty before anything was played."""


@dataclass(frozen=True, slots=True)
class MapRow:
    """A level of sections and the rectangle of its row; the lowest level is the band."""

    sections: tuple[Section, ...]
    top: float
    height: float
    is_band: bool


@dataclass(frozen=True)
class MapLayout:
    """The geometry of one drawing of the map.

    Parameters
    ----------
    measures
        All measures of the score.
    section_map
        What is drawn.
    width_pixels
        Width of the widget.
    with_lanes
        False leaves only ruler, brackets and band.
    lanes
        The rows under the band.
    task_rows
        How many rows the tasks need, between band and lanes.
    with_depth, with_errors
        Whether there is a lane of depths under the others, and a strip of errors at the foot.
    """

    measures: tuple[Measure, ...]
    section_map: SectionMap
    width_pixels: float
    with_lanes: bool = True
    lanes: tuple[Lane, ...] = USUAL_LANES
    task_rows: int = 0
    with_depth: bool = False
    with_errors: bool = True

    @property
    def left(self) -> float:
        """Where the first measure begins."""
        return MARGIN_PIXELS + (GUTTER_PIXELS if self.with_lanes else 0)

    @cached_property
    def measure_width(self) -> float:
        """Width of each measure."""
        usable = self.width_pixels - self.left - MARGIN_PIXELS
        return max(0.1, usable / max(1, len(self.measures)))

    def x_at(self, position: Position) -> float:
        """Place of a position along the map."""
        index = min(position.measure_index, len(self.measures))
        within = 0.0
        if index < len(self.measures) and position.offset_quarters:
            duration = self.measures[index].duration_quarters
            within = float(min(Fraction(1), position.offset_quarters / duration)) if duration else 0
        return self.left + (index + within) * self.measure_width

    def measure_at(self, x: float) -> int:
        """Index of the measure at a place along the map, clipped to the piece."""
        index = int((x - self.left) // self.measure_width)
        return max(0, min(len(self.measures) - 1, index))

    def barline_at(self, x: float) -> Position:
        """The nearest beginning of a measure (or the end of the piece)."""
        index = round((x - self.left) / self.measure_width)
        return Position(max(0, min(len(self.measures), index)))

    @cached_property
    def leaves(self) -> tuple[Section, ...]:
        """The sections without children: they tile the piece and form the band."""
        return self.section_map.leaves

    @cached_property
    def rows(self) -> tuple[MapRow, ...]:
        """Bracket rows from the outermost level down, then the band."""
        leaves = self.leaves
        leaf_ids = {section.section_id for section in leaves}
        depths: dict[str, int] = {}
        for section in self.section_map.sections:  # parents come before their children
            parent_id = section.parent_id
            depths[section.section_id] = 0 if parent_id is None else depths[parent_id] + 1
        deepest = max((depths[section_id] for section_id in leaf_ids), default=0)
        rows = []
        top = float(RULER_PIXELS + RETURNS_PIXELS + GAP_PIXELS)
        for level in range(deepest):
            inside = tuple(
                section
                for section in self.section_map.sections
                if section.section_id not in leaf_ids and depths[section.section_id] == level
            )
            rows.append(MapRow(inside, top, BRACKET_PIXELS, is_band=False))
            top += BRACKET_PIXELS
        rows.append(MapRow(leaves, top, BAND_PIXELS, is_band=True))
        return tuple(rows)

    @property
    def returns_foot(self) -> float:
        """Where the arcs of returns and jumps stand: just above the sections."""
        return self.rows[0].top - 2.0

    @property
    def band_top(self) -> float:
        """Upper edge of the band."""
        return self.rows[-1].top

    @property
    def tasks_top(self) -> float:
        """Upper edge of the first row of tasks."""
        return self.band_top + BAND_PIXELS + GAP_PIXELS

    @property
    def lanes_top(self) -> float:
        """Upper edge of the first lane."""
        return self.tasks_top + self.task_rows * TASK_PIXELS

    def lane_top(self, lane: Lane) -> float:
        """Upper edge of a lane."""
        return self.lanes_top + self.lanes.index(lane) * LANE_PIXELS

    @property
    def take_lanes(self) -> tuple[Lane, ...]:
        """The lanes here that are empty before anything was played."""
        return tuple(lane for lane in self.lanes if lane in TAKE_LANES)

    @property
    def depth_top(self) -> float:
        """Upper edge of the lane of depths."""
        return self.lanes_top + len(self.lanes) * LANE_PIXELS + GAP_PIXELS / 2

    @property
    def depth_pixels(self) -> float:
        """Height of the lane of depths; 0 without one."""
        return DEPTH_PIXELS if self.with_depth and self.with_lanes else 0

    @property
    def strip_top(self) -> float:
        """Upper edge of the strip of errors per measure."""
        return self.depth_top + (self.depth_pixels + GAP_PIXELS if self.depth_pixels else 0)

    @property
    def strip_pixels(self) -> float:
        """Height of the strip of errors; 0 without one."""
        return STRIP_PIXELS if self.with_errors and self.with_lanes else 0

    @property
    def height_pixels(self) -> float:
        """Height that the whole drawing needs."""
        if not self.with_lanes:
            return self.band_top + BAND_PIXELS + GAP_PIXELS
        return self.strip_top + self.strip_pixels + GAP_PIXELS

    def rect_of(self, section: Section, row: MapRow) -> QRectF:
        """Rectangle of a section in its row."""
        left, right = self.x_at(section.start), self.x_at(section.end)
        return QRectF(left, row.top, right - left, row.height)

    def section_at(self, x: float, y: float) -> Section | None:
        """The section under a point: a bracket where one is, else the leaf above the lanes."""
        for row in self.rows:
            if row.is_band or row.top <= y < row.top + row.height:
                for section in row.sections:
                    if self.x_at(section.start) <= x < self.x_at(section.end):
                        return section
        return None

    def border_at(self, x: float, y: float) -> Position | None:
        """The border under a point of the band or of a bracket, for dragging.

        The end of the piece is no border: it cannot be moved.
        """
        for row in reversed(self.rows):
            if row.top <= y < row.top + row.height:
                for section in row.sections:
                    end = self.x_at(section.end)
                    is_last = section.end.measure_index >= len(self.measures)
                    if abs(x - end) <= BORDER_REACH_PIXELS and not is_last:
                        return section.end
        return None
