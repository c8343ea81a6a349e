"""The studio on paper."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtGui import QTextDocument

from companion.desktop.paper_table import html_table, paper_document
from companion.practice.packets.studio import StudioRow
from companion.practice.report.wording import long_day, stands


def studio_document(rows: Iterable[StudioRow]) -> QTextDocument:
    """Make a document that can be printed on paper of any size."""
    heads = ("Student", "Piece", "Known", "Stands worst", "Last practice", "Minutes a week")
    return paper_document(f"<h1>Studio</h1>{html_table(heads, map(_cells, rows))}")


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
