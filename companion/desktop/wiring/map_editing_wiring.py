"""Sections are edited on the map, on the sheet and by the actions of the menu."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt

from companion.desktop.message_strip import Tone
from companion.desktop.section_map.anew_dialog import AnewDialog
from companion.desktop.section_map.editing import MapEditor
from companion.desktop.section_map.layout import Lane
from companion.listening.definitions import definition
from companion.practice.proposals import TAKEN_PROPOSAL, text_to_proposal
from companion.score.sections.merging import merge_proposal
from companion.score.sections.section_map import SectionMap

if TYPE_CHECKING:
    from companion.desktop.main_window import MainWindow
    from companion.desktop.section_map.sheet import SectionSheet, SheetWords
    from companion.desktop.stand import Stand
    from companion.desktop.wiring.map_wiring import MapWiring
    from companion.score.sections.section_map import Section


class MapEditingWiring(QObject):
    """Turns what is done to sections into edits of the stand."""

    def __init__(self, window: MainWindow, stand: Stand, map_wiring: MapWiring) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._map = map_wiring
        self._editor = MapEditor(self)
        self._editor.edited.connect(stand.change_map)
        self._editor.refused.connect(window.messages.show_message)
        stand.with_map(self._hold_map)
        self._wire_map()
        window.late_sheet.when_built(self._wire_sheet)
        self._wire_actions()

    def _wire_map(self) -> None:
        view = self._window.map_view
        view.border_moved.connect(self._editor.move_border)
        view.border_nudged.connect(self._editor.nudge_end)
        view.renamed.connect(self._editor.rename)
        view.show_definitions(
            {
                Lane.KEYS: self.tr("The key plan: in which key the piece is where."),
                Lane.WORK: self.tr(
                    "How hard the sections are, 1 for the hardest: estimated from the score at the "
                    "target tempo, then corrected by what practice shows."
                ),
                Lane.ACCURACY: definition("accuracy").sentence,
                Lane.TEMPO: definition("running_tempo_quarters_per_minute").sentence,
                Lane.LAST_PLAYED: self.tr("The last day on which a take touched the section."),
                Lane.TAKES: self.tr("How many takes touched the section."),
            }
        )

    def _wire_sheet(self, sheet: SectionSheet) -> None:
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

    def _hold_map(self, section_map: SectionMap) -> None:
        score = self._stand.score
        self._editor.hold(score.measures if score is not None else (), section_map)

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
        """Show what a new proposal would change; nothing changes before that is said."""
        score, proposal = self._stand.score, self._map.proposal
        if score is None:
            return
        if proposal is None or self._stand.map_is_preliminary:
            self._window.messages.show_message(
                self.tr("The form is still being looked for. Try again in a moment."), Tone.CALM
            )
            return
        now = self._stand.section_map
        joined = merge_proposal(now, self._grown_from(), proposal)
        dialog = AnewDialog(score.measures, now, joined, proposal, self._window)
        dialog.taken.connect(self._take_proposal)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.open()

    def _grown_from(self) -> SectionMap:
        """The proposal that the sections grew out of; an empty map when it is not known."""
        piece, history = self._stand.piece, self._stand.history
        text = self._stand.document(TAKEN_PROPOSAL)
        if text:
            return text_to_proposal(text)
        first = None
        if piece is not None and history is not None:
            first = history.section_map(piece.piece_id, version=1)
        return first or self._map.proposal or SectionMap(sections=())

    def _take_proposal(self, section_map: SectionMap) -> None:
        if self._map.proposal is not None:
            self._stand.take_proposal(
                section_map, self._map.proposal, self.tr("Propose sections anew")
            )
