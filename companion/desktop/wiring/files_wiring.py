"""Takes from files and to files: import of recorded MIDI files, export of takes and tables."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog

from companion.desktop.main_window import MainWindow
from companion.desktop.message_strip import Tone
from companion.desktop.stand import Stand
from companion.desktop.thread_jobs import ThreadJob
from companion.desktop.wiring.takes_wiring import TakesWiring
from companion.errors import CompanionError
from companion.history.results import Stretch, stretches_of
from companion.progress import Report

if TYPE_CHECKING:
    from companion.practice.imports import ImportOutcome


class FilesWiring(QObject):
    """Joins the file dialogs with the history.

    Signals
    -------
    broke(str, str)
        A fault of the program: sentence and traceback.
    """

    broke = Signal(str, str)

    def __init__(self, window: MainWindow, stand: Stand, takes: TakesWiring, *, zone: str) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._takes = takes
        self._zone = zone
        self._importing: ThreadJob | None = None
        actions = window.actions_by_id
        actions["import_takes"].triggered.connect(self._ask_for_takes)
        actions["export_take"].triggered.connect(self._export_chosen)
        actions["export_table"].triggered.connect(self._export_table)
        window.pages.late_days.when_built(
            lambda page: page.takes_exported.connect(self._export_several)
        )

    def import_paths(self, paths: list[str]) -> None:
        """Import recorded MIDI files as takes of the piece on the stand."""
        history, piece = self._stand.history, self._stand.piece
        if history is None or piece is None:
            return
        if self._importing is not None:
            self._window.messages.show_message(self.tr("An import is running already."))
            return
        piece_id, files = piece.piece_id, [Path(path) for path in paths]

        def work(report: Report) -> ImportOutcome:
            from companion.practice.imports import import_files

            return import_files(history, files, piece_id=piece_id, zone=self._zone, report=report)

        job = ThreadJob(work, self)
        self._importing = job
        progress = self._window.progress
        progress.begin(self.tr("Importing takes"))
        progress.cancel_asked.connect(job.cancel)
        job.progressed.connect(progress.show_progress)
        job.succeeded.connect(self._tell_import)
        job.failed.connect(self._window.messages.show_message)
        job.broke.connect(self.broke)
        for ended in (job.succeeded, job.failed, job.broke, job.cancelled):
            ended.connect(self._import_ended)
        job.start()

    def close(self) -> None:
        """Stop an import; files that were read whole are kept."""
        if self._importing is not None:
            self._importing.cancel()
            self._importing.wait(5.0)

    def _import_ended(self) -> None:
        job, self._importing = self._importing, None
        if job is not None:
            job.deleteLater()
            self._window.progress.end()

    def _tell_import(self, outcome: ImportOutcome) -> None:
        sentences = [refused.sentence for refused in outcome.refused]
        if outcome.saved:
            sentences.insert(0, self.tr("Takes imported: {n}.").format(n=len(outcome.saved)))
            self._stand.takes_changed.emit()
            self._takes.bring_up_to_date()
        tone = Tone.CALM if outcome.saved and not outcome.refused else Tone.ATTENTION
        self._window.messages.show_message(" ".join(sentences), tone)

    def _ask_for_takes(self) -> None:
        paths, _ = QFileDialog.getOpenFileNames(
            self._window,
            self.tr("Import recorded takes"),
            "",
            self.tr("MIDI files (*.mid *.midi);;All files (*)"),
        )
        if paths:
            self.import_paths(paths)

    def _export_chosen(self) -> None:
        take_id = self._takes.chosen_take_id
        if take_id is None:
            self._window.messages.show_message(self.tr("Choose a take in the list first."))
        else:
            self._export_several([take_id])

    def _export_several(self, take_ids: list[str]) -> None:
        history = self._stand.history
        if history is None or not take_ids:
            return
        from companion.practice.exports import export_take_midi

        if len(take_ids) == 1:
            name, _ = QFileDialog.getSaveFileName(
                self._window, self.tr("Export the take"), "take.mid", "MIDI (*.mid)"
            )
            targets = [Path(name)] if name else []
        else:
            folder = QFileDialog.getExistingDirectory(self._window, self.tr("Export the takes"))
            targets = [
                Path(folder) / f"take-{number + 1:02d}.mid" for number in range(len(take_ids))
            ]
            targets = targets if folder else []
        for take_id, target in zip(take_ids, targets, strict=False):
            take = history.take(take_id)
            if take is not None and self._wrote(lambda: export_take_midi(target, take)):  # noqa: B023
                self._tell_written(target)

    def _export_table(self) -> None:
        history, opened = self._stand.history, self._stand.open_piece
        if history is None or opened is None:
            return
        name, _ = QFileDialog.getSaveFileName(
            self._window, self.tr("Export the table of results"), "results.csv", "CSV (*.csv)"
        )
        if not name:
            return
        from companion.practice.exports import export_results_csv

        section_map = self._stand.section_map
        names = {Stretch.of(section): section.name for section in section_map.sections}
        results = history.section_results(
            opened.piece.piece_id, opened.basis, stretches_of(section_map)
        )
        if self._wrote(lambda: export_results_csv(Path(name), results, names)):
            self._tell_written(Path(name))

    def _tell_written(self, path: Path) -> None:
        self._window.messages.show_message(
            self.tr("“{name}” was written.").format(name=path.name), Tone.CALM
        )

    def _wrote(self, act: Callable[[], None]) -> bool:
        try:
            act()
        except CompanionError as error:
            self._window.messages.show_message(str(error))
            return False
        return True
