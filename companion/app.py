"""Builds every object of the window and joins them; the only module that knows all of them."""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from PySide6.QtCore import QCoreApplication, QObject, QTimer, QTimeZone, Signal
from PySide6.QtWidgets import QApplication

from companion.desktop.days.page import DaysPage
from companion.desktop.faults import FaultTeller
from companion.desktop.first_painting import FirstPainting
from companion.desktop.jobs import Jobs
from companion.desktop.main_window import MainWindow, Pages
from companion.desktop.measure_word import say_bars
from companion.desktop.message_strip import Tone
from companion.desktop.opening import Opening
from companion.desktop.pages.help_page import HelpPage
from companion.desktop.pages.shelf_page import ShelfPage
from companion.desktop.piano import Piano
from companion.desktop.score_view.score_palette import ScorePalette
from companion.desktop.score_view.score_view import ScoreView
from companion.desktop.stand import Stand
from companion.desktop.theme import Theme
from companion.desktop.tidying import Tidying
from companion.desktop.wiring.files_wiring import FilesWiring
from companion.desktop.wiring.filing_wiring import FilingWiring
from companion.desktop.wiring.hands_wiring import HandsWiring
from companion.desktop.wiring.listening_wiring import ListeningWiring
from companion.desktop.wiring.map_wiring import MapWiring
from companion.desktop.wiring.piece_view_wiring import PieceViewWiring
from companion.desktop.wiring.printing_wiring import PrintingWiring
from companion.desktop.wiring.settings_wiring import SettingsWiring
from companion.desktop.wiring.shelf_wiring import ShelfWiring
from companion.desktop.wiring.shown_history import ShownHistory
from companion.desktop.wiring.takes_wiring import Calendar, TakesWiring
from companion.desktop.wiring.view_wiring import ViewWiring, theme_choice
from companion.desktop.wiring.welcome_wiring import WelcomeWiring
from companion.desktop.working_out import WorkingOut
from companion.errors import CompanionError, HistoryDamaged
from companion.history.model import Take
from companion.midi.listener import Listener
from companion.practice.history_care import LastCopy, last_copy, look_after, open_history, put_back
from companion.practice.loading import LoadedScore, kept_page, kept_score
from companion.practice.opening import last_piece, score_path_of
from companion.resources import sample_scores_folder
from companion.score.engraving.model import Layout
from companion.settings import (
    Settings,
    cache_folder,
    history_path,
    load_settings,
    save_settings,
    settings_path,
)
from companion.storage.history_file import HistoryFile
from companion.storage.journal import Journal

# after the first painting, one after the other: looking for MIDI systems takes its time
_LISTEN_AFTER_MS = 50
_FURTHER_PAGES_AFTER_MS = 150
_WORK_OUT_AFTER_MS = 500
_WARM_UP_AFTER_MS = 700
_CARE_AFTER_MS = 5000
_CARE_MAY_TAKE_SECONDS = 10.0

FIRST_SAMPLE = "study_in_d_minor.musicxml"
_READER_MODULES = (
    "companion.score.reading.reader",
    "music21.musicxml.xmlToM21",
    "companion.practice.results",
)
_ENGRAVER_MODULES = ("companion.score.engraving.engraver",)


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """Where things are kept; tests give folders of their own."""

    settings: Path
    history: Path
    cache: Path

    @classmethod
    def usual(cls) -> Places:
        """The places of this person."""
        return cls(settings=settings_path(), history=history_path(), cache=cache_folder())


class _JournalNews(QObject):
    """Carries what the journal's thread says into the event loop.

    Signals
    -------
    saved(Take), trouble(str), recovered()
        See :class:`companion.storage.journal.Journal`.
    """

    saved = Signal(object)
    trouble = Signal(str)
    recovered = Signal()


