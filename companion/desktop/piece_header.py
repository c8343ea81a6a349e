"""The head of the page: title, composer, the days that are left, and the names of the pages."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import QPoint, QSize, Qt, Signal
from PySide6.QtGui import QAction, QFontMetrics, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QGridLayout, QPushButton, QSizePolicy, QWidget

from companion.desktop import typography
from companion.desktop.page_names import PageNames

_MARGINS = (24, 8, 24, 4)
_GAP_PIXELS = 14
_LEAST_TITLE_PIXELS = 260


class PieceHeader(QWidget):
    """Title on the left, days left on the right, page names between them or, without room, below.

    Signals
    -------
    date_asked()
        The date of the performance was clicked.
    """

    date_asked = Signal()

    def __init__(self, pages: Iterable[QAction], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._title = _TitleLine()
        self._names = PageNames(pages, self)
        self._days = QPushButton()
        self._days.setFlat(True)
        self._days.setToolTip(self.tr("Set the date of the performance"))
        self._days.clicked.connect(self.date_asked)
        self._names_below: bool | None = None
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(*_MARGINS)
        self._grid.setHorizontalSpacing(_GAP_PIXELS)
        self._grid.setVerticalSpacing(2)
        self._grid.setColumnStretch(0, 1)
        self._grid.addWidget(self._title, 0, 0)
        self._grid.addWidget(self._days, 0, 2)
        self.show_piece("", "", "")

    def show_piece(self, title: str, composer: str, days_left: str) -> None:
        """Show what is on the stand; an empty title for nothing."""
        self._title.show_words(title or self.tr("Nothing on the stand"), composer)
        self._days.setVisible(bool(title))
        self._days.setText(days_left or self.tr("Set the date…"))
        self._place_names()

    def minimumSizeHint(self) -> QSize:
        """Never so wide that a long title or many pages would hold the window open."""
        return QSize(_LEAST_TITLE_PIXELS, super().minimumSizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Put the names of the pages below where they have no room beside the title."""
        super().resizeEvent(event)
        self._place_names()

    def _place_names(self) -> None:
        left, _, right, _ = _MARGINS
        needed = self._names.sizeHint().width() + self._days.sizeHint().width() + 2 * _GAP_PIXELS
        room = self.width() - left - right
        below = room - needed < min(self._title.sizeHint().width(), _LEAST_TITLE_PIXELS)
        if below == self._names_below:
            return
        self._names_below = below
        self._grid.removeWidget(self._names)
        if below:
            self._grid.addWidget(self._names, 1, 0, 1, 3)
        else:
            self._grid.addWidget(self._names, 0, 1)


class _TitleLine(QWidget):
    """Title and composer on one baseline; the composer gives way first, then the title's end."""

    def __init__(self) -> None:
        super().__init__()
        self._title = self._composer = ""
        self._title_font = typography.serif(typography.TITLE_POINTS)
        self._composer_font = typography.serif(typography.SERIF_POINTS, italic=True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_words(self, title: str, composer: str) -> None:
        """Show these; all of it stands in the tooltip."""
        self._title, self._composer = title, composer
        words = f"{title}, {composer}" if composer else title
        self.setAccessibleName(words)
        self.setToolTip(words)
        self.updateGeometry()
        self.update()

    def text(self) -> str:
        """The title."""
        return self._title

    def sizeHint(self) -> QSize:
        """Room for both."""
        title = QFontMetrics(self._title_font)
        composer = QFontMetrics(self._composer_font).horizontalAdvance(self._composer)
        width = title.horizontalAdvance(self._title) + _GAP_PIXELS + composer
        return QSize(width, title.height())

    def minimumSizeHint(self) -> QSize:
        """A few letters."""
        return QSize(60, self.sizeHint().height())

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Write as much as fits."""
        painter = QPainter(self)
        painter.setPen(self.palette().color(self.foregroundRole()))
        metrics = QFontMetrics(self._title_font)
        base = (self.height() - metrics.height()) // 2 + metrics.ascent()
        title = metrics.elidedText(self._title, Qt.TextElideMode.ElideRight, self.width())
        painter.setFont(self._title_font)
        painter.drawText(QPoint(0, base), title)
        left = metrics.horizontalAdvance(title) + _GAP_PIXELS
        smaller = QFontMetrics(self._composer_font)
        composer = smaller.elidedText(
            self._composer, Qt.TextElideMode.ElideRight, self.width() - left
        )
        if len(composer) > 1:  # more than the dots alone
            painter.setFont(self._composer_font)
            painter.drawText(QPoint(left, base), composer)
        painter.end()
