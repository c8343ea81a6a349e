"""Builds the window and joins its parts.

What the first painting shows is built at once, everything else in the spare time after it: see
:mod:`companion.desktop.wiring.further_wiring` and :mod:`companion.desktop.late_parts`. Nothing that
the first painting does not need may be imported here.
"""

from __future__ import annotations

import signal
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QEvent, QObject, QTimer, Signal
from PySide6.QtWidgets import QApplication

from companion.desktop.faults import FaultTeller
from companion.desktop.first_painting import FirstPainting
from companion.desktop.icons import program_icon
from companion.desktop.late_imports import import_modules_with_qt, import_modules_without_qt
from companion.desktop.late_parts import Late
from companion.desktop.main_window import MainWindow, Pages
from companion.desktop.measure_word import say_bars
from companion.desktop.message_strip import Tone
from companion.desktop.score_view.score_palette import ScorePalette
from companion.desktop.score_view.score_view import ScoreView
from companion.desktop.spare_time import SpareTime
from companion.desktop.stand import Stand
from companion.desktop.theme import Theme, ask_for_style
from companion.desktop.tidying import Tidying
from companion.desktop.wiring.calendar import Calendar
from companion.desktop.wiring.map_wiring import MapWiring
from companion.desktop.wiring.piece_view_wiring import PieceViewWiring
from companion.desktop.wiring.shelf_wiring import ShelfWiring
from companion.desktop.wiring.view_wiring import ViewWiring, theme_choice
from companion.errors import CompanionError
from companion.practice.history_care import OpenedHistory, open_or_stand_in
from companion.practice.kept import kept_page, kept_score
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

if TYPE_CHECKING:
    from companion.desktop.jobs import Jobs
    from companion.desktop.opening import Opening
    from companion.desktop.piano import Piano
    from companion.desktop.thread_jobs import ThreadJob
    from companion.desktop.wiring.day_watch import DayWatch
    from companion.desktop.wiring.files_wiring import FilesWiring
    from companion.desktop.wiring.filing_wiring import FilingWiring
    from companion.desktop.wiring.further_wiring import FurtherWiring
    from companion.desktop.wiring.history_wiring import HistoryWiring
    from companion.desktop.wiring.printing_wiring import PrintingWiring
    from companion.desktop.wiring.settings_wiring import SettingsWiring
    from companion.desktop.wiring.takes_wiring import TakesWiring
    from companion.midi.listener import Listener
    from companion.practice.kept import LoadedScore
    from companion.score.sections.section_map import SectionMap

# after the first painting, one after the other: looking for MIDI systems takes its time
PACKET_ENDING = ".lesson"
_FURTHER_PAGES_AFTER_MS = 150
_WORK_OUT_AFTER_MS = 500
_WARM_UP_AFTER_MS = 700
_CARE_AFTER_MS = 5000
_IMPORTS_MAY_TAKE_SECONDS = 5.0

FIRST_SAMPLE = "study_in_d_minor.musicxml"
_READER_MODULES = (
    "companion.score.reading.reader",
    "music21.musicxml.xmlToM21",
    "companion.practice.results",
)
_ENGRAVER_MODULES = ("companion.score.engraving.engraver",)
_ANALYSIS_MODULES = ("companion.analysis.form", "companion.practice.harmony")


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


