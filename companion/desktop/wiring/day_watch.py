"""Notices that another day has begun, or that the clock or the time zone was changed.

A window may stay open for weeks, and a laptop travels.
"""

from __future__ import annotations

from PySide6.QtCore import QObject, QTimer, Signal

from companion.desktop.wiring.calendar import Calendar, zone_of_this_machine

_LOOK_EVERY_MS = 20_000


class DayWatch(QObject):
    """Looks at the calendar now and then.

    Signals
    -------
    changed(Calendar)
        It is another practice day than at the last look, or another zone.
    """

    changed = Signal(object)

    def __init__(self, calendar: Calendar, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._calendar = calendar
        self._seen = (calendar.zone, calendar.today)
        self._timer = QTimer(self)
        self._timer.setInterval(_LOOK_EVERY_MS)
        self._timer.timeout.connect(self.look)
        self._timer.start()

    def use_calendar(self, calendar: Calendar) -> None:
        """Count days in this way from now on."""
        self._calendar = calendar
        self._seen = (calendar.zone, calendar.today)

    def look(self) -> None:
        """Look now; the timer does it by itself."""
        zone_of_this_machine.cache_clear()
        seen = (self._calendar.zone, self._calendar.today)
        if seen != self._seen:
            self._seen = seen
            self.changed.emit(self._calendar)
