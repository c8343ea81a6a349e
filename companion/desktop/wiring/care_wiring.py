"""Care for the hands: a break is proposed, a sudden rise is told; nothing is ever blocked."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from companion.desktop.last_asked import LastAsked
from companion.desktop.message_strip import Tone
from companion.history.care import (
    WEEKS_COMPARED,
    PlayedSpan,
    minutes_by_day,
    since_break,
    spans_of,
    weekly_time,
)

if TYPE_CHECKING:
    from companion.desktop.main_window import MainWindow
    from companion.desktop.stand import Stand
    from companion.desktop.wiring.calendar import Calendar
    from companion.desktop.wiring.view_wiring import ViewWiring
    from companion.history.model import Take

_DAYS_READ = 7 * (WEEKS_COMPARED + 1) + 1
_SPANS_KEPT = timedelta(hours=6)
_PROMPT_AGAIN = timedelta(minutes=10)


class CareWiring(QObject):
    """Counts playing time over all pieces.

    Signals
    -------
    told(tuple)
        Sentences for the page of today.
    broke(str, str)
        A fault of the program: sentence and traceback.
    """

    told = Signal(object)
    broke = Signal(str, str)

    def __init__(
        self, window: MainWindow, stand: Stand, view: ViewWiring, calendar: Calendar
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._view = view
        self._calendar = calendar
        self._spans: list[PlayedSpan] = []
        self._weekly = ""
        self._prompted_at: datetime | None = None
        self._reading = LastAsked(self)
        self._reading.answered.connect(self._weeks_known)
        self._reading.broke.connect(self.broke)
        self._read()

    def use_calendar(self, calendar: Calendar) -> None:
        """Count days in this way from now on; it is another day, perhaps."""
        self._calendar = calendar
        self._read()

    def take_finished(self, take: Take) -> None:
        """Count a take, and propose a break when it is time for one."""
        now = datetime.now(UTC)
        self._spans = [span for span in self._spans if span.ended_at > now - _SPANS_KEPT]
        self._spans.extend(spans_of(take))
        after_minutes = self._view.settings.break_after_minutes
        if after_minutes:
            self._propose_break(now, after_minutes)

    def close(self) -> None:
        """Wait for what is being read."""
        self._reading.close()

    def _propose_break(self, now: datetime, after_minutes: int) -> None:
        played = since_break(self._spans, now, after_minutes=after_minutes)
        if played.prompt is None:
            return
        if self._prompted_at is not None and now - self._prompted_at < _PROMPT_AGAIN:
            return
        self._prompted_at = now
        self._window.messages.show_message(played.prompt, Tone.CALM)

    # -- the weeks -------------------------------------------------------------------------------

    def _read(self) -> None:
        history = self._stand.history
        if history is None:
            return
        today, hour = self._calendar.today, self._calendar.day_starts_at_hour
        since = datetime.now(UTC) - timedelta(days=_DAYS_READ)

        def read(_report: object) -> str:
            spans = [PlayedSpan(*row) for row in history.playing_times(since)]
            return weekly_time(minutes_by_day(spans, hour), today).warning or ""

        self._reading.ask(read)

    def _weeks_known(self, warning: object) -> None:
        self._weekly = str(warning)
        self.told.emit((self._weekly,) if self._weekly else ())
