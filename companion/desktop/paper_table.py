"""Tables on paper: the look that printed lists share."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from PySide6.QtGui import QTextDocument

from companion.desktop import typography
from companion.desktop.palette import DAY

_STYLE = (
    "h1 { font-size: 18pt; font-weight: normal; } h2 { font-weight: normal; font-size: 13pt; }"
    f"th {{ text-align: left; font-weight: normal; color: {DAY.graphite}; }}"
    "td, th { padding: 3px 12px 3px 0; }"
)


def paper_document(html: str) -> QTextDocument:
    """Make a document that can be printed on paper of any size."""
    document = QTextDocument()
    document.setDefaultFont(typography.serif(10.0))
    document.setDefaultStyleSheet(_STYLE)
    document.setHtml(html)
    return document


def html_table(heads: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    """Write a table as HTML; texts may hold any letters."""
    head = "".join(f"<th>{escape(text)}</th>" for text in heads)
    body = "".join(
        f"<tr>{''.join(f'<td>{escape(text)}</td>' for text in row)}</tr>" for row in rows
    )
    return f"<table cellspacing='0'><tr>{head}</tr>{body}</table>"
