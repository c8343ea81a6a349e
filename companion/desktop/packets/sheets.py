"""The sheets of lesson packets: what to send, and what to take of what came in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QDialogButtonBox,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QVBoxLayout,
    QWidget,
)

from companion.desktop import forms
from companion.desktop.report.period import PeriodBox
from companion.practice.packets.taking_in import Prospect

_WIDTH, _WORDS_HEIGHT = 460, 130
_LONGEST_WORDS = 20_000


@dataclass(frozen=True, slots=True, kw_only=True)
class LessonAsked:
    """What a lesson shall carry beside the piece."""

    name: str
    remarks: str
    with_date: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ResultsAsked:
    """What results shall carry."""

    name: str
    letter: str
    from_day: date | None
    with_takes: bool


class _Sheet(QDialog):
    """A column of fields with the buttons below it."""

    def __init__(self, title: str, question: str, accept: str, parent: QWidget | None) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.setMinimumWidth(_WIDTH)
        self.fields = QVBoxLayout()
        self.fields.setSpacing(8)
        self.buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        self.accept_button = self.buttons.addButton(accept, QDialogButtonBox.ButtonRole.AcceptRole)
        self.accept_button.setDefault(True)
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 20, 24, 20)
        column.setSpacing(12)
        column.addWidget(forms.heading(question))
        column.addLayout(self.fields)
        column.addStretch(1)
        column.addWidget(self.buttons)

    def add_words(self, label: str) -> QPlainTextEdit:
        """Add a field for some lines of text."""
        field = QPlainTextEdit()
        field.setTabChangesFocus(True)
        field.setFixedHeight(_WORDS_HEIGHT)
        forms.add_field(self.fields, label, field)
        return field


class LessonSheet(_Sheet):
    """What shall go along with a piece that is handed out.

    Signals
    -------
    asked(LessonAsked)
        The packet is to be written.
    """

    asked = Signal(object)

    def __init__(
        self, title: str, name: str, performance: str, parent: QWidget | None = None
    ) -> None:
        super().__init__(
            self.tr("Export a lesson"),
            self.tr("Hand out “{title}”").format(title=title),
            self.tr("&Save…"),
            parent,
        )
        self.name = QLineEdit(name)
        forms.add_field(self.fields, self.tr("Your &name"), self.name)
        self.remarks = self.add_words(self.tr("Some &words to the student"))
        self.date = QCheckBox(
            self.tr("Tell the date of the &performance, {day}").format(day=performance)
            if performance
            else self.tr("Tell the date of the &performance")
        )
        self.date.setChecked(bool(performance))
        self.date.setEnabled(bool(performance))
        self.fields.addWidget(self.date)
        self.fields.addWidget(
            forms.small(
                self.tr(
                    "The packet holds the score, the sections with your words and targets, tasks, "
                    "groups, fingers and corrected chords. It holds nothing that you played."
                )
            )
        )
        self.accepted.connect(self._tell)

    def _tell(self) -> None:
        self.asked.emit(
            LessonAsked(
                name=self.name.text().strip(),
                remarks=self.remarks.toPlainText().strip()[:_LONGEST_WORDS],
                with_date=self.date.isChecked(),
            )
        )


class ResultsSheet(_Sheet):
    """What shall go back to the teacher.

    Signals
    -------
    asked(ResultsAsked)
        The packet is to be written.
    """

    asked = Signal(object)

    def __init__(self, title: str, name: str, today: date, parent: QWidget | None = None) -> None:
        super().__init__(
            self.tr("Send results back"),
            self.tr("How “{title}” stands, for your teacher").format(title=title),
            self.tr("&Save…"),
            parent,
        )
        self._today = today
        self.name = QLineEdit(name)
        forms.add_field(self.fields, self.tr("Your &name"), self.name)
        self.period = PeriodBox()
        forms.add_field(self.fields, self.tr("&Days"), self.period)
        self.letter = self.add_words(self.tr("Some &words to your teacher"))
        self.takes = QCheckBox(self.tr("Also send &what I played, note for note"))
        self.fields.addWidget(self.takes)
        self.fields.addWidget(
            forms.small(
                self.tr(
                    "The packet tells how each section stands day by day, how long you played, and "
                    "your remarks on takes. It is a file that you hand on yourself."
                )
            )
        )
        self.name.textChanged.connect(self._check)
        self.accepted.connect(self._tell)
        self._check()

    def _check(self) -> None:
        self.accept_button.setEnabled(bool(self.name.text().strip()))

    def _tell(self) -> None:
        self.asked.emit(
            ResultsAsked(
                name=self.name.text().strip(),
                letter=self.letter.toPlainText().strip()[:_LONGEST_WORDS],
                from_day=self.period.from_day(self._today),
                with_takes=self.takes.isChecked(),
            )
        )


class LessonInSheet(_Sheet):
    """A lesson that came in: the teacher's words, and what to take where one's own work differs.

    Signals
    -------
    taken(object)
        The names of the differences to take.
    """

    taken = Signal(object)

    def __init__(self, looked_at: Prospect, parent: QWidget | None = None) -> None:
        packet = looked_at.packet
        super().__init__(
            self.tr("A lesson has come in"),
            packet.piece.title,
            self.tr("&Take it in") if looked_at.piece is not None else self.tr("&Put on the shelf"),
            parent,
        )
        if packet.teacher:
            self.fields.addWidget(QLabel(self.tr("From {name}").format(name=packet.teacher)))
        if packet.remarks:
            words = QPlainTextEdit(packet.remarks)
            words.setReadOnly(True)
            words.setAccessibleName(self.tr("Words of the teacher"))
            words.setMaximumHeight(_WORDS_HEIGHT)
            self.fields.addWidget(words)
        self.boxes: dict[str, QCheckBox] = {}
        if looked_at.differences:
            self.fields.addWidget(forms.small(self.tr("Take from the packet:")))
        for each in looked_at.differences:
            own = self.tr("; this is your own work") if each.is_own_work else ""
            box = QCheckBox(f"{each.words[:1].upper()}{each.words[1:]}{own}")
            box.setChecked(each.name in looked_at.chosen_at_first)
            box.setAccessibleDescription(each.told)
            self.fields.addWidget(box)
            told = forms.small(each.told)
            told.setContentsMargins(22, 0, 0, 4)
            self.fields.addWidget(told)
            self.boxes[each.name] = box
        if looked_at.piece is not None and not looked_at.differences:
            self.fields.addWidget(
                forms.small(self.tr("Everything in it is as you have it already."))
            )
        self.accepted.connect(self._tell)

    def _tell(self) -> None:
        self.taken.emit(frozenset(name for name, box in self.boxes.items() if box.isChecked()))
