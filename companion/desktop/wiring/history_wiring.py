"""What the window does when the history cannot be used, is found damaged, or was not written."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QFileDialog

from companion.desktop.message_strip import Tone
from companion.desktop.thread_jobs import ThreadJob
from companion.errors import CompanionError, HistoryDamaged, HistoryUnavailable
from companion.practice.history_care import LastCopy, last_copy, look_after, replace_damaged

if TYPE_CHECKING:
    from companion.desktop.main_window import MainWindow
    from companion.desktop.stand import Stand
    from companion.desktop.unkept_dialog import UnkeptDialog
    from companion.desktop.wiring.further_wiring import FurtherWiring
    from companion.desktop.wiring.shelf_wiring import ShelfWiring
    from companion.history.model import Take
    from companion.practice.history_care import LookedAfter, OpenedHistory
    from companion.progress import Report
    from companion.storage.history_file import HistoryFile

_WRITE_SECONDS = 2.0
_PUT_AWAY_SECONDS = 10.0


class HistoryWiring(QObject):
    """Keeps what is played from being lost, whatever becomes of the history file.

    Parameters
    ----------
    opened
        What was opened at the start; None when nothing at all could be written.
    path
        The real history, for which ``opened`` may be only a stand-in.

    Signals
    -------
    broke(str, str)
        A fault of the program: sentence and traceback.
    """

    broke = Signal(str, str)

    def __init__(
        self,
        window: MainWindow,
        stand: Stand,
        shelf: ShelfWiring,
        further: FurtherWiring,
        *,
        opened: OpenedHistory | None,
        path: Path,
        cache_folder: Path,
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._shelf = shelf
        self._further = further
        self._path = path
        self._cache_folder = cache_folder
        self._copy = opened.copy if opened is not None else None
        self._asks = True
        self._damage_told = False
        self._when_free_do: list[Callable[[], object]] = []
        self._job: ThreadJob | None = None
        self._dialog: UnkeptDialog | None = None
        self._began_with: tuple[str, ...] = ()
        if stand.history is not None and self._stands_in:
            self._began_with = stand.history.take_ids()
        self._show_notice()

    @property
    def _stands_in(self) -> bool:
        return self._stand.history is not None and self._stand.history.path != self._path

    # at the start and beside the playing

    def tell_trouble(self, opened: OpenedHistory) -> None:
        """Say why the history is only stood in for, and offer what can be done."""
        if opened.damaged:
            self._damage_told = True
            self._offer(opened.sentence)
        else:
            self._window.messages.show_message(opened.sentence)

    def damage_met(self) -> None:
        """Offer the last good copy at once: the file was found damaged while it was used."""
        if not self._damage_told and not self._stands_in:
            self._damage_told = True
            self._when_free(
                lambda: self._run(lambda _report: last_copy(self._path), self._copy_found)
            )

    def look_after(self, today: date) -> None:
        """Make the copy of the day, in a thread that may wait for the disk."""
        history = self._stand.history
        if history is not None and not self._stands_in and self._job is None:
            self._run(
                lambda _report: look_after(history, today, self._cache_folder), self._looked_after
            )

    def _looked_after(self, looked_after: LookedAfter) -> None:
        if looked_after.brought:
            self._stand.takes_changed.emit()
            self._further.takes.bring_up_to_date()
        if looked_after.sentence and not self._damage_told:
            tone = Tone.CALM if looked_after.brought else Tone.ATTENTION
            self._window.messages.show_message(looked_after.sentence, tone)

    def _copy_found(self, copy: LastCopy | None) -> None:
        self._copy = copy
        there = copy.sentence if copy is not None else self.tr("There is no copy of it.")
        self._offer(
            f"{HistoryDamaged(self._path)} {there} "
            + self.tr("What you play meanwhile is not lost.")
        )

    def _offer(self, sentence: str) -> None:
        button = self.tr("Put the copy back") if self._copy else self.tr("Begin a new history")
        self._window.messages.show_message(
            sentence, button=button, act=self.put_back, comes_back=True
        )

    def put_back(self) -> None:
        """Put the last good copy in the place of the damaged history, and go on with it."""
        self._when_free(self._put_in_order)

    def _put_in_order(self) -> None:
        history, copy = self._stand.history, self._copy
        if history is None:
            return
        piano, journal = self._further.piano, self._further.journal
        piano.end_take()
        if journal is None:
            return
        journal.flush(_WRITE_SECONDS)  # into the stand-in; a damaged file may refuse it

        def work(_report: Report) -> int:
            with journal.held():
                return replace_damaged(history, self._path, copy, self._cache_folder)

        progress = self._window.progress
        progress.begin(self.tr("Putting the history in order"))
        job = self._run(work, self._put_back)
        job.failed.connect(self._offer)  # to be tried again, when there is room on the disk
        job.when_over(progress.end)

    def _put_back(self, brought: int) -> None:
        self._damage_told = False
        self._show_notice()
        self._stand.forget_edits()
        self._shelf.lay_again()
        self._stand.shelf_changed.emit()
        self._stand.takes_changed.emit()
        told = (
            self.tr("The copy is in place.") if self._copy else self.tr("A new history is begun.")
        )
        if brought == 1:
            told += " " + self.tr("A take played since then could be added.")
        elif brought:
            told += " " + self.tr("{n} takes played since then could be added.").format(n=brought)
        self._window.messages.show_message(told, Tone.CALM)

    def _show_notice(self) -> None:
        notice = ""
        if self._stand.history is None:
            notice = self.tr("Nothing can be written: what you play is kept in memory only.")
        elif self._stands_in:
            notice = self.tr("Not in your history yet: these takes are kept aside.")
        self._window.listener.show_notice(notice)

    # at the end

    def ask_nothing(self) -> None:
        """Close without a question: the system asks the program to end."""
        self._asks = False

    def may_close(self) -> bool:
        """Say whether the window may close now; else a question is asked, and it closes later."""
        if not self._asks:
            return True
        takes = self._takes_outside()
        if takes:
            self._ask(takes)
        return not takes

    def _takes_outside(self) -> tuple[Take, ...]:
        """Takes of this sitting that are not in the history, after trying once more."""
        if not self._further.has_listened:
            return ()
        self._further.piano.end_take()
        takes = list(self._further.piano.sitting.takes_in_memory)
        journal, history = self._further.journal, self._stand.history
        if journal is not None and not journal.flush(_WRITE_SECONDS):
            takes += journal.unsaved()
        if history is not None and self._stands_in and not self._brought_home():
            from companion.practice.stand_in import played_in

            takes += played_in(history, self._began_with)
        return tuple(takes)

    def _brought_home(self) -> bool:
        from companion.practice.stand_in import bring_home
        from companion.storage.history_file import HistoryFile

        if self._stand.history is None:
            return False
        try:
            with HistoryFile(self._path) as home:
                bring_home(home, self._stand.history)
        except HistoryUnavailable:
            return False
        return True

    def _ask(self, takes: tuple[Take, ...]) -> None:
        from companion.desktop.unkept_dialog import UnkeptDialog

        if self._dialog is not None:
            self._dialog.deleteLater()
        self._dialog = UnkeptDialog(len(takes), kept_aside=self._stands_in, parent=self._window)
        self._dialog.saving_asked.connect(lambda: self._save(takes))
        self._dialog.closing_asked.connect(self._close)
        self._dialog.open()

    def _save(self, takes: tuple[Take, ...]) -> None:
        folder = QFileDialog.getExistingDirectory(self._window, self.tr("Save the takes"))
        if folder and self.save_as_midi(takes, Path(folder)):
            self._close()

    def save_as_midi(self, takes: tuple[Take, ...], folder: Path) -> bool:
        """Write takes as MIDI files named by when they were played; False when that failed."""
        from companion.practice.exports import export_take_midi, take_paths

        try:
            for take, path in zip(takes, take_paths(folder, takes), strict=True):
                export_take_midi(path, take)
        except CompanionError as error:
            self._window.messages.show_message(str(error))
            return False
        return True

    def _close(self) -> None:
        self._asks = False
        self._window.close()

    def put_away(self) -> None:
        """Keep aside what the history has not taken; nobody plays or writes any more."""
        if self._job is not None:
            self._job.wait(_PUT_AWAY_SECONDS)
        if self._further.has_listened:
            self._keep_aside()
        if self._stand.history is not None and self._stands_in:
            self._put_stand_in_away(self._stand.history)

    def _keep_aside(self) -> None:
        takes = list(self._further.piano.sitting.takes_in_memory)
        if self._further.journal is not None:
            takes += self._further.journal.unsaved()
        if takes:
            from companion.practice.stand_in import keep_aside

            # when that fails too, it was said while the window was open, and saving was offered
            with contextlib.suppress(CompanionError):
                keep_aside(takes, self._stand.piece, self._path, self._cache_folder)

    def _put_stand_in_away(self, stand_in: HistoryFile) -> None:
        """Bring home what the stand-in holds and remove it; what finds no home stays in it."""
        from companion.practice.stand_in import played_in, throw_away

        home = self._brought_home() or not played_in(stand_in, self._began_with)
        stand_in.close()
        if home:
            throw_away(stand_in.path)

    # in a thread

    def _when_free(self, act: Callable[[], object]) -> None:
        """Do something as soon as no thread of ours is at work."""
        if self._job is None:
            act()
        else:
            self._when_free_do.append(act)

    def _run(self, work: Callable[[Report], object], then: Callable[..., None]) -> ThreadJob:
        job = ThreadJob(work, self)
        self._job = job
        job.succeeded.connect(then)
        job.broke.connect(self.broke)
        job.when_over(self._ended)
        job.start()
        return job

    def _ended(self, *_: object) -> None:
        job, self._job = self._job, None
        if job is not None:
            job.discard()
        if self._when_free_do:
            self._when_free_do.pop(0)()
