"""The pages of a report, to be turned over."""

from __future__ import annotations

from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from companion.desktop.report.paper.layout import lay_out
from companion.desktop.report.preview import Preview
from companion.practice.report.values import ReportValues


class PagesView(QWidget):
    """A preview, and what turns its pages where there are several."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.preview = Preview()
        self._page = 0
        self._label = QLabel()
        self._back = QPushButton(self.tr("&Back"))
        self._next = QPushButton(self.tr("Ne&xt"))
        self._back.clicked.connect(lambda: self._turn(-1))
        self._next.clicked.connect(lambda: self._turn(1))
        row = QHBoxLayout()
        row.addStretch(1)
        for widget in (self._back, self._label, self._next):
            row.addWidget(widget)
            widget.hide()
        row.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.preview, 1)
        column.addLayout(row)

    def show_report(self, report: ReportValues) -> None:
        """Show another report; the number of the page stays where it can."""
        self.preview.show_pages(lay_out(report))
        self._turn(0)

    def show_waiting(self, words: str) -> None:
        """Say what is being waited for."""
        self.preview.show_waiting(words)

    def _turn(self, by: int) -> None:
        count = self.preview.page_count
        self._page = max(0, min(self._page + by, count - 1))
        self.preview.show_page(self._page)
        self._back.setEnabled(self._page > 0)
        self._next.setEnabled(self._page < count - 1)
        for widget in (self._back, self._next, self._label):
            widget.setVisible(count > 1)
        self._label.setText(self.tr("Page {n} of {count}").format(n=self._page + 1, count=count))
