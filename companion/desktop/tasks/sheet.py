"""What the pianist writes about a task: its name, its measures, how to practise it."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from companion.desktop import forms, typography
from companion.desktop.tasks.content import TaskLine
from companion.desktop.tasks.wording import tr

_GAP_PIXELS = 18


class TaskSheet(QWidget):
    """Fields in a row; whatever is written is stored when the field is left.

    Signals
    -------
    renamed(str, str)
        Task id and its new name.
    moved(str, int, int)
        Task id and the indices of its first and last measure.
    written(str, str)
        Task id and how to practise it.
    """

    renamed = Signal(str, str)
    moved = Signal(str, int, int)
    written = Signal(str, str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._line: TaskLine | None = None
        self._numbers: tuple[str, ...] = ()
        self._name = QLineEdit()
        self._name.setFont(typography.serif())
        self._name.editingFinished.connect(self._name_left)
        self._first, self._last = QComboBox(), QComboBox()
        for box in (self._first, self._last):
            box.activated.connect(self._measures_chosen)
        self._how = QLineEdit()
        self._how.setFont(typography.serif())
        self._how.editingFinished.connect(self._how_left)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(_GAP_PIXELS)
        example = tr("In your own words: hands apart, in dotted rhythms, from the last note back…")
        self._how.setPlaceholderText(example)
        for text, field, stretch, tip in (
            (tr("Nam&e of the task"), self._name, 3, ""),
            (tr("&From measure"), self._first, 0, ""),
            (tr("To meas&ure"), self._last, 0, ""),
            (tr("How to pract&ise it"), self._how, 5, example),
        ):
            part = QVBoxLayout()
            part.setSpacing(4)
            forms.add_field(part, text, field, tip)
            row.addLayout(part, stretch)

    def show_task(self, line: TaskLine | None, numbers: tuple[str, ...]) -> None:
        """Show a task; what was written for the one before is stored first."""
        before = self._line
        if before is not None and (line is None or line.task_id != before.task_id):
            self._name_left()
            self._how_left()
        self._line = line
        self.setEnabled(line is not None)
        if line is None:
            return
        self._name.setText(line.name)
        self._how.setText(line.how_to_practise)
        if numbers != self._numbers:
            self._numbers = numbers
            for box in (self._first, self._last):
                box.clear()
                box.addItems(numbers)
        self._first.setCurrentIndex(line.start.measure_index)
        last = line.end.measure_index - (0 if line.end.offset_quarters else 1)
        self._last.setCurrentIndex(min(last, len(numbers) - 1))

    def focus_name(self) -> None:
        """Put the cursor into the name."""
        self._name.setFocus()
        self._name.selectAll()

    def _name_left(self) -> None:
        line, name = self._line, self._name.text().strip()
        if line is not None and name and name != line.name:
            self.renamed.emit(line.task_id, name)

    def _how_left(self) -> None:
        line, words = self._line, self._how.text().strip()
        if line is not None and words != line.how_to_practise:
            self.written.emit(line.task_id, words)

    def _measures_chosen(self) -> None:
        line = self._line
        if line is not None:
            self.moved.emit(line.task_id, self._first.currentIndex(), self._last.currentIndex())
