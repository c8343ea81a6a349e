"""Time to practise: minutes for each day of the week, days off, from memory or not."""

from __future__ import annotations

from datetime import date

from PySide6.QtCore import QDate, QLocale, QSize, Qt, Signal
from PySide6.QtGui import QFont, QTextCharFormat
from PySide6.QtWidgets import (
    QCalendarWidget,
    QCheckBox,
    QDialog,
    QDialogButtonBox,
    QGridLayout,
    QLabel,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from companion.desktop import forms, typography
from companion.desktop.today.wording import tr
from companion.history.planning.situation import Availability
from companion.practice.planning.document import PlanChoices

_MOST_MINUTES = 600
_STEP_MINUTES = 5
_CALENDAR_PIXELS = QSize(380, 290)


class TimeDialog(QDialog):
    """Set how long there is time on which day.

    Signals
    -------
    chosen(PlanChoices)
        Accepted.
    """

    chosen = Signal(object)

    def __init__(self, choices: PlanChoices, today: date, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("Time and days off"))
        self._before = choices
        self._days_off = set(choices.availability.days_off)
        self._minutes = [self._spin_box(each) for each in choices.availability.minutes_by_weekday]
        self._memory = QCheckBox(tr("It will be played from &memory"))
        self._memory.setChecked(choices.from_memory)
        self._calendar = QCalendarWidget()
        self._calendar.setAccessibleName(tr("Days off"))
        self._calendar.setVerticalHeaderFormat(
            QCalendarWidget.VerticalHeaderFormat.NoVerticalHeader
        )
        self._calendar.setGridVisible(False)
        self._calendar.setMinimumSize(_CALENDAR_PIXELS)
        plain = QTextCharFormat()
        for weekday in (Qt.DayOfWeek.Saturday, Qt.DayOfWeek.Sunday):
            self._calendar.setWeekdayTextFormat(weekday, plain)
        self._calendar.setMinimumDate(QDate(today.year, today.month, today.day))
        self._calendar.activated.connect(self._toggle)
        self._calendar.clicked.connect(self._toggle)
        self._told = forms.small()
        buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel
        )
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 20, 24, 20)
        column.setSpacing(10)
        column.addWidget(forms.heading(tr("Minutes for this piece")))
        column.addLayout(self._week())
        column.addWidget(self._memory)
        column.addWidget(forms.rule())
        column.addWidget(forms.heading(tr("Days off")))
        column.addWidget(
            forms.small(tr("Click a day, or press Enter on it, to take it off or to give it back."))
        )
        column.addWidget(self._calendar)
        column.addWidget(self._told)
        column.addWidget(buttons)
        self.accepted.connect(self._tell)
        for day in self._days_off:
            self._show_day(day)
        self._show_count()

    @property
    def choices(self) -> PlanChoices:
        """What is set now."""
        return PlanChoices(
            availability=Availability(
                minutes_by_weekday=tuple(box.value() for box in self._minutes),
                days_off=frozenset(self._days_off),
                other_minutes=self._before.availability.other_minutes,
            ),
            from_memory=self._memory.isChecked(),
        )

    def toggle_day(self, day: date) -> None:
        """Take a day off, or give it back."""
        self._days_off ^= {day}
        self._show_day(day)
        self._show_count()

    def set_minutes(self, weekday: int, minutes: int) -> None:
        """Set the minutes of a day of the week, 0 for Monday."""
        self._minutes[weekday].setValue(minutes)

    def _spin_box(self, minutes: int) -> QSpinBox:
        box = QSpinBox()
        box.setRange(0, _MOST_MINUTES)
        box.setSingleStep(_STEP_MINUTES)
        box.setValue(minutes)
        forms.inset(box)
        return box

    def _week(self) -> QGridLayout:
        grid = QGridLayout()
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(4)
        locale = QLocale()
        for number, box in enumerate(self._minutes):
            day = locale.standaloneDayName(number + 1, QLocale.FormatType.ShortFormat)
            label = QLabel(day)
            label.setFont(typography.sans(typography.SMALL_POINTS))
            label.setBuddy(box)
            box.setAccessibleName(
                tr("Minutes on {day}").format(day=locale.standaloneDayName(number + 1))
            )
            grid.addWidget(label, 0, number)
            grid.addWidget(box, 1, number)
        return grid

    def _toggle(self, day: QDate) -> None:
        self.toggle_day(date(day.year(), day.month(), day.day()))

    def _show_day(self, day: date) -> None:
        style = QTextCharFormat()
        if day in self._days_off:  # struck out: not by colour alone
            style.setFontStrikeOut(True)
            style.setFontWeight(int(QFont.Weight.Bold))
        self._calendar.setDateTextFormat(QDate(day.year, day.month, day.day), style)

    def _show_count(self) -> None:
        count = len(self._days_off)
        self._told.setText(
            tr("No day off.")
            if not count
            else tr("One day off.")
            if count == 1
            else tr("{count} days off.").format(count=count)
        )

    def _tell(self) -> None:
        if self.choices != self._before:
            self.chosen.emit(self.choices)
