"""The map, the sheet and the score show and edit the same sections."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from companion.desktop.main_window import MainWindow
from companion.desktop.score_view.score_view import ScoreView
from companion.desktop.section_map.editing import MapEditor
from companion.desktop.section_map.layout import Lane
from companion.desktop.section_map.sheet import SheetWords
from companion.desktop.stand import Stand
from companion.listening.definitions import definition
from companion.score.model import Position
from companion.score.sections.section_map import Section, SectionMap

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
        self._editor = MapEditor(self)
        self._editor.edited.connect(stand.change_map)
        self._editor.refused.connect(window.messages.show_message)
        stand.map_changed.connect(self._show_map)
        stand.refused.connect(window.messages.show_message)
        stand.undo_changed.connect(window.show_undo)
        self._wire_map()
        window.late_sheet.when_built(self._wire_sheet)
        self._wire_actions()

    def _wire_map(self) -> None:
        view = self._window.map_view
        view.section_chosen.connect(self._section_chosen)
        view.place_chosen.connect(self._place_chosen)
        view.border_moved.connect(self._editor.move_border)
        view.border_nudged.connect(self._editor.nudge_end)
        view.renamed.connect(self._editor.rename)
        view.sheet_asked.connect(self._open_sheet)
        view.show_definitions(
            {
                Lane.ACCURACY: definition("accuracy").sentence,
                Lane.TEMPO: definition("running_tempo_quarters_per_minute").sentence,
                Lane.LAST_PLAYED: self.tr("The last day on which a take touched the section."),
                Lane.TAKES: self.tr("How many takes touched the section."),
            }
        )
        self._score_view.measure_clicked.connect(self._measure_clicked)

    def _wire_sheet(self, sheet: SectionSheet) -> None:
        self._show_on_sheet(sheet)
        sheet.renamed.connect(self._editor.rename)
        sheet.written.connect(self._written)
        sheet.border_moved.connect(self._editor.move_border)

    def _wire_actions(self) -> None:
        actions = self._window.actions_by_id
        actions["undo"].triggered.connect(self._stand.undo)
        actions["redo"].triggered.connect(self._stand.redo)
        actions["split"].triggered.connect(self._split)
        actions["merge"].triggered.connect(self._merge)
        actions["nest"].triggered.connect(self._nest)
        actions["unnest"].triggered.connect(self._unnest)
        actions["border_earlier"].triggered.connect(self._border_earlier)
        actions["border_later"].triggered.connect(self._border_later)
        actions["propose_map"].triggered.connect(self._propose)
        actions["section_sheet"].toggled.connect(self._sheet_toggled)

    def _show_map(self, section_map: SectionMap) -> None:
        score = self._stand.score
        measures = score.measures if score is not None else ()
        self._editor.hold(measures, section_map)
        view = self._window.map_view
        view.show_map(measures, section_map)
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

    def _written(self, words: SheetWords) -> None:
        self._editor.write(
            words.section_id,
            purpose=words.purpose,
            how_to_play=words.how_to_play,
            target_quarters_per_minute=words.target_quarters_per_minute,
        )

    def _selected(self) -> Section | None:
        section = self._window.map_view.selected
        if section is None and self._stand.score is not None:
            self._window.messages.show_message(self.tr("Choose a section on the map first."))
        return section

    def _split(self) -> None:
        section = self._selected()
        if section is not None:
            self._editor.split(section, self._window.map_view.split_place)

    def _merge(self) -> None:
        section = self._selected()
        if section is not None:
            self._editor.merge(section)

    def _nest(self) -> None:
        section = self._selected()
        if section is not None:
            self._editor.nest(section)

    def _unnest(self) -> None:
        section = self._selected()
        if section is not None:
            self._editor.unnest(section)

    def _border_earlier(self) -> None:
        section = self._selected()
        if section is not None:
            self._editor.nudge_end(section.section_id, -1)

    def _border_later(self) -> None:
        section = self._selected()
        if section is not None:
            self._editor.nudge_end(section.section_id, 1)

    def _propose(self) -> None:
        if self.proposal is not None:
            self._editor.replace_all(self.proposal)
