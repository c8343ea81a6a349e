"""The map, the sheet and the score show the same section."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from companion.desktop.main_window import MainWindow
from companion.desktop.score_view.score_view import ScoreView
from companion.desktop.stand import Stand
from companion.score.model import Measure, Position
from companion.score.sections.section_map import SectionMap

if TYPE_CHECKING:
    from companion.desktop.section_map.sheet import SectionSheet


class MapWiring(QObject):
    """Joins map view, section sheet, score view and the stand."""

    def __init__(self, window: MainWindow, stand: Stand, score_view: ScoreView) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._score_view = score_view
        self.proposal: SectionMap | None = None
        self._chosen_by_hand = False
        self._measures: tuple[Measure, ...] = ()
        stand.map_changed.connect(self._show_map)
        stand.refused.connect(window.messages.show_message)
        stand.undo_changed.connect(window.show_undo)
        view = window.map_view
        view.section_chosen.connect(self._section_chosen)
        view.place_chosen.connect(self._place_chosen)
        view.sheet_asked.connect(self._open_sheet)
        score_view.measure_clicked.connect(self._measure_clicked)
        window.late_sheet.when_built(self._show_on_sheet)
        window.actions_by_id["section_sheet"].toggled.connect(self._sheet_toggled)

    @property
    def in_use(self) -> bool:
        """Whether somebody is in the middle of an edit of the sections."""
        sheet = self._window.late_sheet
        return self._window.map_view.in_use or (sheet.built and sheet.get().in_use)

    def _show_map(self, section_map: SectionMap) -> None:
        score = self._stand.score
        measures = score.measures if score is not None else ()
        view = self._window.map_view
        before = view.selected if measures is self._measures else None
        self._measures = measures
        view.show_map(measures, section_map)
        if view.selected is None and before is not None:  # its place has other sections now
            there = section_map.section_at(before.start)
            view.select(there.section_id if there is not None else None)
        if view.selected is None and section_map.leaves:
            self._chosen_by_hand = False  # a fresh page is not tinted
            view.select(section_map.leaves[0].section_id)
        self._show_selected()

    def _show_selected(self) -> None:
        section = self._window.map_view.selected
        self._window.late_sheet.if_built(self._show_on_sheet)
        if section is None or not self._chosen_by_hand:
            self._score_view.highlight_section(None)
        else:
            self._score_view.highlight_section(section.start, section.end)

    def _show_on_sheet(self, sheet: SectionSheet) -> None:
        score = self._stand.score
        sheet.show_section(self._window.map_view.selected, score.measures if score else ())

    def _section_chosen(self, _section_id: str) -> None:
        self._chosen_by_hand = True
        self._show_selected()

    def _place_chosen(self, position: Position) -> None:
        self._score_view.show_measure(position.measure_index)

    def _measure_clicked(self, measure_index: int) -> None:
        section = self._stand.section_map.section_at(Position(measure_index))
        if section is not None:
            self._window.map_view.select(section.section_id)
            self._window.map_view.mark_split_place(Position(measure_index))
            self._chosen_by_hand = True
            self._show_selected()

    def _open_sheet(self, _section_id: str) -> None:
        self._show_selected()
        self._window.actions_by_id["section_sheet"].setChecked(True)
        self._window.sheet.focus_words()

    def _sheet_toggled(self, shown: bool) -> None:
        if shown:
            self._show_selected()
