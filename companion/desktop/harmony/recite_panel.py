"""Naming key and chord: the question, the answer, what became of it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QPixmap
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QSpinBox,
    QStackedLayout,
    QVBoxLayout,
    QWidget,
)

from companion.desktop import forms, typography
from companion.desktop.harmony.chord_chooser import ChordChooser
from companion.desktop.harmony.content import AnswerShown, QuestionShown, SectionLine
from companion.desktop.harmony.wording import share_text, tr

DEFAULT_PLACES = 10
MOST_PLACES = 50
_SIGNS = {True: "✓", False: "✗", None: "–"}


class RecitePanel(QWidget):
    """Asks for key and chord at places of the piece.

    Signals
    -------
    begun(str, int)
        Section id ("" for the whole piece) and how many places.
    answered(str)
        The typed answer.
    passed()
        The place was given up: show what it is.
    next_asked(), ended()
        The next place; no more places.
    score_toggled(bool)
        Whether the notes of the place are shown.
    """

    begun = Signal(str, int)
    answered = Signal(str)
    passed = Signal()
    next_asked = Signal()
    ended = Signal()
    score_toggled = Signal(bool)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._sections: tuple[SectionLine, ...] = ()
        self._layers = QStackedLayout(self)
        self._layers.setSizeConstraint(QStackedLayout.SizeConstraint.SetMinimumSize)
        self._layers.addWidget(self._make_start())
        self._layers.addWidget(self._make_question())

    # -- building --------------------------------------------------------------------------------

    def _make_start(self) -> QWidget:
        start = QWidget()
        column = QVBoxLayout(start)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        words = QLabel(
            tr(
                "Away from the keyboard: the program names a place, you name key and chord there. "
                "Type it as you would write it under the score, choose it from the lists, or hold "
                "the chord on the piano."
            )
        )
        words.setWordWrap(True)
        self._where = QComboBox()
        self._count = QSpinBox()
        self._count.setRange(1, MOST_PLACES)
        self._count.setValue(DEFAULT_PLACES)
        forms.inset(self._count)
        self._start_button = QPushButton(tr("&Begin"))
        self._start_button.setDefault(True)
        self._start_button.clicked.connect(self._begin)
        self._summary = QLabel()
        self._summary.setFont(typography.serif(typography.SERIF_POINTS))
        self._summary.setWordWrap(True)
        column.addWidget(words)
        row = QHBoxLayout()
        row.setSpacing(12)
        for text, field, stretch in (
            (tr("&Where"), self._where, 1),
            (tr("P&laces"), self._count, 0),
        ):
            cell = QVBoxLayout()
            cell.setSpacing(2)
            forms.add_field(cell, text, field)
            row.addLayout(cell, stretch)
        row.addWidget(self._start_button, 0, Qt.AlignmentFlag.AlignBottom)
        column.addLayout(row)
        column.addWidget(self._summary)
        column.addStretch(1)
        return start

    def _make_question(self) -> QWidget:
        page = QWidget()
        column = QVBoxLayout(page)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        self._number = forms.small()
        self._place = forms.heading("")
        self._picture = QLabel()
        self._picture.setAccessibleName(tr("The notes at this place"))
        self._picture.hide()
        self._answer = QLineEdit()
        self._answer.setPlaceholderText(tr("E flat major: V 4/3"))
        self._answer.returnPressed.connect(self._give_or_go_on)
        self.chooser = ChordChooser()
        self.chooser.chosen.connect(self._answer.setText)
        self._heard = forms.small()
        self._give = QPushButton(tr("&Answer"))
        self._give.clicked.connect(self._give_or_go_on)
        self._pass = QPushButton(tr("&I do not know"))
        self._pass.clicked.connect(self.passed)
        end = QPushButton(tr("&End here"))
        end.clicked.connect(self.ended)
        self._show_notes = QCheckBox(tr("Show the &notes"))
        self._show_notes.toggled.connect(self.score_toggled)
        self._parts = QLabel()
        self._parts.setFont(typography.serif(typography.SERIF_POINTS))
        self._parts.setWordWrap(True)
        self._reading = QLabel()
        self._reading.setFont(typography.serif(typography.HEADING_POINTS))
        self._reading.setWordWrap(True)
        self._others = forms.small()
        column.addWidget(self._number)
        column.addWidget(self._place)
        column.addWidget(self._picture)
        forms.add_field(
            column,
            tr("&Key and chord"),
            self._answer,
            tr("Key, colon, numeral; small letters for minor. Or hold the chord on the piano."),
        )
        column.addWidget(self.chooser)
        column.addWidget(self._heard)
        row = QHBoxLayout()
        for button in (self._give, self._pass, end):
            row.addWidget(button)
        row.addStretch(1)
        row.addWidget(self._show_notes)
        column.addLayout(row)
        for label in (self._reading, self._parts, self._others):
            column.addWidget(label)
        column.addStretch(1)
        return page

    # -- showing ---------------------------------------------------------------------------------

    def show_sections(self, sections: Sequence[SectionLine]) -> None:
        """Offer these sections; the chosen one stays chosen where it still exists."""
        chosen = self._where.currentData()
        self._sections = tuple(sections)
        self._where.clear()
        self._where.addItem(tr("The whole piece"), "")
        for line in self._sections:
            self._where.addItem(
                "\u2003" * line.level + f"{line.name}, {line.measures}", line.section_id
            )
        self._where.setCurrentIndex(max(self._where.findData(chosen), 0))
        self._start_button.setEnabled(bool(self._sections))

    def choose_section(self, section_id: str | None) -> None:
        """Choose where to ask."""
        self._where.setCurrentIndex(max(self._where.findData(section_id or ""), 0))

    def show_question(self, question: QuestionShown) -> None:
        """Ask about a place."""
        self._number.setText(
            tr("Place {number} of {count}").format(number=question.number, count=question.count)
        )
        place = question.place[:1].upper() + question.place[1:]
        self._place.setText(f"{place} · {question.section}" if question.section else place)
        self._answer.clear()
        self._answer.setEnabled(True)
        self.chooser.start_anew()
        self.chooser.setEnabled(True)
        self._give.setText(tr("&Answer"))
        self._pass.setEnabled(True)
        for label in (self._heard, self._parts, self._reading, self._others):
            label.setText("")
        self._layers.setCurrentIndex(1)
        self._answer.setFocus()

    def show_picture(self, picture: QPixmap | None) -> None:
        """Show the notes of the place; None hides them."""
        self._picture.setVisible(picture is not None)
        if picture is not None:
            self._picture.setPixmap(picture)
            self._picture.setFixedHeight(round(picture.height() / picture.devicePixelRatio()))
            self._picture.setMinimumWidth(1)

    def show_heard(self, text: str) -> None:
        """Say which keys are held, or that the typed answer makes no sense."""
        self._heard.setText(text)

    def show_answer(self, shown: AnswerShown) -> None:
        """Say what became of the answer."""
        self._answer.setEnabled(False)
        self.chooser.setEnabled(False)
        self._pass.setEnabled(False)
        self._heard.setText(shown.heard)
        self._reading.setText(shown.reading)
        self._parts.setText("\u2003".join(f"{_SIGNS[right]} {name}" for name, right in shown.parts))
        words = [tr("{share} all right so far.").format(share=share_text(shown.right, shown.asked))]
        if shown.alternatives:
            words.append(tr("Also heard as {others}.").format(others="; ".join(shown.alternatives)))
        self._others.setText(" ".join(words))
        self._give.setText(tr("Show the &sum") if shown.is_last else tr("Ne&xt place"))
        self._give.setFocus()

    def show_summary(self, words: str) -> None:
        """Show the beginning again, with what came out."""
        self._summary.setText(words)
        self._layers.setCurrentIndex(0)
        self._start_button.setFocus()

    @property
    def asking(self) -> bool:
        """Whether a place is open to be named."""
        return self._layers.currentIndex() == 1 and self._answer.isEnabled()

    @property
    def notes_wanted(self) -> bool:
        """Whether the notes are shown."""
        return self._show_notes.isChecked()

    @property
    def summary(self) -> str:
        """What came out last."""
        return self._summary.text()

    # -- internal --------------------------------------------------------------------------------

    def _begin(self) -> None:
        self.begun.emit(str(self._where.currentData() or ""), self._count.value())

    def _give_or_go_on(self) -> None:
        if not self._answer.isEnabled():
            self.next_asked.emit()
        elif self._answer.text().strip():
            self.answered.emit(self._answer.text())
