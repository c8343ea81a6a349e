"""The sheet that asks what the report shall say, with its pages beside it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from PySide6.QtCore import QTimer, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QDialogButtonBox,
    QHBoxLayout,
    QLineEdit,
    QPlainTextEdit,
    QVBoxLayout,
    QWidget,
)

from companion.desktop import forms
from companion.desktop.report.pages_view import PagesView
from companion.desktop.report.period import PeriodBox
from companion.practice.report.values import ReportValues

_TYPING_MS = 250
_FORM_PIXELS = 280
_LONGEST_LETTER = 4_000


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportChoices:
    """What the report shall say beside how the piece stands."""

    player: str = ""
    letter: str = ""
    with_playing_time: bool = True
    with_remarks: bool = True
    with_passages: bool = True

    def applied_to(self, report: ReportValues) -> ReportValues:
        """Return the report with what is wanted of it."""
        return replace(
            report,
            player=self.player,
            letter=self.letter,
            playing=report.playing if self.with_playing_time else (),
            remarks=report.remarks if self.with_remarks else (),
            resisting=report.resisting if self.with_passages else (),
        )


class ReportDialog(QDialog):
    """Choose what to tell; the pages change along.

    Signals
    -------
    period_chosen(object)
        First day to tell of, None for the first of all: other values are needed.
    save_asked(ReportValues), print_asked(ReportValues)
        The report as it is shown.
    """

    period_chosen = Signal(object)
    save_asked = Signal(object)
    print_asked = Signal(object)

    def __init__(self, today: date, player: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(self.tr("Report for the teacher"))
        self._today = today
        self._values: ReportValues | None = None
        self.name = QLineEdit(player)
        self.period = PeriodBox()
        self.letter = QPlainTextEdit()
        self.letter.setTabChangesFocus(True)
        self.letter.setMaximumHeight(110)
        self.playing = self._check(self.tr("Minutes of &playing"))
        self.passages = self._check(self.tr("Passages that re&sist"))
        self.remarks = self._check(self.tr("&Remarks on takes"))
        self.pages = PagesView()
        self._typing = QTimer(self)
        self._typing.setSingleShot(True)
        self._typing.setInterval(_TYPING_MS)
        self._typing.timeout.connect(self._show)
        self._lay_out()
        self._connect()
        self.resize(860, 680)

    @property
    def choices(self) -> ReportChoices:
        """What is chosen."""
        return ReportChoices(
            player=self.name.text().strip(),
            letter=self.letter.toPlainText().strip()[:_LONGEST_LETTER],
            with_playing_time=self.playing.isChecked(),
            with_remarks=self.remarks.isChecked(),
            with_passages=self.passages.isChecked(),
        )

    @property
    def report(self) -> ReportValues | None:
        """The report as it is shown; None while it is being worked up."""
        return self.choices.applied_to(self._values) if self._values is not None else None

    def show_values(self, values: ReportValues) -> None:
        """Show how the piece stands."""
        self._values = values
        self._save.setEnabled(True)
        self._print.setEnabled(True)
        self._show()

    def show_waiting(self) -> None:
        """Say that the values are on their way."""
        self._values = None
        self._save.setEnabled(False)
        self._print.setEnabled(False)
        self.pages.show_waiting(self.tr("The report is being written."))

    def _check(self, text: str) -> QCheckBox:
        box = QCheckBox(text)
        box.setChecked(True)
        return box

    def _lay_out(self) -> None:
        form = QVBoxLayout()
        form.setSpacing(8)
        form.addWidget(forms.heading(self.tr("What shall it say?")))
        forms.add_field(form, self.tr("Your &name"), self.name)
        forms.add_field(form, self.tr("&Days"), self.period)
        for box in (self.playing, self.passages, self.remarks):
            form.addWidget(box)
        forms.add_field(form, self.tr("Some &words to your teacher"), self.letter)
        form.addStretch(1)
        form.addWidget(
            forms.small(
                self.tr("The map and how each section stands are always there. Nothing is sent: "
                        "you print the page, or save it and hand it on.")
            )
        )  # fmt: skip
        left = QWidget()
        left.setLayout(form)
        left.setFixedWidth(_FORM_PIXELS)
        form.setContentsMargins(0, 0, 0, 0)
        row = QHBoxLayout()
        row.setSpacing(20)
        row.addWidget(left)
        row.addWidget(self.pages, 1)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        self._save = buttons.addButton(self.tr("&Save…"), QDialogButtonBox.ButtonRole.ActionRole)
        self._print = buttons.addButton(self.tr("Pr&int…"), QDialogButtonBox.ButtonRole.ActionRole)
        self._save.setToolTip(self.tr("As PDF, as a page (HTML) or as a table (CSV)"))
        self._save.setDefault(True)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 20, 24, 20)
        column.setSpacing(12)
        column.addLayout(row, 1)
        column.addWidget(buttons)

    def _connect(self) -> None:
        self.name.textChanged.connect(lambda: self._typing.start())
        self.letter.textChanged.connect(lambda: self._typing.start())
        for box in (self.playing, self.passages, self.remarks):
            box.toggled.connect(lambda: self._show())
        self.period.activated.connect(self._choose_period)
        self._save.clicked.connect(lambda: self._tell(self.save_asked))
        self._print.clicked.connect(lambda: self._tell(self.print_asked))

    def _choose_period(self) -> None:
        self.show_waiting()
        self.period_chosen.emit(self.period.from_day(self._today))

    def _tell(self, signal: object) -> None:
        if self.report is not None:
            signal.emit(self.report)  # type: ignore[attr-defined]

    def _show(self) -> None:
        report = self.report
        if report is not None:
            self.pages.show_report(report)
