"""The page of the days on paper: a table of the sections, one of the tasks, then the takes."""

from __future__ import annotations

from dataclasses import replace
from html import escape

from PySide6.QtCore import Qt
from PySide6.QtGui import QTextDocument

from companion.desktop import typography
from companion.desktop.days import wording
from companion.desktop.days.content import DaysContent
from companion.desktop.days.section_table import SectionTableModel
from companion.desktop.days.take_table import Column, TakeTableModel

MOST_TAKES = 60
_MOST_LETTERS = 30  # of a section's or a take's name
_FIXED, _MOST_DAYS = 3, 6  # section, measures, takes; and the days that have room on A4


def days_document(content: DaysContent, title: str, composer: str) -> QTextDocument:
    """Make a document that can be printed on paper of any size."""
    sections, tasks, takes = SectionTableModel(), SectionTableModel(), TakeTableModel()
    sections.show_content(content)
    tasks.show_content(replace(content, sections=content.tasks))
    takes.show_rows(content.takes[:MOST_TAKES])
    document = QTextDocument()
    document.setDefaultFont(typography.serif(9.0))
    document.setDefaultStyleSheet(
        "h1 { font-size: 18pt; font-weight: normal; } h2 { font-weight: normal; font-size: 13pt; }"
        "th { text-align: left; font-weight: normal; color: #5b5750; }"
        "td, th { padding: 2px 10px 2px 0; white-space: nowrap; }"
        "td.words { white-space: normal; }"
    )
    document.setHtml(
        f"<h1>{escape(title)}</h1><p><i>{escape(composer)}</i></p>"
        f"<h2>{escape(wording.tr('Sections by days'))}</h2>{_table(sections, _FIXED + _MOST_DAYS)}"
        f"<p>{escape(wording.tr('Median accuracy · median running tempo, in beats a minute'))}</p>"
        f"{_tasks_html(tasks) if content.tasks else ''}"
        f"<h2>{escape(wording.tr('Takes'))}</h2>{_table(takes)}"
    )
    return document


def _tasks_html(tasks: SectionTableModel) -> str:
    title = escape(wording.tr("Tasks by days"))
    return f"<h2>{title}</h2>{_table(tasks, _FIXED + _MOST_DAYS)}"


def _table(model: SectionTableModel | TakeTableModel, most_columns: int = 99) -> str:
    """A table as HTML; only the remark of a take may run over several lines."""
    columns = range(min(model.columnCount(), most_columns))

    def cell(row: int, column: int) -> str:
        text = str(model.data(model.index(row, column)) or "")
        if isinstance(model, TakeTableModel) and column == Column.REMARK:
            return f"<td class='words'>{escape(text)}</td>"
        return f"<td>{escape(_shortened(text))}</td>"

    head = "".join(
        f"<th>{escape(str(model.headerData(column, Qt.Orientation.Horizontal)))}</th>"
        for column in columns
    )
    rows = "".join(
        f"<tr>{''.join(cell(row, column) for column in columns)}</tr>"
        for row in range(model.rowCount())
    )
    return f"<table cellspacing='0'><tr>{head}</tr>{rows}</table>"


def _shortened(text: str) -> str:
    return text if len(text) <= _MOST_LETTERS else text[: _MOST_LETTERS - 1] + "…"
