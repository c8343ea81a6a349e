"""The page of the days on paper: a table of the sections, then the takes."""

from __future__ import annotations

from html import escape

from PySide6.QtCore import Qt
from PySide6.QtGui import QTextDocument

from companion.desktop import typography
from companion.desktop.days import wording
from companion.desktop.days.content import DaysContent
from companion.desktop.days.section_table import SectionTableModel
from companion.desktop.days.take_table import TakeTableModel

MOST_TAKES = 60


def days_document(content: DaysContent, title: str, composer: str) -> QTextDocument:
    """Make a document that can be printed on paper of any size."""
    sections, takes = SectionTableModel(), TakeTableModel()
    sections.show_content(content)
    takes.show_rows(content.takes[:MOST_TAKES])
    document = QTextDocument()
    document.setDefaultFont(typography.serif(typography.TEXT_POINTS))
    document.setDefaultStyleSheet(
        "h1 { font-size: 18pt; font-weight: normal; } h2 { font-weight: normal; font-size: 13pt; }"
        "th { text-align: left; font-weight: normal; color: #5b5750; }"
        "td, th { padding: 2px 12px 2px 0; }"
    )
    document.setHtml(
        f"<h1>{escape(title)}</h1><p><i>{escape(composer)}</i></p>"
        f"<h2>{escape(wording.tr('Sections by days'))}</h2>{_table(sections)}"
        f"<p>{escape(wording.tr('Median accuracy · median running tempo, in beats a minute'))}</p>"
        f"<h2>{escape(wording.tr('Takes'))}</h2>{_table(takes)}"
    )
    return document


def _table(model: SectionTableModel | TakeTableModel) -> str:
    columns = range(model.columnCount())
    head = "".join(
        f"<th>{escape(str(model.headerData(column, Qt.Orientation.Horizontal)))}</th>"
        for column in columns
    )
    rows = "".join(
        "<tr>"
        + "".join(
            f"<td>{escape(str(model.data(model.index(row, column)) or ''))}</td>"
            for column in columns
        )
        + "</tr>"
        for row in range(model.rowCount())
    )
    return f"<table cellspacing='0'><tr>{head}</tr>{rows}</table>"
