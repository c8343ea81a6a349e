"""What answers when somebody plays or asks for something: nothing of it is seen before.

The window is built in two steps. What its first painting shows is imported and built by
:mod:`companion.app` before. All the rest stands here, so that its imports come with this module and
not with the start: each part is built when it is first needed, at the latest in the spare time
after the first painting (:meth:`FurtherWiring.steps`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from companion.desktop.jobs import Jobs
from companion.desktop.message_strip import Tone
from companion.desktop.piano import Piano
from companion.desktop.wiring.asking_wiring import AskingWiring
from companion.desktop.wiring.care_wiring import CareWiring
from companion.desktop.wiring.commanding_wiring import CommandingWiring
from companion.desktop.wiring.drilling_wiring import DrillingWiring
from companion.desktop.wiring.files_wiring import FilesWiring
from companion.desktop.wiring.filing_wiring import FilingWiring
from companion.desktop.wiring.fingers_wiring import FingersWiring
from companion.desktop.wiring.grouping_wiring import GroupingWiring
from companion.desktop.wiring.hands_wiring import HandsWiring
from companion.desktop.wiring.harmony_wiring import HarmonyWiring
from companion.desktop.wiring.knowing_wiring import KnowingWiring
from companion.desktop.wiring.listening_wiring import ListeningWiring
from companion.desktop.wiring.map_editing_wiring import MapEditingWiring
from companion.desktop.wiring.memory_wiring import MemoryWiring
from companion.desktop.wiring.merging_wiring import MergingWiring
from companion.desktop.wiring.packets_wiring import PacketsWiring
from companion.desktop.wiring.printing_wiring import PrintingWiring
from companion.desktop.wiring.readiness_wiring import ReadinessWiring
from companion.desktop.wiring.reciting_wiring import RecitingWiring
from companion.desktop.wiring.report_wiring import ReportWiring
from companion.desktop.wiring.score_export_wiring import ScoreExportWiring
from companion.desktop.wiring.settings_wiring import SettingsWiring
from companion.desktop.wiring.shown_history import ShownHistory
from companion.desktop.wiring.takes_wiring import TakesWiring
from companion.desktop.wiring.tasks_wiring import TasksWiring
from companion.desktop.wiring.today_wiring import TodayWiring
from companion.desktop.wiring.welcome_wiring import WelcomeWiring
from companion.desktop.wiring.work_wiring import WorkWiring
from companion.desktop.working_out import LOADING, WorkingOut
from companion.midi.listener import Listener
from companion.storage.journal import Journal

if TYPE_CHECKING:
    from companion.desktop.main_window import MainWindow
    from companion.desktop.score_view.score_view import ScoreView
    from companion.desktop.stand import Stand
    from companion.desktop.wiring.calendar import Calendar
    from companion.desktop.wiring.map_wiring import MapWiring
    from companion.desktop.wiring.shelf_wiring import ShelfWiring
    from companion.desktop.wiring.view_wiring import ViewWiring
    from companion.history.model import Take


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


class FurtherWiring(QObject):
    """Listening, takes, files, printing, settings.

    Parameters
    ----------
    listener
        Listens to the pianos; None for those of this machine.
    count_days_from
        Called with the hour at which a practice day begins.

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
        score_view: ScoreView,
        view: ViewWiring,
        map_wiring: MapWiring,
        shelf: ShelfWiring,
        *,
        jobs: Jobs,
        analysing: Jobs,
        listener: Listener | None,
        calendar: Calendar,
        cache_folder: Path,
        count_days_from: Callable[[int], None],
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._score_view = score_view
        self._view = view
        self._map = map_wiring
        self._shelf = shelf
        self._jobs = jobs
        # a worker of its own for form, harmony, groups and work: a take that ends need not wait
        self.analysing = analysing
        self._listener = listener
        self._calendar = calendar
        self._cache_folder = cache_folder
        self._count_days_from = count_days_from

    def steps(self) -> Iterator[None]:
        """Build everything, one part after the other."""
        for name in ("piano", "listening", "takes", "memory", "map_editing", "asking", "hands"):
            getattr(self, name)
            yield
        self.piano.start()
        for name in ("files", "filing", "settings", "printing", "harmony", "reciting"):
            yield
            getattr(self, name)
        for name in ("grouping", "fingers", "drilling", "score_export"):
            yield
            getattr(self, name)
        for name in (
            "work",
            "knowing",
            "tasks",
            "today",
            "readiness",
            "welcome",
            "commanding",
            "care",
        ):
            yield
            getattr(self, name)
        for name in ("reports", "packets", "merging"):
            yield
            getattr(self, name)

    def _there(self, name: str) -> bool:
        """Whether a part has been built."""
        return name in self.__dict__

    @cached_property
    def journal(self) -> Journal | None:
        """Writes to the disk what is being played."""
        history = self._stand.history
        if history is None:
            return None
        news = _JournalNews(self)
        news.saved.connect(self._take_saved)
        news.trouble.connect(self._window.messages.show_message)
        news.recovered.connect(self._journal_recovered)
        return Journal(
            history,
            on_saved=news.saved.emit,
            on_trouble=news.trouble.emit,
            on_recovered=news.recovered.emit,
        )

    @cached_property
    def piano(self) -> Piano:
        """What is played."""
        piano = Piano(
            self._listener or Listener(last_identity=self._view.settings.last_port),
            journal=self.journal,
            zone=self._calendar.zone,
            silence_seconds=self._view.settings.take_ends_after_seconds,
            parent=self,
        )
        piano.state_changed.connect(self._port_changed)
        if self._view.settings.midi_system:
            piano.choose_system(self._view.settings.midi_system)
        if self.working_out is not None:
            piano.take_begun.connect(self.working_out.hold)
            piano.take_finished.connect(self.working_out.go_on)
        return piano

    @cached_property
    def working_out(self) -> WorkingOut | None:
        """Brings results up to date; without a history there are none."""
        if self._stand.history is None:
            return None
        working_out = WorkingOut(self._stand.history, self)
        working_out.broke.connect(self.broke)
        self._shelf.loading_changed.connect(self._loading_changed)
        return working_out

    @cached_property
    def reader(self) -> ShownHistory | None:
        """Works up what the window shows of the history."""
        if self._stand.history is None:
            return None
        reader = ShownHistory(self._stand.history, self)
        reader.broke.connect(self.broke)
        return reader

    @cached_property
    def listening(self) -> ListeningWiring:
        """What the piano plays is shown."""
        listening = ListeningWiring(self._window, self._stand, self.piano, self._score_view)
        listening.system_chosen.connect(self._system_chosen)
        return listening

    @cached_property
    def takes(self) -> TakesWiring:
        """What is derived from takes is shown."""
        takes = TakesWiring(
            self._window,
            self._stand,
            self._score_view,
            jobs=self._jobs,
            working_out=self.working_out,
            reader=self.reader,
            calendar=self._calendar,
            hands_names=self.listening.hands_names,
            cache_folder=self._cache_folder,
        )
        self.listening.begun.connect(takes.take_begun)
        self.piano.take_finished.connect(takes.take_finished)
        return takes

    @cached_property
    def memory(self) -> MemoryWiring:
        """Playing from memory."""
        return MemoryWiring(self._window, self._stand, self.piano)

    @cached_property
    def map_editing(self) -> MapEditingWiring:
        """Edits of the sections."""
        return MapEditingWiring(self._window, self._stand, self._map)

    @cached_property
    def asking(self) -> AskingWiring:
        """Dialogs about the piece on the stand."""
        asking = AskingWiring(
            self._window, self._stand, self._shelf, last_folder=self._view.settings.last_folder
        )
        asking.folder_used.connect(self._folder_used)
        return asking

    @cached_property
    def hands(self) -> HandsWiring:
        """Which hand plays the selected notes."""
        return HandsWiring(self._window, self._stand, self._score_view)

    @cached_property
    def harmony(self) -> HarmonyWiring:
        """Key and chord."""
        harmony = HarmonyWiring(
            self._window, self._stand, self._score_view, self.analysing, self._cache_folder
        )
        self.listening.name_harmony = harmony.name_at
        return harmony

    @cached_property
    def reciting(self) -> RecitingWiring:
        """Naming key and chord."""
        return RecitingWiring(
            self._window,
            self._stand,
            self._score_view,
            self.harmony,
            self.piano,
            self._calendar,
        )

    @cached_property
    def grouping(self) -> GroupingWiring:
        """Groups of running notes, and fingers."""
        return GroupingWiring(
            self._window, self._stand, self._score_view, self.analysing, self._cache_folder
        )

    @cached_property
    def fingers(self) -> FingersWiring:
        """The hands of the pianist, and fingers throughout the piece."""
        return FingersWiring(
            self._window,
            self._stand,
            self._view,
            self.grouping,
            self.analysing,
            self._cache_folder,
        )

    @cached_property
    def drilling(self) -> DrillingWiring:
        """Drills made of groups."""
        return DrillingWiring(
            self._window,
            self._stand,
            self._score_view,
            self.grouping,
            self.piano,
            self._calendar,
        )

    @cached_property
    def score_export(self) -> ScoreExportWiring:
        """The marked score as MusicXML."""
        return ScoreExportWiring(self._window, self._stand, self.harmony, self.grouping)

    @cached_property
    def work(self) -> WorkWiring:
        """Where the work lies."""
        work = WorkWiring(
            self._window, self._stand, self.harmony, self.analysing, self._cache_folder
        )
        if self.working_out is not None:
            self.working_out.finished.connect(work.results_changed)
        return work

    @cached_property
    def knowing(self) -> KnowingWiring | None:
        """Since when sections are known; nothing without a history."""
        if self.reader is None:
            return None
        return KnowingWiring(self._window, self._stand, self.reader, self.work)

    @cached_property
    def tasks(self) -> TasksWiring:
        """Tasks inside the sections."""
        tasks = TasksWiring(
            self._window,
            self._stand,
            self._score_view,
            self.takes,
            self.work,
            self.analysing,
            self._cache_folder,
        )
        if self.knowing is not None:
            self.knowing.standing_known.connect(tasks.standing_known)
        return tasks

    @cached_property
    def today(self) -> TodayWiring:
        """The plan of today."""
        today = TodayWiring(
            self._window, self._stand, self._score_view, self.work, self.tasks, self._calendar
        )
        today.broke.connect(self.broke)
        self.takes.days_known.connect(today.results_changed)
        return today

    @cached_property
    def commanding(self) -> CommandingWiring:
        """Commands from the piano."""
        return CommandingWiring(
            self._window,
            self._view,
            self.piano,
            place=lambda: self.listening.place,
            mark=self.today.mark_spot,
        )

    @cached_property
    def care(self) -> CareWiring:
        """Breaks, and how much is played."""
        care = CareWiring(self._window, self._stand, self._view, self._calendar)
        care.broke.connect(self.broke)
        care.told.connect(self.today.show_care)
        self.piano.take_finished.connect(care.take_finished)
        return care

    @cached_property
    def readiness(self) -> ReadinessWiring:
        """Whether the piece is ready."""
        readiness = ReadinessWiring(
            self._window,
            self._stand,
            self._score_view,
            self.today,
            self.harmony,
            self._calendar,
        )
        readiness.broke.connect(self.broke)
        readiness.rehearsal_toggled.connect(self.listening.hide_while_playing)
        self.takes.days_known.connect(readiness.results_changed)
        self.takes.played.connect(readiness.take_played)
        return readiness

    @cached_property
    def files(self) -> FilesWiring:
        """Takes from files and to files."""
        files = FilesWiring(self._window, self._stand, self.takes, zone=self._calendar.zone)
        files.broke.connect(self.broke)
        return files

    @cached_property
    def filing(self) -> FilingWiring:
        """With which piece a take is filed."""
        filing = FilingWiring(self._window, self._stand, self.takes, self._cache_folder)
        filing.broke.connect(self.broke)
        return filing

    @cached_property
    def settings(self) -> SettingsWiring:
        """The settings dialog."""
        return SettingsWiring(
            self._window, self._view, self._score_view, self.piano, self._count_days_from
        )

    @cached_property
    def printing(self) -> PrintingWiring:
        """Printing."""
        return PrintingWiring(self._window, self._stand, self._score_view)

    @cached_property
    def reports(self) -> ReportWiring:
        """The report for the teacher."""
        reports = ReportWiring(self._window, self._stand, self._calendar)
        reports.broke.connect(self.broke)
        reports.hardness = lambda: self.knowing.hardness if self.knowing is not None else None
        return reports

    @cached_property
    def packets(self) -> PacketsWiring:
        """Lesson packets, and the students side by side."""
        packets = PacketsWiring(
            self._window,
            self._stand,
            self._shelf,
            reading=self._jobs,
            calendar=self._calendar,
            reports=self.reports,
            cache_folder=self._cache_folder,
        )
        packets.broke.connect(self.broke)
        return packets

    @cached_property
    def merging(self) -> MergingWiring:
        """The history of another machine."""
        merging = MergingWiring(
            self._window, self._stand, self._shelf, self.takes, self._cache_folder
        )
        merging.broke.connect(self.broke)
        return merging

    @cached_property
    def welcome(self) -> WelcomeWiring:
        """The first start."""
        return WelcomeWiring(
            self._window,
            self._stand,
            jobs=self._jobs,
            zone=self._calendar.zone,
            bring_up_to_date=self.takes.bring_up_to_date,
        )

    def use_calendar(self, calendar: Calendar) -> None:
        """Count days in this way from now on."""
        self._calendar = calendar
        if self._there("piano"):
            self.piano.sitting.set_zone(calendar.zone)
        if self._there("files"):
            self.files.use_zone(calendar.zone)
        if self._there("takes"):
            self.takes.use_calendar(calendar)
        if self._there("reciting"):
            self.reciting.use_calendar(calendar)
        if self._there("drilling"):
            self.drilling.use_calendar(calendar)
        if self._there("today"):
            self.today.use_calendar(calendar)
        if self._there("readiness"):
            self.readiness.use_calendar(calendar)
        if self._there("care"):
            self.care.use_calendar(calendar)
        if self._there("reports"):
            self.reports.use_calendar(calendar)
        if self._there("packets"):
            self.packets.use_calendar(calendar)

    def stop_listening(self) -> None:
        """End the running take and let the piano go."""
        if self._there("piano"):
            self.piano.stop()

    def close(self) -> None:
        """End all threads and processes; what is being written is written to its end."""
        if self._there("working_out") and self.working_out is not None:
            self.working_out.close()
        if self._there("files"):
            self.files.close()
        for name in ("reports", "packets", "merging"):
            if self._there(name):
                getattr(self, name).close()
        if self._there("work"):
            self.work.close()
        if self._there("today"):
            self.today.close()
        if self._there("readiness"):
            self.readiness.close()
        if self._there("care"):
            self.care.close()
        if self._there("filing"):
            self.filing.close()
        if self._there("reader") and self.reader is not None:
            self.reader.close()

    @property
    def has_listened(self) -> bool:
        """Whether anything can have been played."""
        return self._there("piano")

    def close_journal(self) -> None:
        """Write what is left of the journal; nobody plays any more."""
        if self._there("journal") and self.journal is not None:
            self.journal.close()

    # what happens

    def _loading_changed(self, loading: bool) -> None:
        working_out = self.working_out
        if working_out is not None and loading:
            working_out.hold(why=LOADING)
        elif working_out is not None:
            working_out.go_on(why=LOADING)
        if self._there("work"):
            self.work.wait_with_corrections(loading)

    def _journal_recovered(self) -> None:
        self._window.messages.show_message(
            self.tr("Everything you played is on the disk again."), Tone.CALM
        )

    def _take_saved(self, take: Take) -> None:
        self.takes.take_saved(take)
        self.filing.take_saved(take)

    def _port_changed(self) -> None:
        identity = self.piano.listener.last_identity
        if identity != self._view.settings.last_port:
            self._view.change(last_port=identity)

    def _system_chosen(self, key: str) -> None:
        self._view.change(midi_system=key)

    def _folder_used(self, folder: str) -> None:
        self._view.change(last_folder=folder)
