"""The few dialogs: the date of a performance, and what is shown when the program is at fault."""

from __future__ import annotations

import platform
from datetime import date

from PySide6.QtCore import QDate, QSize, Qt, Signal, qVersion
from PySide6.QtGui import QGuiApplication, QTextCharFormat
from PySide6.QtWidgets import (
    QCalendarWidget,
    QDialog,
    QDialogButtonBox,
    QLabel,
    QPlainTextEdit,
    QVBoxLayout,
    QWidget,
)

from companion import __version__
from companion.desktop import forms

_CALENDAR_PIXELS = QSize(380, 290)  # room for the short names of the days in every language


class DateDialog(QDialog):
    """Choose the day of the performance.

    Signals
    -------
    date_chosen(object)
        The day, None for no day.
    """

    date_chosen = Signal(object)

    def __init__(self, chosen: date | None, today: date, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(self.tr("Date of the performance"))
        self._calendar = QCalendarWidget()
        self._calendar.setAccessibleName(self.tr("Day of the performance"))
        self._calendar.setVerticalHeaderFormat(
            QCalendarWidget.VerticalHeaderFormat.NoVerticalHeader
        )
        self._calendar.setHorizontalHeaderFormat(
            QCalendarWidget.HorizontalHeaderFormat.ShortDayNames
        )
        self._calendar.setGridVisible(False)
        plain = QTextCharFormat()  # Saturday and Sunday are no warnings
        for weekday in (Qt.DayOfWeek.Saturday, Qt.DayOfWeek.Sunday):
            self._calendar.setWeekdayTextFormat(weekday, plain)
        self._calendar.setMinimumSize(_CALENDAR_PIXELS)
        day = chosen or today
        self._calendar.setSelectedDate(QDate(day.year, day.month, day.day))
        self._calendar.activated.connect(self.accept)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        buttons.addButton(self.tr("&Set the date"), QDialogButtonBox.ButtonRole.AcceptRole)
        none = buttons.addButton(self.tr("&No date"), QDialogButtonBox.ButtonRole.DestructiveRole)
        none.clicked.connect(self._clear)
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 20, 24, 20)
        column.setSpacing(12)
        column.addWidget(forms.heading(self.tr("When must it be played?")))
        column.addWidget(self._calendar)
        column.addWidget(buttons)
        self.accepted.connect(self._tell)

    def _tell(self) -> None:
        day = self._calendar.selectedDate()
        self.date_chosen.emit(date(day.year(), day.month(), day.day()))

    def _clear(self) -> None:
        self.date_chosen.emit(None)
        self.close()


class FaultDialog(QDialog):
    """Says that the program is at fault, with everything a report needs, ready to be copied."""

    def __init__(self, details: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(self.tr("Something went wrong in the program"))
        self.resize(720, 480)
        text = QLabel(
            self.tr(
                "This is a fault of the program, not yours. What you played is stored. You can go "
                "on; if it happens again, please report it with the text below."
            )
        )
        text.setWordWrap(True)
        self._details = QPlainTextEdit(f"{versions()}\n\n{details}")
        self._details.setReadOnly(True)
        self._details.setAccessibleName(self.tr("Details for a report"))
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        copy = buttons.addButton(self.tr("&Copy"), QDialogButtonBox.ButtonRole.ActionRole)
        copy.clicked.connect(self._copy)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 20, 24, 20)
        column.setSpacing(12)
        column.addWidget(forms.heading(self.windowTitle()))
        column.addWidget(text)
        column.addWidget(self._details, 1)
        column.addWidget(buttons)

    def _copy(self) -> None:
        QGuiApplication.clipboard().setText(self._details.toPlainText())


def versions() -> str:
    """Versions of everything that matters for a report."""
    return (
        f"Companion {__version__}, Python {platform.python_version()}, Qt {qVersion()}, "
        f"{platform.platform()}"
    )
