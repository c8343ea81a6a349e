"""Opening a score without waiting: prepared, then read and engraved side by side, then its form.

Opening another score while one is loading stops the first.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from companion.desktop.jobs import Jobs, RunningJob
from companion.practice import loading
from companion.practice.kept import LoadedScore, score_key
from companion.practice.lent_score import lend_loaded, with_score
from companion.practice.loading import PreparedFile
from companion.score.engraving.model import EngravedPage, EngravingSummary, Layout


class Opening(QObject):
    """Loads one score at a time.

    Signals
    -------
    progressed(Progress)
        How far it is.
    prepared(PreparedFile)
        The file is a score; its pages and notes will follow.
    page_engraved(EngravedPage)
        A page can be shown.
    pages_finished(EngravingSummary)
        All pages have come.
    score_read(LoadedScore)
        The notes are known, and sections as far as the printed signs tell.
    form_found(LoadedScore, SectionMap)
        The sections that its form suggests, for a score that was read without.
    ended()
        Everything has come, or nothing more will.
    failed(str)
        The sentence that says why the file cannot be used.
    cancelled()
        The person stopped it.
    """

    progressed = Signal(object)
    prepared = Signal(object)
    page_engraved = Signal(object)
    pages_finished = Signal(object)
    score_read = Signal(object)
    form_found = Signal(object, object)
    ended = Signal()
    failed = Signal(str)
    cancelled = Signal()

    def __init__(
        self,
        reading: Jobs,
        engraving: Jobs,
        analysing: Jobs,
        cache_folder: Path,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._reading = reading
        self._engraving = engraving
        self._analysing = analysing
        self._cache_folder = cache_folder
        self._running: list[RunningJob] = []
        self._layout = Layout()

    @property
    def loading(self) -> bool:
        """Whether something is still to come."""
        return bool(self._running)

    def open(self, path: str, part: str | None, layout: Layout) -> None:
        """Begin to load a score; one that is being loaded is forgotten."""
        self._forget()
        self._layout = layout
        job = self._start(
            self._reading, self._loaded, loading.load_file, path, part, self._cache_folder
        )
        job.part_arrived.connect(self._part)

    def bring_rest(self, loaded: LoadedScore, layout: Layout, first_page: int) -> None:
        """Bring what lacks of a score from the cache: pages from ``first_page`` on, its form."""
        self._forget()
        self._layout = layout
        self._engrave(PreparedFile.of(loaded), first_page)
        self._look_for_form(loaded)

    def cancel(self) -> None:
        """Stop loading."""
        if self._running:
            self._forget()
            self.cancelled.emit()
            self.ended.emit()

    def _start(
        self,
        jobs: Jobs,
        then: Callable[..., None],
        function: Callable[..., object],
        *arguments: object,
    ) -> RunningJob:
        job = jobs.run(function, *arguments)
        job.progressed.connect(self.progressed)
        job.failed.connect(self._failed)
        job.broken.connect(self._failed)
        job.succeeded.connect(then)
        job.succeeded.connect(self._one_ended)  # last: ``then`` may have started more
        self._running.append(job)
        return job

    def _forget(self) -> None:
        running, self._running = self._running, []
        for job in running:
            job.forget()

    def _part(self, part: PreparedFile | LoadedScore) -> None:
        if isinstance(part, PreparedFile):
            self.prepared.emit(part)
            self._engrave(part, 0)
        else:
            self._look_for_form(part)  # begun first: whoever is told can see that it will come
            self.score_read.emit(part)

    def _loaded(self, _: None) -> None:
        """Everything came in parts."""

    def _look_for_form(self, loaded: LoadedScore) -> None:
        if not loaded.form_known:
            read = loaded.read
            self._start(
                self._analysing,
                lambda sections: self.form_found.emit(loaded, sections),
                with_score,
                loading.sections_of_form,
                lend_loaded(loaded, self._cache_folder),
                score_key(read.score_hash, read.part or None),
                self._cache_folder,
            )

    def _engrave(self, file: PreparedFile, first_page: int) -> None:
        job = self._start(
            self._engraving,
            self._pages_done,
            loading.engrave_file,
            file,
            self._layout,
            self._cache_folder,
            first_page,
        )
        job.part_arrived.connect(self._page)

    def _page(self, page: EngravedPage) -> None:
        self.page_engraved.emit(page)

    def _pages_done(self, summary: EngravingSummary) -> None:
        self.pages_finished.emit(summary)

    def _one_ended(self) -> None:
        self._running = [job for job in self._running if not job.over]
        if not self._running:
            self.ended.emit()

    def _failed(self, sentence: str) -> None:
        self._forget()
        self.failed.emit(sentence)
        self.ended.emit()
