"""How ready the piece is, on paper."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from PySide6.QtCore import QAbstractTableModel, QObject, Qt
from PySide6.QtGui import QTextDocument

from companion.desktop.paper_table import html_table, paper_document
from companion.desktop.readiness.content import ReadinessContent
from companion.desktop.readiness.table import (
    check_rows,
    checks_model,
    section_rows,
    sections_model,
)
from companion.desktop.readiness.wording import tr


def readiness_document(content: ReadinessContent, title: str) -> QTextDocument:
    """Make a document that can be printed on paper of any size; ``title`` is that of the piece."""
    owner = QObject()  # of the models, which here only lend their titles
    parts = [
        f"<h1>{escape(title)}</h1>",
        *(f"<p>{escape(sentence)}</p>" for sentence in content.sentences),
        _table(sections_model(owner), section_rows(content.sections)),
    ]
    if content.checks:
        parts.append(f"<h2>{escape(tr('Earlier checks'))}</h2>")
        parts.append(_table(checks_model(owner), check_rows(content.checks)))
    return paper_document("".join(parts))


def _table(model: QAbstractTableModel, rows: Sequence[tuple[str, ...]]) -> str:
    titles = (
        str(model.headerData(column, Qt.Orientation.Horizontal))
        for column in range(model.columnCount())
    )
    return html_table(titles, rows)
