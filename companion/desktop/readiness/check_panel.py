"""The guided check: one sentence at a time, large enough to be read from the bench."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from companion.desktop import forms, tips, typography
from companion.desktop.readiness.content import CheckOver, StepShown
from companion.desktop.readiness.wording import tr

_IDLE, _RUNNING, _OVER = range(3)


class CheckPanel(QWidget):
    """Begins a check, shows its steps, and what it came to.

    Signals
    -------
    begun(), left_out(), ended()
        Begin a check, leave the open step out, end the check here.
    answered(str)
        Key and chord as they were typed.
    rehearsal_toggled(bool)
        Whether nothing shall be shown while playing.
    """

    begun = Signal()
    left_out = Signal()
    ended = Signal()
    answered = Signal(str)
    rehearsal_toggled = Signal(bool)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._begin = self._button(tr("&Begin a check"), self.begun.emit)
        self.rehearsal = QCheckBox(tr("&Dress rehearsal: show nothing while I play"))
        tip = tr(
            "As on the night: no place, no marks, no figures until the take is over. It holds for "
            "all playing until it is taken off."
        )
        self.rehearsal.setToolTip(tips.in_lines(tip))
        self.rehearsal.setAccessibleDescription(tip)
        self.rehearsal.toggled.connect(self.rehearsal_toggled)
        self._again = self._button(tr("Begin &another"), self.begun.emit)
        self._leave_out = self._button(tr("&Leave this out"), self.left_out.emit)
        self._end = self._button(tr("&End the check"), self.ended.emit)
        self._number = forms.small()
        self._says = QLabel()
        self._says.setFont(typography.serif(typography.TITLE_POINTS))
        self._says.setWordWrap(True)
        self._says.setTextFormat(Qt.TextFormat.PlainText)
        self._before = forms.small()
        self._answer = QLineEdit()
        self._answer.setFont(typography.serif())
        self._answer.setAccessibleName(tr("Key and chord"))
        self._answer.setPlaceholderText(tr("Key and chord, for example “d: iv6”"))
        self._answer.returnPressed.connect(self._give)
        self._give_button = self._button(tr("&Answer"), self._give)
        self._over = QLabel()
        self._over.setFont(typography.serif())
        self._over.setWordWrap(True)
        self._over.setTextFormat(Qt.TextFormat.PlainText)
        self._lines = forms.small()
        # parts that are shown or not: a stack would be as high as its highest part
        self._parts = (self._idle_part(), self._running_part(), self._over_part())
        column = forms.column(self)
        for part in self._parts:
            column.addWidget(part)
        self._show_part(_IDLE)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Maximum)

    @property
    def running(self) -> bool:
        """Whether a step is shown."""
        return self._shown == _RUNNING

    @property
    def says(self) -> str:
        """The sentence of the open step."""
        return self._says.text()

    def show_idle(self) -> None:
        """Offer a check."""
        self._show_part(_IDLE)

    def show_step(self, step: StepShown) -> None:
        """Show a step."""
        self._number.setText(
            tr("Step {number} of {count}").format(number=step.number, count=step.count)
        )
        self._says.setText(step.says)
        self._before.setText(tr("Before: {says}").format(says=step.before) if step.before else "")
        for part in (self._answer, self._give_button):
            part.setVisible(step.answer_wanted)
        self._answer.clear()
        self._show_part(_RUNNING)
        if step.answer_wanted:
            self._answer.setFocus()

    def show_trouble(self, sentence: str) -> None:
        """Say under the step why an answer or a take was not taken."""
        self._before.setText(sentence)

    def show_over(self, over: CheckOver) -> None:
        """Show what a check came to."""
        self._over.setText(over.says)
        self._lines.setText("\n".join(over.lines))
        self._show_part(_OVER)

    def give(self, text: str) -> None:
        """Answer as if it had been typed."""
        self._answer.setText(text)
        self._give()

    # internal

    def _show_part(self, shown: int) -> None:
        self._shown = shown
        for number, part in enumerate(self._parts):
            part.setVisible(number == shown)

    def _button(self, text: str, act: Callable[[], object]) -> QPushButton:
        button = QPushButton(text)
        button.clicked.connect(lambda _checked=False: act())
        return button

    def _give(self) -> None:
        text = self._answer.text().strip()
        if text:
            self.answered.emit(text)

    def _idle_part(self) -> QWidget:
        part = QWidget()
        column = forms.column(part)
        column.setSpacing(8)
        words = forms.small(
            tr(
                "A check asks first for a run through the whole piece, before anything else of it "
                "today; then for starts at places that are drawn, the hardest sections in tempo, "
                "and what you have in memory. The listener hears by itself what was done, so that "
                "hands stay at the piano; a step can be left out."
            )
        )
        column.addWidget(words)
        row = QHBoxLayout()
        row.addWidget(self._begin)
        row.addSpacing(12)
        row.addWidget(self.rehearsal)
        row.addStretch(1)
        column.addLayout(row)
        column.addStretch(1)
        return part

    def _running_part(self) -> QWidget:
        part = QWidget()
        column = forms.column(part)
        column.setSpacing(8)
        column.addWidget(self._number)
        column.addWidget(self._says)
        column.addWidget(self._before)
        row = QHBoxLayout()
        row.setSpacing(12)
        row.addWidget(self._answer, 2)
        row.addWidget(self._give_button)
        row.addWidget(self._leave_out)
        row.addWidget(self._end)
        row.addStretch(1)
        column.addLayout(row)
        column.addStretch(1)
        return part

    def _over_part(self) -> QWidget:
        part = QWidget()
        column = QVBoxLayout(part)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        column.addWidget(self._over)
        column.addWidget(self._lines)
        row = QHBoxLayout()
        row.addWidget(self._again)
        row.addStretch(1)
        column.addLayout(row)
        column.addStretch(1)
        return part
