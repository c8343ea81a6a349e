"""The page of the groups: filled, and listening to a drill, try by try."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import UTC, datetime
from statistics import median
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer

from companion.analysis.grouping.drills import Drill, drills_of_group
from companion.analysis.grouping.model import RunGroups, Way
from companion.desktop.grouping.content import DrillLine, RunLine
from companion.desktop.grouping.page import GroupingPage
from companion.desktop.grouping.wording import (
    group_sentence,
    hand_name,
    run_place,
    tr,
    try_sentence,
    way_names,
    with_signs,
)
from companion.desktop.main_window import MainWindow
from companion.desktop.piano import Piano
from companion.desktop.score_view.score_view import ScoreView
from companion.desktop.stand import Stand
from companion.desktop.wiring.calendar import Calendar
from companion.desktop.wiring.grouping_wiring import GroupingWiring
from companion.history.drill_days import DrillDay, DrillRecord, drill_days, drill_record
from companion.history.drilled import DRILLED, entry_of, record_of
from companion.history.model import RawEvent, new_id
from companion.listening.heard import heard_from
from companion.practice.drills import hear_drill

if TYPE_CHECKING:
    from companion.midi.listener import TimedMessage
    from companion.score.engraving.model import EngravedPage

_SILENCE_MS = 1500  # after so much of it the tries are judged
_NOTE_ON = 0x90
_LEFT_OF_DRILLS_PIXELS = 500
_LEAST_PICTURE_PIXELS = 420


class DrillingWiring(QObject):
    """Fills the page, listens to drills, keeps them."""

    def __init__(
        self,
        window: MainWindow,
        stand: Stand,
        score_view: ScoreView,
        grouping: GroupingWiring,
        piano: Piano,
        calendar: Calendar,
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._score_view = score_view
        self._groups = grouping
        self._piano = piano
        self._calendar = calendar
        self._run_id, self._number = "", 0
        self._drills: tuple[Drill, ...] = ()
        self._to_refill = True
        self._playing: Drill | None = None
        self._events: list[RawEvent] = []
        self._began_at: float | None = None
        self._started: datetime | None = None
        self._days: dict[str, tuple[DrillDay, ...]] = {}
        self._silence = QTimer(self)
        self._silence.setSingleShot(True)
        self._silence.setInterval(_SILENCE_MS)
        self._silence.timeout.connect(self._judge)
        grouping.changed.connect(self._refill)
        grouping.drill_asked.connect(self._show_drills_of)
        stand.piece_laid.connect(self._piece_laid)
        piano.heard_aside.connect(self._heard)
        window.page_shown.connect(self._page_shown)
        window.pages.late_grouping.when_built(self._page_built)

    def use_calendar(self, calendar: Calendar) -> None:
        """Count days in this way from now on."""
        self._calendar = calendar
        self._refill()

    def _page_built(self, page: GroupingPage) -> None:
        page.run_chosen.connect(self._run_chosen)
        page.group_chosen.connect(self._group_chosen)
        page.drill_chosen.connect(self._drill_chosen)
        page.drill_begun.connect(self._begin)
        page.drill_ended.connect(self._end)
        page.score_asked.connect(self._show_in_score)
        self._refill()

    @property
    def _page(self) -> GroupingPage:
        return self._window.pages.grouping

    # -- the page --------------------------------------------------------------------------------

    def _page_shown(self, name: str) -> None:
        if name == "page_grouping":
            self._groups.want()
            if self._to_refill:
                self._refill()
        elif self._playing is not None:
            self._end()

    def _piece_laid(self) -> None:
        if self._playing is not None:
            self._end()
        self._run_id, self._number = "", 0
        if self._window.page == "page_grouping":
            self._groups.want()

    def _refill(self) -> None:
        grouping, score = self._groups.grouping, self._stand.score
        # to fill a page takes long enough to be felt while somebody plays: only when it is shown
        self._to_refill = self._window.page != "page_grouping"
        if self._to_refill:
            return
        if grouping is None or score is None:
            self._page.show_runs(())
            return
        self._days = drill_days(self._records(), self._calendar.day_starts_at_hour)
        by_first_note: dict[str, list[DrillDay]] = defaultdict(list)
        for drill_id, days in self._days.items():
            by_first_note[drill_id.split(":")[1]].append(days[-1])
        names = way_names()
        lines = []
        for run in grouping.runs:
            last = _days_of(run, by_first_note)
            lines.append(
                RunLine(
                    run_id=run.run.run_id,
                    measure_index=run.run.start.measure_index,
                    measures=run_place(score, run),
                    hand=hand_name(run.run.hand),
                    notes=len(run.run.note_ids),
                    groups=len(run.groups),
                    way=_how(run, names),
                    tries=sum(day.tries for day in last),
                    evenness=_evenness(last),
                    delay=_delay(last),
                )
            )
        self._page.show_runs(lines)
        self._show_group()

    def _records(self) -> list[DrillRecord]:
        found = (record_of(entry) for entry in self._stand.entries(DRILLED))
        return [record for record in found if record is not None]

    def _show_drills_of(self, run_id: str, number: int) -> None:
        self._run_id, self._number = run_id, number
        self._page.choose_run(run_id)
        self._show_group()

    def _run_chosen(self, run_id: str) -> None:
        if run_id != self._run_id:
            self._run_id, self._number = run_id, 0
            self._show_group()

    def _group_chosen(self, number: int) -> None:
        self._number = number
        self._show_group()

    @property
    def _run(self) -> RunGroups | None:
        grouping = self._groups.grouping
        for run in grouping.runs if grouping is not None else ():
            if run.run.run_id == self._run_id:
                return run
        return None

    def _show_group(self) -> None:
        run, grouping, score = self._run, self._groups.grouping, self._stand.score
        if run is None or grouping is None or score is None:
            return
        self._number = min(self._number, len(run.groups) - 1)
        notes = {note.note_id: note for note in score.notes}
        self._page.show_groups(
            [group_sentence(score, notes, run, group) for group in run.groups], self._number
        )
        self._drills = drills_of_group(score, grouping, run.groups[self._number])
        self._show_drills(self._page.chosen_drill_id)

    def _show_drills(self, chosen_id: str) -> None:
        self._page.show_drills(
            [
                DrillLine(
                    drill_id=drill.drill_id,
                    title=with_signs(drill.title),
                    days=self._days.get(drill.drill_id, ()),
                )
                for drill in self._drills
            ],
            chosen_id,
        )

    def _drill_chosen(self, drill_id: str) -> None:
        if self._playing is not None and self._playing.drill_id != drill_id:
            self._end()
        drill = self._drill(drill_id)
        if drill is None:
            return
        note = drill.notes[0]
        self._page.show_picture(
            self._score_view.picture_of(
                note.measure_index,
                float(note.measure_offset_quarters),
                max(self._page.width() - _LEFT_OF_DRILLS_PIXELS, _LEAST_PICTURE_PIXELS),
            )
        )
        self._page.show_notation(None)
        self._groups.engrave(drill, self._show_notation)
        if self._playing is None:
            self._page.show_results(())
            self._page.show_listening(False, "")

    def _show_notation(self, drill: Drill, page: EngravedPage) -> None:
        """Show a drill in notes, if it is still the chosen one."""
        if drill.drill_id == self._page.chosen_drill_id:
            width = max(self._page.width() - _LEFT_OF_DRILLS_PIXELS, _LEAST_PICTURE_PIXELS)
            self._page.show_notation(
                self._score_view.picture_of_snippet(page, width), with_signs(drill.title)
            )

    def _drill(self, drill_id: str) -> Drill | None:
        return next((drill for drill in self._drills if drill.drill_id == drill_id), None)

    def _show_in_score(self) -> None:
        run = self._run
        if run is not None:
            self._window.actions_by_id["show_groups"].setChecked(True)
            self._window.show_page("page_score")
            self._score_view.focus_measure(run.run.start.measure_index)

    # -- listening -------------------------------------------------------------------------------

    def _begin(self, drill_id: str) -> None:
        self._playing = self._drill(drill_id)
        if self._playing is None:
            return
        self._forget_events()
        self._piano.set_aside(True)
        self._page.show_results(())
        self._page.show_listening(
            True,
            tr("{title}. Play it as often as you like; after a silence it is judged.").format(
                title=self._playing.title
            ),
        )

    def _end(self) -> None:
        if self._playing is None:
            return
        self._judge()
        self._playing = None
        self._silence.stop()
        self._piano.set_aside(False)
        self._page.show_listening(False, "")

    def _heard(self, message: TimedMessage) -> None:
        if self._playing is None:
            return
        if self._began_at is None:
            if message.message[0] & 0xF0 != _NOTE_ON or not message.message[2]:
                return  # a drill begins with its first note
            self._began_at, self._started = message.at_seconds, datetime.now(UTC)
        self._events.append(RawEvent(message.at_seconds - self._began_at, message.message))
        self._silence.start()

    def _judge(self) -> None:
        drill, piece, started = self._playing, self._stand.piece, self._started
        if drill is None or piece is None or started is None or not self._events:
            return
        result = hear_drill(drill, heard_from(self._events).notes)
        if not result.tries:
            self._page.show_results([tr("None of it was recognised: another drill perhaps?")])
            self._forget_events()
            return
        record = drill_record(
            result, take_id=new_id(), started_at=started, zone=self._calendar.zone
        )
        self._stand.add_entry(entry_of(record, piece.piece_id, self._events))
        self._forget_events()
        self._days = drill_days(self._records(), self._calendar.day_starts_at_hour)
        self._show_drills(drill.drill_id)
        self._page.show_results(
            [try_sentence(number, one) for number, one in enumerate(result.tries, 1)]
        )

    def _forget_events(self) -> None:
        self._events, self._began_at, self._started = [], None, None


def _how(run: RunGroups, names: dict[Way, str]) -> str:
    """How a run is grouped, empty for the usual way."""
    if run.edited:
        return tr("as you set them")
    return "" if run.way is Way.LEADING else names[run.way].lower()


def _days_of(run: RunGroups, by_first_note: dict[str, list[DrillDay]]) -> list[DrillDay]:
    """The last day of each drill that begins in a run."""
    return [day for note_id in run.run.note_ids for day in by_first_note.get(note_id, ())]


def _evenness(days: Sequence[DrillDay]) -> str:
    even = [day.evenness_sd_ms for day in days if day.evenness_sd_ms is not None]
    return tr("{ms} ms").format(ms=round(median(even))) if even else ""


def _delay(days: Sequence[DrillDay]) -> str:
    delays = [day.border_delay_ms for day in days if day.border_delay_ms is not None]
    return tr("{ms:+d} ms").format(ms=round(median(delays))) if delays else ""
