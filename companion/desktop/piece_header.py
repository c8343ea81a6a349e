"""The head of the page: title, composer, the days that are left, and the names of the pages."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QToolButton, QVBoxLayout, QWidget

from companion.desktop import typography


class PieceHeader(QWidget):
    """Title on the left, days left on the right, page names below.

    Signals
    -------
    date_asked()
        The date of the performance was clicked.
    """

    date_asked = Signal()

    def __init__(self, pages: Iterable[QAction], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._title = QLabel()
        self._title.setFont(typography.serif(typography.TITLE_POINTS))
        self._composer = QLabel()
        self._composer.setFont(typography.serif(typography.SERIF_POINTS, italic=True))
        for label in (self._title, self._composer):
            label.setTextFormat(Qt.TextFormat.PlainText)
        self._days = QPushButton()
        self._days.setFlat(True)
        self._days.setToolTip(self.tr("Set the date of the performance"))
        self._days.clicked.connect(self.date_asked)
        top = QHBoxLayout()
        top.setSpacing(14)
        top.addWidget(self._title, 0, Qt.AlignmentFlag.AlignBaseline)
        top.addWidget(self._composer, 1, Qt.AlignmentFlag.AlignBaseline)
        names = QHBoxLayout()
        names.setSpacing(0)
        for action in pages:
            button = QToolButton()
            button.setObjectName("page_name")
            button.setDefaultAction(action)
            button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextOnly)
            button.setFont(typography.serif(typography.SERIF_POINTS))
            button.setAccessibleName(action.text().replace("&", ""))
            names.addWidget(button)
        top.addLayout(names)
        top.addSpacing(10)
        top.addWidget(self._days)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 8, 24, 4)
        column.addLayout(top)
        self.show_piece("", "", "")

    def show_piece(self, title: str, composer: str, days_left: str) -> None:
        """Show what is on the stand; an empty title for nothing."""
        self._title.setText(title or self.tr("Nothing on the stand"))
        self._composer.setText(composer)
        self._days.setVisible(bool(title))
        self._days.setText(days_left or self.tr("Set the date…"))