class Companion(QObject):
    """The whole program behind one window.

    Signals
    -------
    damage_met()
        The history was found damaged, in whichever thread.
    history_written_again()
        The file of the history had gone; now it is there again, with all that was in it.
    """

    damage_met = Signal()
    history_written_again = Signal()

    def __init__(
        self, application: QApplication, places: Places, listener: Listener | None = None
    ) -> None:
        super().__init__(application)
        self._places = places
        self._listener = listener  # None: to be made for the pianos of this machine
        settings = load_settings(places.settings)
        self._theme = Theme(application, theme_choice(settings))
        self._bars = say_bars(self) if settings.measure_word == "bar" else None
        self._trouble = ""
        self._greets = False
        self._importing: ThreadJob | None = None
        self._opened = self._open_history()
        self.history = self._opened.history if self._opened is not None else None
        self._calendar = Calendar(day_starts_at_hour=settings.day_starts_at_hour)
        self._timers: list[QTimer] = []
        palette = self._theme.palette
        self.score_view = ScoreView(ScorePalette.of_window(palette))
        self.window = MainWindow(palette, Pages(self.score_view, palette))
        self.faults = FaultTeller(self.window, self)
        self.first_painting = FirstPainting(self.window, self)
        self.spare_time = SpareTime(self._steps_after_painting(), self.window, self)
        self.stand = Stand(self.history, self)
        self._tidying = Tidying(lambda: not self.piano.sitting.in_take, self)
        self._tidying.start()  # before the first thread that could take a widget apart
        self._reading = Late(lambda: self._make_jobs("reading", _READER_MODULES))
        self._engraving = Late(lambda: self._make_jobs("engraving", _ENGRAVER_MODULES))
        self._analysing = Late(lambda: self._make_jobs("analysis", _ANALYSIS_MODULES))
        self._opening = Late(self._make_opening)
        self._further = Late(self._make_further)
        self._keeping = Late(self._make_keeping)
        self._days = Late(self._make_day_watch)
        self.view = ViewWiring(
            self.window, self.score_view, self._theme, settings, self._save_settings
        )
        self.map = MapWiring(self.window, self.stand, self.score_view)
        self.shelf = ShelfWiring(
            self.window,
            self.stand,
            self.score_view,
            self._opening,
            calendar=self._calendar,
            cache_folder=places.cache,
        )
        self.piece_view = PieceViewWiring(self.window, self.stand, self.score_view, self._opening)
        self._join()

    # what is built later

    @property
    def opening(self) -> Opening:
        """Loads scores."""
        return self._opening.get()

    def _make_opening(self) -> Opening:
        from companion.desktop.opening import Opening

        return Opening(
            self._reading.get(),
            self._engraving.get(),
            self._analysing.get(),
            self._places.cache,
            self,
        )

    def _make_jobs(self, name: str, modules: tuple[str, ...]) -> Jobs:
        from companion.desktop.jobs import Jobs

        jobs = Jobs(name, preload=modules, parent=self)
        jobs.broke.connect(self.faults.tell)
        return jobs

    @property
    def further(self) -> FurtherWiring:
        """All that answers when somebody plays or asks for something."""
        return self._further.get()

    def _make_further(self) -> FurtherWiring:
        from companion.desktop.wiring.further_wiring import FurtherWiring

        further = FurtherWiring(
            self.window,
            self.stand,
            self.score_view,
            self.view,
            self.map,
            self.shelf,
            jobs=self._reading.get(),
            analysing=self._analysing.get(),
            listener=self._listener,
            calendar=self._calendar,
            cache_folder=self._places.cache,
            count_days_from=self._count_days_from,
        )
        further.broke.connect(self.faults.tell)
        return further

    @property
    def keeping(self) -> HistoryWiring:
        """What is done when the history cannot be used."""
        return self._keeping.get()

    def _make_keeping(self) -> HistoryWiring:
        from companion.desktop.wiring.history_wiring import HistoryWiring

        keeping = HistoryWiring(
            self.window,
            self.stand,
            self.shelf,
            self.further,
            opened=self._opened,
            path=self._places.history,
            cache_folder=self._places.cache,
        )
        keeping.broke.connect(self.faults.tell)
        return keeping

    @property
    def day_watch(self) -> DayWatch:
        """Notices that another day has begun."""
        return self._days.get()

    def _make_day_watch(self) -> DayWatch:
        from companion.desktop.wiring.day_watch import DayWatch

        watch = DayWatch(self._calendar, self)
        watch.changed.connect(self._day_changed)
        return watch

    @property
    def piano(self) -> Piano:
        """What is played."""
        return self.further.piano

    @property
    def takes(self) -> TakesWiring:
        """What is derived from takes."""
        return self.further.takes

    @property
    def filing(self) -> FilingWiring:
        """With which piece a take is filed."""
        return self.further.filing

    @property
    def files(self) -> FilesWiring:
        """Takes from files and to files."""
        return self.further.files

    @property
    def settings(self) -> SettingsWiring:
        """The settings dialog."""
        return self.further.settings

    @property
    def printing(self) -> PrintingWiring:
        """Printing."""
        return self.further.printing

    def _steps_after_painting(self) -> Iterator[None]:
        """Build the rest of the window; between the steps the event loop comes round."""
        yield from import_modules_with_qt()
        yield from self.further.steps()
        self._keeping.get()
        self._days.get()
        self.window.setWindowIcon(program_icon())
        for part in self.window.late_parts:
            yield
            part.get()

    def _open_history(self) -> OpenedHistory | None:
        try:
            opened = open_or_stand_in(self._places.history, self._places.cache)
        except CompanionError as error:
            self._trouble = f"{error} What you play now is kept in memory only."
            return None
        opened.history.when_damaged(self.damage_met.emit)
        opened.history.when_written_again(self.history_written_again.emit)
        return opened

    def _join(self) -> None:
        self.faults.troubled.connect(self.window.messages.show_message)
        self.shelf.broke.connect(self.faults.tell)
        self.shelf.opened.connect(self._score_opened)
        self.shelf.proposed.connect(self._sections_proposed)
        self.shelf.map_in_use = lambda: self.map.in_use
        self.shelf.opened_otherwise = self._is_packet
        self.shelf.takes_dropped.connect(self._takes_dropped)
        self.damage_met.connect(self._damage_met)
        self.history_written_again.connect(self._history_written_again)
        self.window.closing.connect(self._close)
        self.window.may_close = self._may_close
        self.window.actions_by_id["welcome"].triggered.connect(self._show_first_steps)
        self.window.enable_piece_actions(False)

    # the start

    def start(self, score_path: str | None) -> None:
        """Show the window with a score: the one asked for, the last one, or a sample."""
        self._theme.dress()
        self.first_painting.await_it()
        if score_path is not None:
            self.window.show()
            self.shelf.open_path(score_path)
        elif not self._show_last_piece():
            self.window.show()
            self._open_last_or_sample()
        else:
            self.window.show()
        if self._trouble:
            self.window.messages.show_message(self._trouble)
        elif self._opened is not None and self._opened.trouble:
            self.keeping.tell_trouble(self._opened)
        elif self._opened is not None and self._opened.sentence:
            self.window.messages.show_message(self._opened.sentence, Tone.CALM)
        self.first_painting.then(self._bring_the_rest)
        self.spare_time.over.connect(self._begin_to_work)

    def _bring_the_rest(self) -> None:
        """Import what the rest of the window needs, and have it built."""
        from companion.desktop.thread_jobs import ThreadJob

        self.spare_time.watch()
        self._importing = ThreadJob(import_modules_without_qt, self)
        for ended in (self._importing.succeeded, self._importing.broke):
            ended.connect(self.spare_time.begin)
        self._importing.start()

    def _begin_to_work(self) -> None:
        """Begin with all that the first painting need not wait for."""
        if self.further.reader is not None:
            self.further.reader.start()
        self._later(_FURTHER_PAGES_AFTER_MS, self.shelf.bring_further_pages)
        if self.further.working_out is not None:
            self._later(_WORK_OUT_AFTER_MS, self.further.working_out.start)
        for jobs in (self._engraving.get(), self._reading.get(), self._analysing.get()):
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
            trouble = self._opened is None or self._opened.trouble
            self._greets = not trouble  # words of welcome would take the place of the other ones
            self.shelf.open_path(str(sample))

    def _look_after_history(self) -> None:
        self.keeping.look_after(self._calendar.today)

    # what happens

    def _score_opened(self, loaded: LoadedScore) -> None:
        self.map.proposal = loaded.proposal
        self._tidying.settle()
        greets, self._greets = self._greets, False
        self.spare_time.then(lambda: self.further.welcome.score_opened(loaded, greets=greets))

    def _sections_proposed(self, sections: SectionMap) -> None:
        self.map.proposal = sections

    def _damage_met(self) -> None:
        self.keeping.damage_met()

    def _history_written_again(self) -> None:
        self.window.messages.show_message(
            self.tr(
                "The file of your practice history was deleted or moved while it was open. It was "
                "written again with all that was in it: {path}"
            ).format(path=self._places.history)
        )

    def _may_close(self) -> bool:
        return not self._keeping.built or self.keeping.may_close()

    def end(self) -> None:
        """Close without a question: whoever asks the program to end will not wait."""
        self._keeping.if_built(lambda keeping: keeping.ask_nothing())
        self.window.close()

    def ask_nothing(self, *_: object) -> None:
        """Ask no question when the window is closed next: the session ends."""
        self._keeping.if_built(lambda keeping: keeping.ask_nothing())

    def _is_packet(self, path: str) -> bool:
        """Open a lesson packet; a score is left to whoever opens scores."""
        # by its name: a score must not wait for the part of the window that knows packets
        if not path.lower().endswith(PACKET_ENDING):
            return False
        self.further.packets.opening.open_path(path)
        return True

    def _takes_dropped(self, paths: list[str]) -> None:
        self.files.import_paths(paths)

    def _count_days_from(self, hour: int) -> None:
        self._calendar = replace(self._calendar, day_starts_at_hour=hour)
        self._days.if_built(lambda watch: watch.use_calendar(self._calendar))
        self.further.use_calendar(self._calendar)
        self.shelf.use_calendar(self._calendar)

    def _day_changed(self, calendar: Calendar) -> None:
        self.further.use_calendar(calendar)
        self.shelf.use_calendar(calendar)
        self._look_after_history()

    def _show_first_steps(self) -> None:
        self.window.show_page("page_help")
        self.window.pages.help.show_chapter("First steps")

    def _save_settings(self, settings: Settings) -> None:
        save_settings(self._places.settings, settings)

    def _close(self) -> None:
        """Put everything away: the take, the settings, the processes, the history."""
        self.first_painting.forget()
        self.spare_time.stop()
        if self._importing is not None:
            self._importing.wait(_IMPORTS_MAY_TAKE_SECONDS)
        for timer in self._timers:
            timer.stop()
        self._further.if_built(lambda further: further.stop_listening())
        self.view.save_now()
        self.piece_view.keep()
        self._further.if_built(lambda further: further.close())
        self.shelf.close()
        for jobs in (self._reading, self._engraving, self._analysing):
            jobs.if_built(lambda jobs: jobs.close())
        self._further.if_built(lambda further: further.close_journal())
        self._keeping.if_built(lambda keeping: keeping.put_away())
        if self.history is not None:
            self.history.close()
        self.stand.history = None  # what threads have told before now may still be on its way here
        self._tidying.stop()
        if self._bars is not None:
            QCoreApplication.removeTranslator(self._bars)


def main(score_path: str | None = None) -> int:
    """Open the window and return the exit status when it is closed."""
    ask_for_style()
    application = QApplication.instance() or QApplication(sys.argv[:1])
    if not isinstance(application, QApplication):
        return 1
    application.setApplicationName("companion-at-the-piano")
    application.setApplicationDisplayName("")
    companion = Companion(application, Places.usual())
    sys.excepthook = companion.faults.uncaught
    # the timer that drains the piano lets Python see these every few milliseconds
    for asked_to_end in (signal.SIGINT, signal.SIGTERM):
        # not at once: Python sees them anywhere, also in the middle of painting the window
        signal.signal(asked_to_end, lambda *_: QTimer.singleShot(0, companion, companion.end))
    application.commitDataRequest.connect(companion.ask_nothing)
    companion.start(score_path)
    status = application.exec()
    # while there is still an event loop: a widget that Python takes apart after the application
    # wants to start a timer that cannot run, and Qt complains on the terminal
    companion.window.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    return status
