"""The marked score as MusicXML: sections, numerals, groups and fingers for other programs."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QFileDialog

from companion.desktop.main_window import MainWindow
from companion.desktop.message_strip import Tone
from companion.desktop.stand import Stand
from companion.desktop.wiring.grouping_wiring import GroupingWiring
from companion.desktop.wiring.harmony_wiring import HarmonyWiring
from companion.errors import CompanionError
from companion.practice.score_export import annotations_of, export_score


class ScoreExportWiring(QObject):
    """Asks for a file and writes into it what is shown of the piece."""

    def __init__(
        self,
        window: MainWindow,
        stand: Stand,
        harmony: HarmonyWiring,
        grouping: GroupingWiring,
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._harmony = harmony
        self._grouping = grouping
        window.actions_by_id["export_score"].triggered.connect(self._ask)

    def _ask(self) -> None:
        piece = self._stand.piece
        if piece is None:
            return
        name, _ = QFileDialog.getSaveFileName(
            self._window,
            self.tr("Export the marked score"),
            f"{piece.title or 'score'}.musicxml".replace("/", " "),
            "MusicXML (*.musicxml)",
        )
        if name:
            self.write(Path(name))

    def write(self, path: Path) -> None:
        """Write the score with the sections, and with numerals and groups where they are shown.

        Fingers that were set are always written.
        """
        score = self._stand.score
        if score is None:
            return
        shown = self._window.actions_by_id
        annotations = annotations_of(
            self._stand.section_map,
            self._harmony.harmony if shown["show_harmony"].isChecked() else None,
            self._grouping.grouping if shown["show_groups"].isChecked() else None,
            dict(self._grouping.fingers.by_id),
        )
        try:
            export_score(path, score, annotations)
        except CompanionError as error:
            self._window.messages.show_message(str(error))
            return
        self._window.messages.show_message(
            self.tr("“{name}” was written.").format(name=path.name), Tone.CALM
        )
