"""All that one drawing of the map needs, as one value."""

from __future__ import annotations

from dataclasses import dataclass, field

from companion.desktop.palette import Palette
from companion.desktop.section_map.figures import (
    MapFigures,
)
from companion.desktop.section_map.layout import (
    MapLayout,
)
from companion.desktop.section_map.task_lane import TaskLane


@dataclass(frozen=True, slots=True, kw_only=True)
class MapPicture:
    """All that one drawing of the map needs."""

    layout: MapLayout
    figures: MapFigures
    palette: Palette
    selected_id: str | None
    tasks: TaskLane = field(default_factory=TaskLane)
