"""Which days a report tells of."""

from __future__ import annotations

from datetime import date, timedelta

from PySide6.QtWidgets import QComboBox, QWidget

PERIODS_DAYS: tuple[int | None, ...] = (None, 14, 28, 84)


class PeriodBox(QComboBox):
    """All days, or the last two, four or twelve weeks."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        for days in PERIODS_DAYS:
            text = (
                self.tr("Since the first take")
                if days is None
                else self.tr("The last {n} weeks").format(n=days // 7)
            )
            self.addItem(text, days)

    def from_day(self, today: date) -> date | None:
        """The first day of the period that is chosen; None for all days."""
        days = self.currentData()
        return None if days is None else today - timedelta(days=int(days) - 1)
