"""What lies under a point of the map, in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from companion.desktop.section_map import wording
from companion.desktop.section_map.layout import LANE_PIXELS, Lane, MapLayout

if TYPE_CHECKING:
    from collections.abc import Mapping

    from companion.desktop.section_map.figures import MapFigures
    from companion.desktop.section_map.overlay import Overlay
    from companion.desktop.section_map.task_lane import TaskLane
    from companion.score.sections.section_map import Section


@dataclass(frozen=True, slots=True, kw_only=True)
class MapTeller:
    """All that one answer needs; ``definitions`` are those of the lanes."""

    layout: MapLayout
    figures: MapFigures
    overlay: Overlay
    definitions: Mapping[Lane, str]
    tasks: TaskLane

    def words_at(self, x: float, y: float) -> str:
        """What lies under a point; a lane's name gives its definition."""
        layout = self.layout
        if self.tasks.is_name_at(layout, x, y):
            # here: the first painting needs no definitions
            from companion.listening.definitions import TASK

            return TASK.sentence
        task = self.tasks.task_at(layout, x, y)
        if task is not None:
            return task.sentence
        if self.figures.depth is not None:
            told = self.figures.depth.words_at(layout, x, y)
            if told is not None:
                return told
        if layout.with_lanes and x < layout.left:
            lanes = [lane for lane in layout.lanes if 0 <= y - layout.lane_top(lane) < LANE_PIXELS]
            if lanes:
                return self.definitions.get(lanes[0], "")
        if 0 <= y - layout.strip_top < layout.strip_pixels:
            measure = layout.measures[layout.measure_at(x)]
            found = [f for f in self.figures.measures if f.measure_index == measure.index]
            return wording.measure_sentence(measure, found[0] if found else None)
        leap = self.overlay.leap_at(layout, x, y)
        if leap is not None:
            return wording.leap_sentence(leap, layout.measures)
        if layout.with_lanes and Lane.KEYS in layout.lanes:
            top = layout.lane_top(Lane.KEYS)
            if top <= y < top + LANE_PIXELS:
                return wording.key_sentence(self.figures.key_at(layout.measure_at(x)))
        section = layout.section_at(x, y)
        if section is None:
            return ""
        text = self.sentence_of(section)
        if section.why:
            text += "\n" + wording.tr("Proposed because of: {why}").format(why=section.why)
        return text

    def sentence_of(self, section: Section) -> str:
        """A section and its figures in words."""
        figures = self.figures.of_section(section.section_id)
        told = wording.section_sentence(section, figures, self.layout.measures, self.figures.today)
        work = self.figures.work_of(section.section_id)
        if work is not None:
            told = f"{told} {wording.work_sentence(work)}"
        depth = self.figures.depth.of_section(section.section_id) if self.figures.depth else None
        return f"{told} {depth.sentence}" if depth is not None else told

    def description(self, selected: Section | None) -> str:
        """What the map tells readers of the screen: the selected section, or how many there are."""
        if not self.layout.measures:
            return wording.tr("No piece is open.")
        if self.tasks.chosen is not None:
            return self.tasks.chosen.sentence
        if selected is not None:
            return f"{self.sentence_of(selected)} {self._tasks_inside(selected)}".rstrip()
        return wording.tr("{count} sections. Choose one with the arrow keys.").format(
            count=len(self.layout.section_map.sections)
        )

    def _tasks_inside(self, section: Section) -> str:
        """How many tasks a section without parts has, for readers of the screen."""
        if section not in self.layout.leaves or not self.layout.task_rows:
            return ""
        count = sum(section.contains(task.start) for task in self.tasks.tasks)
        if not count:
            return ""
        told = wording.tr("{n} task inside") if count == 1 else wording.tr("{n} tasks inside")
        return told.format(n=count) + wording.tr(": the arrow key Down.")