class Companion(QObject):
    """The whole program behind one window."""

    def __init__(self, application: QApplication, places: Places, listener: Listener) -> None:
        super().__init__(application)
        self._places = places
        settings = load_settings(places.settings)
        self._theme = Theme(application, theme_choice(settings))
        self._bars = say_bars(self) if settings.measure_word == "bar" else None
        self._trouble = ""
        self._copy: LastCopy | None = None
        self.history = self._open_history()
        zone = bytes(QTimeZone.systemTimeZoneId().data()).decode() or "UTC"
        calendar = Calendar(zone=zone, day_starts_at_hour=settings.day_starts_at_hour)
        self._calendar = calendar
        self._care: threading.Thread | None = None
        self._timers: list[QTimer] = []
        palette = self._theme.palette
        self.score_view = ScoreView(ScorePalette.of_window(palette))
        days_page, shelf_page = DaysPage(palette), ShelfPage()
        self.window = MainWindow(
            palette, Pages(self.score_view, days_page, shelf_page, HelpPage(palette))
        )
        self.faults = FaultTeller(self.window, self)
        self.faults.troubled.connect(self.window.messages.show_message)
        self.first_painting = FirstPainting(self.window, self)
        self.stand = Stand(self.history, self)
        self._journal = self._start_journal()
        self.piano = Piano(
            listener,
            journal=self._journal,
            zone=zone,
            silence_seconds=settings.take_ends_after_seconds,
            parent=self,
        )
        self._tidying = Tidying(lambda: not self.piano.sitting.in_take, self)
        self._tidying.start()  # before the first thread that could take a widget apart
        self._reading = Jobs("reading", preload=_READER_MODULES, parent=self)
        self._engraving = Jobs("engraving", preload=_ENGRAVER_MODULES, parent=self)
        self._working_out = WorkingOut(self.history, self) if self.history else None
        self._reader = ShownHistory(self.history, self) if self.history else None
        self.view = ViewWiring(
            self.window, self.score_view, self._theme, settings, self._save_settings
        )
        self.map = MapWiring(self.window, self.stand, self.score_view)
        self.hands = HandsWiring(self.window, self.stand, self.score_view)
        self.listening = ListeningWiring(self.window, self.stand, self.piano, self.score_view)
        self.takes = TakesWiring(
            self.window,
            self.stand,
            self.score_view,
            days_page,
            jobs=self._reading,
            working_out=self._working_out,
            reader=self._reader,
            calendar=calendar,
            hands_names=self.listening.hands_names,
        )
        self.listening.begun.connect(self.takes.take_begun)
        self.opening = Opening(self._reading, self._engraving, places.cache, self)
        self.shelf = ShelfWiring(
            self.window,
            self.stand,
            self.score_view,
            shelf_page,
            self.opening,
            calendar=calendar,
            cache_folder=places.cache,
            last_folder=settings.last_folder,
        )
        self.filing = FilingWiring(self.window, self.stand, self.takes, places.cache)
        self.settings = SettingsWiring(
            self.window, self.view, self.score_view, self.piano, self._count_days_from
        )
        self.piece_view = PieceViewWiring(self.window, self.stand, self.score_view, self.opening)
        self.printing = PrintingWiring(self.window, self.stand, self.score_view, days_page)
        self.files = FilesWiring(self.window, self.stand, self.takes, days_page, zone=zone)
        self.welcome = WelcomeWiring(
            self.window,
            self.stand,
            jobs=self._reading,
            zone=zone,
            bring_up_to_date=self.takes.bring_up_to_date,
        )
        self._join()

    def _open_history(self) -> HistoryFile | None:
        try:
            opened = open_history(self._places.history)
        except HistoryDamaged as error:
            self._copy = last_copy(self._places.history)
            more = self._copy.sentence if self._copy is not None else ""
            self._trouble = f"{error} {more}".strip()
            return None
        except CompanionError as error:
            self._trouble = f"{error} What you play now is kept in memory only."
            return None
        self._trouble = opened.sentence
        return opened.history

    def _start_journal(self) -> Journal | None:
        if self.history is None:
            return None
        news = _JournalNews(self)
        news.saved.connect(self._take_saved)
        news.trouble.connect(self._journal_trouble)
        news.recovered.connect(self._journal_recovered)
        return Journal(
            self.history,
            on_saved=news.saved.emit,
            on_trouble=news.trouble.emit,
            on_recovered=news.recovered.emit,
        )

    def _journal_trouble(self, sentence: str) -> None:
        self.window.messages.show_message(sentence)

    def _journal_recovered(self) -> None:
        self.window.messages.show_message(
            self.tr("Everything you played is on the disk again."), Tone.CALM
        )

    def _take_saved(self, take: Take) -> None:
        self.takes.take_saved(take)
        self.filing.take_saved(take)

    def _join(self) -> None:
        self.piano.take_finished.connect(self.takes.take_finished)
        self.piano.state_changed.connect(self._port_changed)
        self.listening.system_chosen.connect(self._system_chosen)
        self.shelf.opened.connect(self._score_opened)
        self.shelf.folder_used.connect(self._folder_used)
        self.shelf.takes_dropped.connect(self.files.import_paths)
        self.window.closing.connect(self._close)
        self.window.actions_by_id["welcome"].triggered.connect(self._show_first_steps)
        for teller in (self._reading, self._engraving, self.shelf, self.files, self.filing):
            teller.broke.connect(self.faults.tell)
        if self._working_out is not None:
            self._working_out.broke.connect(self.faults.tell)
            self.piano.take_begun.connect(self._working_out.hold)
            self.piano.take_finished.connect(self._working_out.go_on)
        if self._reader is not None:
            self._reader.broke.connect(self.faults.tell)
        self.window.enable_piece_actions(False)

    # the start

    def start(self, score_path: str | None) -> None:
        """Show the window with a score: the one asked for, the last one, or a sample."""
        self.first_painting.await_it()
        if score_path is not None:
            self.window.show()
            self.shelf.open_path(score_path)
        elif not self._show_last_piece():
            self.window.show()
            self._open_last_or_sample()
        else:
            self.window.show()
        if self._trouble and self._copy is not None:
            self.window.messages.acted.connect(self._put_copy_back)
            self.window.messages.show_message(
                self._trouble, Tone.ATTENTION, self.tr("Put the copy back")
            )
        elif self._trouble:
            tone = Tone.CALM if self.history is not None else Tone.ATTENTION
            self.window.messages.show_message(self._trouble, tone)
        if self.view.settings.midi_system:
            self.piano.choose_system(self.view.settings.midi_system)
        self.first_painting.then(self._begin_to_work)

    def _begin_to_work(self) -> None:
        """Begin with all that the first painting need not wait for."""
        if self._reader is not None:
            self._reader.start()
        self._later(_LISTEN_AFTER_MS, self.piano.start)
        self._later(_FURTHER_PAGES_AFTER_MS, self.shelf.bring_further_pages)
        if self._working_out is not None:
            self._later(_WORK_OUT_AFTER_MS, self._working_out.start)
        for jobs in (self._engraving, self._reading):
            self._later(_WARM_UP_AFTER_MS, jobs.warm_up)
        self._later(_CARE_AFTER_MS, self._look_after_history)

    def _later(self, after_ms: int, act: Callable[[], None]) -> None:
        """Do something a little later, unless the window is closed before."""
        timer = QTimer(self)
        timer.setSingleShot(True)
        timer.timeout.connect(act)
        timer.start(after_ms)
        self._timers.append(timer)

    def _show_last_piece(self) -> bool:
        """Show the piece of the last time from the cache, before the first painting."""
        piece = last_piece(self.history) if self.history is not None else None
        if piece is None:
            return False
        part = piece.part or None
        loaded = kept_score(self._places.cache, piece.score_hash, part)
        if loaded is None:
            return False
        page = kept_page(self._places.cache, piece.score_hash, part, Layout(), 0)
        self.shelf.show_kept(loaded, page)
        return True

    def _open_last_or_sample(self) -> None:
        piece = last_piece(self.history) if self.history is not None else None
        if piece is not None and self.history is not None:
            try:
                path = score_path_of(self.history, piece, self._places.cache)
            except CompanionError as error:
                self.window.messages.show_message(str(error))
            else:
                self.shelf.open_path(str(path), piece.part or None)
                return
        sample = sample_scores_folder() / FIRST_SAMPLE
        if sample.exists():
            self.welcome.greet()
            self.window.messages.acted.connect(self._show_first_steps)
            self.shelf.open_path(str(sample))

    def _put_copy_back(self) -> None:
        self.window.messages.acted.disconnect(self._put_copy_back)
        copy, self._copy = self._copy, None
        if copy is None:
            return
        try:
            put_back(self._places.history, copy).history.close()
        except CompanionError as error:
            self.window.messages.show_message(str(error))
            return
        self.window.messages.show_message(
            self.tr("The copy is in place. Please start the program again."), Tone.CALM
        )

    def _look_after_history(self) -> None:
        """Make the copy of the day in a thread that may wait for the disk."""
        history, today = self.history, self._calendar.today
        if history is not None:
            thread = threading.Thread(
                target=look_after, args=(history, today), name="history care", daemon=True
            )
            self._care = thread
            thread.start()

    # what happens

    def _score_opened(self, loaded: LoadedScore) -> None:
        self.map.proposal = loaded.proposal
        self._tidying.settle()
        self.welcome.score_opened(loaded)

    def _port_changed(self) -> None:
        identity = self.piano.listener.last_identity
        if identity != self.view.settings.last_port:
            self.view.change(last_port=identity)

    def _system_chosen(self, key: str) -> None:
        self.view.change(midi_system=key)

    def _folder_used(self, folder: str) -> None:
        self.view.change(last_folder=folder)

    def _count_days_from(self, hour: int) -> None:
        self._calendar = replace(self._calendar, day_starts_at_hour=hour)
        self.takes.use_calendar(self._calendar)
        self.shelf.use_calendar(self._calendar)

    def _show_first_steps(self) -> None:
        self.window.show_page("page_help")
        self.window.pages.help.show_chapter("First steps")

    def _save_settings(self, settings: Settings) -> None:
        save_settings(self._places.settings, settings)

    def _close(self) -> None:
        """Put everything away: the take, the settings, the processes, the history."""
        self.first_painting.forget()
        for timer in self._timers:
            timer.stop()
        self.piano.stop()
        self.view.save_now()
        self.piece_view.keep()
        if self._working_out is not None:
            self._working_out.close()
        self.files.close()
        self.filing.close()
        self.shelf.close()
        if self._reader is not None:
            self._reader.close()
        self._reading.close()
        self._engraving.close()
        if self._journal is not None:
            self._journal.close()
        if self._care is not None:
            self._care.join(_CARE_MAY_TAKE_SECONDS)
        if self.history is not None:
            self.history.close()
        self._tidying.stop()
        if self._bars is not None:
            QCoreApplication.removeTranslator(self._bars)


def main(score_path: str | None = None) -> int:
    """Open the window and return the exit status when it is closed."""
    application = QApplication.instance() or QApplication(sys.argv[:1])
    if not isinstance(application, QApplication):
        return 1
    application.setApplicationName("companion-at-the-piano")
    application.setApplicationDisplayName("")
    places = Places.usual()
    listener = Listener(last_identity=load_settings(places.settings).last_port)
    companion = Companion(application, places, listener)
    sys.excepthook = companion.faults.uncaught
    # the timer that drains the piano lets Python see these every few milliseconds
    for asked_to_end in (signal.SIGINT, signal.SIGTERM):
        signal.signal(asked_to_end, lambda *_: companion.window.close())
    companion.start(score_path)
    return application.exec()
