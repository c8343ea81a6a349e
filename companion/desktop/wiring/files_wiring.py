"""Takes from files and to files: import of recorded MIDI files, export of takes and tables."""

from __future__ import annotations

from collections.abc import Callable, Sequence
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
    from companion.history.model import Take
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
        """Import recorded MIDI files as takes of the piece on the stand, or not filed yet."""
        history, piece = self._stand.history, self._stand.piece
        if history is None:
            self._window.messages.show_message(
                self.tr("There is no practice history to put the takes into.")
            )
            return
        if self._importing is not None:
            self._window.messages.show_message(self.tr("An import is running already."))
            return
        piece_id = piece.piece_id if piece is not None else None
        files = [Path(path) for path in paths]

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
        job.when_over(self._import_ended)
        job.start()

    def use_zone(self, zone: str) -> None:
        """Import takes as played in this time zone (its IANA name) from now on."""
        self._zone = zone

    def close(self) -> None:
        """Stop an import; files that were read whole are kept."""
        if self._importing is not None:
            self._importing.cancel()
            self._importing.wait(5.0)

    def _import_ended(self) -> None:
        job, self._importing = self._importing, None
        if job is not None:
            job.discard()
            self._window.progress.end()

    def _tell_import(self, outcome: ImportOutcome) -> None:
        if outcome.saved:
            self._stand.takes_changed.emit()
            self._takes.bring_up_to_date()
        tone = Tone.CALM if outcome.saved and not outcome.refused else Tone.ATTENTION
        self._window.messages.show_message(" ".join(outcome.sentences), tone)

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
        from companion.practice.exports import take_paths

        takes = [take for take_id in take_ids if (take := history.take(take_id)) is not None]
        if len(takes) == 1:
            proposed = take_paths(Path(), takes)[0].name
            name, _ = QFileDialog.getSaveFileName(
                self._window, self.tr("Export the take"), proposed, "MIDI (*.mid)"
            )
            if name and self._wrote_takes(takes, (Path(name),)):
                self._tell_written(Path(name))
            return
        folder = QFileDialog.getExistingDirectory(self._window, self.tr("Export the takes"))
        if folder and self._wrote_takes(takes, take_paths(Path(folder), takes)):
            self._window.messages.show_message(
                self.tr("{n} takes were written into “{folder}”.").format(
                    n=len(takes), folder=Path(folder).name
                ),
                Tone.CALM,
            )

    def _wrote_takes(self, takes: Sequence[Take], paths: Sequence[Path]) -> bool:
        from companion.practice.exports import export_take_midi

        def write() -> None:
            for take, path in zip(takes, paths, strict=True):
                export_take_midi(path, take)

        return self._wrote(write)

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

        section_map = self._takes.measured_map
        # a section goes before a task over the same stretch
        names = {Stretch.of(section): section.name for section in reversed(section_map.sections)}
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
