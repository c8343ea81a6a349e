"""A page of the report as it will be printed."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from companion.desktop.palette import DAY
from companion.desktop.report.paper.pages import PAGE_HEIGHT, PAGE_WIDTH, Draw, draw_page

_USUAL = QSize(440, 620)
_EDGE = 6


class Preview(QWidget):
    """Shows one page at a time, as large as there is room; paper is light also at night."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(280, 396)
        self._pages: tuple[Sequence[Draw], ...] = ()
        self._page = 0
        self._waiting = ""
        self.setAccessibleName(self.tr("Preview of the report"))

    def sizeHint(self) -> QSize:
        """About half of the real size."""
        return _USUAL

    @property
    def page_count(self) -> int:
        """How many pages there are."""
        return len(self._pages)

    def show_pages(self, pages: Sequence[Sequence[Draw]]) -> None:
        """Show other pages; the number of the page stays where it can."""
        self._pages = tuple(pages)
        self._waiting = ""
        self.show_page(self._page)

    def show_waiting(self, words: str) -> None:
        """Say what is being waited for."""
        self._waiting = words
        self.update()

    def show_page(self, page: int) -> None:
        """Show the page of a number, from 0."""
        self._page = max(0, min(page, len(self._pages) - 1))
        self.setAccessibleDescription(
            self.tr("Page {n} of {count}").format(n=self._page + 1, count=len(self._pages))
        )
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the paper and what is on it."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        width, height = self.width() - 2 * _EDGE, self.height() - 2 * _EDGE
        scale = min(width / PAGE_WIDTH, height / PAGE_HEIGHT)
        paper = QRectF(0, 0, PAGE_WIDTH * scale, PAGE_HEIGHT * scale)
        paper.moveCenter(QRectF(self.rect()).center())
        painter.setPen(QPen(QColor(DAY.hairline), 1))
        painter.setBrush(QColor(DAY.sheet))
        painter.drawRect(paper)
        if self._waiting:
            painter.setPen(QColor(DAY.graphite))
            painter.drawText(paper, Qt.AlignmentFlag.AlignCenter, self._waiting)
        elif self._pages:
            painter.translate(paper.topLeft())
            draw_page(painter, self._pages[self._page], paper.width(), paper.height())
        painter.end()
