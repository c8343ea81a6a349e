"""The studio on paper."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from PySide6.QtGui import QTextDocument

from companion.desktop import typography
from companion.desktop.palette import DAY
from companion.practice.packets.studio import StudioRow
from companion.practice.report.wording import long_day, stands


def studio_document(rows: Iterable[StudioRow]) -> QTextDocument:
    """Make a document that can be printed on paper of any size."""
    heads = ("Student", "Piece", "Known", "Stands worst", "Last practice", "Minutes a week")
    head = "".join(f"<th>{escape(text)}</th>" for text in heads)
    body = "".join(
        f"<tr>{''.join(f'<td>{escape(text)}</td>' for text in _cells(row))}</tr>" for row in rows
    )
    document = QTextDocument()
    document.setDefaultFont(typography.serif(10.0))
    document.setDefaultStyleSheet(
        "h1 { font-size: 18pt; font-weight: normal; }"
        f"th {{ text-align: left; font-weight: normal; color: {DAY.graphite}; }}"
        "td, th { padding: 2px 12px 2px 0; }"
    )
    document.setHtml(f"<h1>Studio</h1><table cellspacing='0'><tr>{head}</tr>{body}</table>")
    return document


def _cells(row: StudioRow) -> tuple[str, ...]:
    weakest = row.weakest
    return (
        row.student.name,
        row.piece.title,
        f"{row.known} of {len(row.sections)}",
        f"{weakest.name}: {stands(weakest)}" if weakest is not None else "",
        long_day(row.last_practice) if row.last_practice is not None else "not played",
        f"{row.minutes_a_week:.0f}",
    )
