"""A calm line that says what long work is doing, how far it is, and lets it be cancelled."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QProgressBar, QPushButton, QVBoxLayout, QWidget

from companion.progress import Progress

_STEPS = 40  # each step of the bar is painted at once, which takes 5 ms


class ProgressLine(QWidget):
    """Shown only while something works.

    Signals
    -------
    cancel_asked()
        The person wants the work to stop.
    """

    cancel_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._what = QLabel()
        self._bar = QProgressBar()
        self._bar.setTextVisible(False)
        self._bar.setAccessibleName(self.tr("How far the work is"))
        self._cancel = QPushButton(self.tr("Cancel"))
        self._cancel.setToolTip(self.tr("Stop this work; nothing is lost"))
        self._cancel.clicked.connect(self.cancel_asked)
        row = QHBoxLayout()
        row.addWidget(self._what, 1)
        row.addWidget(self._cancel)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 6, 24, 6)
        column.setSpacing(4)
        column.addLayout(row)
        column.addWidget(self._bar)
        self.hide()

    def begin(self, doing: str) -> None:
        """Show that something has begun, before it can say how far it is."""
        self.show_progress(Progress(done=0, total=0, doing=doing))

    def show_progress(self, progress: Progress) -> None:
        """Show how far it is."""
        fraction = progress.fraction
        what = f"{progress.doing}…" if not progress.doing.endswith("…") else progress.doing
        if what != self._what.text():
            self._what.setText(what)
        self._bar.setRange(0, 0 if fraction is None else _STEPS)
        if fraction is not None:
            self._bar.setValue(round(fraction * _STEPS))
        self.show()

    def end(self) -> None:
        """Hide again."""
        self.hide()
