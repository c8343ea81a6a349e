"""The plan of today on paper: a list to be laid on the music desk."""

from __future__ import annotations

from html import escape

from PySide6.QtGui import QTextDocument

from companion.desktop.paper_table import html_table, paper_document
from companion.desktop.today.content import TodayContent, TurnLine
from companion.desktop.today.table import day_rows
from companion.desktop.today.wording import minutes_text, tr


def today_document(content: TodayContent, title: str) -> QTextDocument:
    """Make a document that can be printed on paper of any size.

    Parameters
    ----------
    title
        Of the piece.
    """
    return paper_document(
        f"<h1>{escape(title)}</h1><h2>{escape(content.title)}</h2>"
        f"<p>{escape(content.headline)} "
        f"{escape(minutes_text(content.minutes_planned, content.minutes_left))}</p>"
        f"{_turns(content.turns)}{_days(content)}"
        f"<p>{escape(' '.join(content.care))}</p>"
    )


def _turns(turns: tuple[TurnLine, ...]) -> str:
    heads = ("", tr("What"), tr("Where"), tr("Set to"), tr("Minutes"), tr("Why"))
    rows = [
        (
            "✓" if t.done else "–" if t.too_late else "☐",
            t.what,
            t.where,
            t.tempo,
            str(t.minutes),
            t.why,
        )
        for t in turns
    ]
    return html_table(heads, rows) if rows else ""


def _days(content: TodayContent) -> str:
    if not content.days:
        return ""
    heads = (tr("Day"), tr("What it is for"), tr("Minutes"))
    return (
        f"<h2>{escape(tr('The way to the performance'))}</h2><p>{escape(content.outlook)}</p>"
        f"{html_table(heads, day_rows(content.days))}"
    )
