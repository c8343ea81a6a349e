"""What the hand does to the map, turned into edits of the value.

The editor knows the map and the selection, asks :mod:`companion.score.sections.edits` for the new
map and hands it on with the name of the edit; storing and undoing is not its business.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from PySide6.QtCore import QObject, Signal

from companion.errors import EditRefused
from companion.score.model import Measure, Position
from companion.score.sections import edits as section_edits
from companion.score.sections.section_map import Section, SectionMap

Edit = Callable[[SectionMap], SectionMap]


class MapEditor(QObject):
    """Edits one section map.

    Signals
    -------
    edited(SectionMap, str)
        The new map and what was done, for the undo menu.
    refused(str)
        The sentence that says why an edit makes no sense.
    """

    edited = Signal(object, str)
    refused = Signal(str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._section_map = SectionMap(sections=())
        self._measures: tuple[Measure, ...] = ()

    def hold(self, measures: tuple[Measure, ...], section_map: SectionMap) -> None:
        """Work on this map from now on."""
        self._measures = measures
        self._section_map = section_map

    def split(self, section: Section, cursor: Position | None) -> None:
        """Split at the cursor where it lies inside the section, else in its middle."""
        at = cursor
        if at is None or not section.start < at < section.end:
            first = section.start.measure_index
            last = section.end.measure_index + (1 if section.end.offset_quarters else 0)
            at = Position((first + last) // 2, Fraction(0))
        position = at
        self._try(
            self.tr("Split section"),
            lambda section_map: section_edits.split(section_map, section.section_id, position),
        )

    def merge(self, section: Section) -> None:
        """Make one of a section and the next."""
        self._try(
            self.tr("Merge sections"),
            lambda section_map: section_edits.merge(section_map, section.section_id),
        )

    def rename(self, section_id: str, name: str) -> None:
        """Give another name."""
        self._try(
            self.tr("Rename section"),
            lambda section_map: section_edits.rename(section_map, section_id, name),
        )

    def nest(self, section: Section) -> None:
        """Put a section and the next one under a larger one."""
        following = self._section_map.next_sibling(section.section_id)
        if following is None:
            self.refused.emit(self.tr("There is no next section to group this one with."))
            return
        name = f"{section.name} – {following.name}"[: section_edits.LONGEST_NAME]
        self._try(
            self.tr("Group sections"),
            lambda section_map: section_edits.nest(
                section_map, section.section_id, following.section_id, name
            ),
        )

    def unnest(self, section: Section) -> None:
        """Take a group apart: the section itself if it is one, else the one around it."""
        is_group = bool(self._section_map.children(section.section_id))
        group_id = section.section_id if is_group else section.parent_id
        if group_id is None:
            self.refused.emit(self.tr("This section is not part of a group."))
            return
        self._try(
            self.tr("Take group apart"),
            lambda section_map: section_edits.unnest(section_map, group_id),
        )

    def move_border(self, border: Position, to: Position) -> None:
        """Move a border to another place."""
        self._try(
            self.tr("Move border"),
            lambda section_map: section_edits.move_border(section_map, border, to),
        )

    def nudge_end(self, section_id: str, measures: int) -> None:
        """Move the end of a section by whole measures."""
        end = self._section_map.section(section_id).end
        index = end.measure_index + measures
        if measures < 0 and end.offset_quarters:
            index = end.measure_index
        self.move_border(end, Position(index))

    def write(
        self,
        section_id: str,
        *,
        purpose: str,
        how_to_play: str,
        target_quarters_per_minute: float | None,
    ) -> None:
        """Store the words and the target of a section."""
        section = self._section_map.section(section_id)

        def edit(section_map: SectionMap) -> SectionMap:
            if purpose != section.purpose:
                section_map = section_edits.set_purpose(section_map, section_id, purpose)
            if how_to_play != section.how_to_play:
                section_map = section_edits.set_how_to_play(section_map, section_id, how_to_play)
            if target_quarters_per_minute != section.target_quarters_per_minute:
                section_map = section_edits.set_target(
                    section_map, section_id, target_quarters_per_minute
                )
            return section_map

        self._try(self.tr("Write on the section sheet"), edit)

    def _try(self, doing: str, edit: Edit) -> None:
        try:
            changed = edit(self._section_map)
        except EditRefused as refusal:
            self.refused.emit(str(refusal))
            return
        if changed != self._section_map:
            self._section_map = changed
            self.edited.emit(changed, doing)
