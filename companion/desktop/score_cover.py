"""The sheet that covers the score while it is played from memory."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QPushButton, QVBoxLayout, QWidget

from companion.desktop import forms, tips, typography

_MARGIN_PIXELS = 24
_GAP_PIXELS = 18
_ABOVE, _BELOW = 2, 3
"""Shares of free paper: words in the very middle of a sheet seem to hang too low."""


class ScoreCover(QWidget):
    """An empty sheet in the place of the score, with one sentence and a way back.

    Signals
    -------
    uncover_asked()
        The score is to be shown again.
    """

    uncover_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("score_cover")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        words = forms.heading(self.tr("Played from memory: the score is covered."))
        words.setAlignment(Qt.AlignmentFlag.AlignHCenter)
        words.setFont(typography.serif(typography.TITLE_POINTS))
        button = QPushButton(self.tr("Show the s&core"))
        tip = self.tr("Uncover the score; a take that goes on is then one with the score")
        button.setToolTip(tips.in_lines(tip))
        button.setAccessibleDescription(tip)
        button.clicked.connect(self.uncover_asked)
        sheet = QFrame()
        sheet.setObjectName("covering_sheet")
        column = QVBoxLayout(sheet)
        column.setContentsMargins(*(4 * (_MARGIN_PIXELS,)))
        column.setSpacing(_GAP_PIXELS)
        column.addStretch(_ABOVE)
        column.addWidget(words)
        column.addWidget(button, 0, Qt.AlignmentFlag.AlignHCenter)
        column.addStretch(_BELOW)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(*(4 * (_MARGIN_PIXELS,)))
        outer.addWidget(sheet)
