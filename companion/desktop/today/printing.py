"""The plan of today on paper: a list to be laid on the music desk."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from PySide6.QtGui import QTextDocument

from companion.desktop import typography
from companion.desktop.today.content import DayLine, TodayContent, TurnLine
from companion.desktop.today.wording import minutes_text, tr

_STYLE = (
    "h1 { font-size: 18pt; font-weight: normal; } h2 { font-weight: normal; font-size: 13pt; }"
    "th { text-align: left; font-weight: normal; color: #5b5750; }"
    "td, th { padding: 3px 12px 3px 0; }"
)


def today_document(content: TodayContent, title: str) -> QTextDocument:
    """Make a document that can be printed on paper of any size.

    Parameters
    ----------
    title
        Of the piece.
    """
    document = QTextDocument()
    document.setDefaultFont(typography.serif(10.0))
    document.setDefaultStyleSheet(_STYLE)
    document.setHtml(
        f"<h1>{escape(title)}</h1><h2>{escape(content.title)}</h2>"
        f"<p>{escape(content.headline)} "
        f"{escape(minutes_text(content.minutes_planned, content.minutes_left))}</p>"
        f"{_turns(content.turns)}{_days(content)}"
        f"<p>{escape(' '.join(content.care))}</p>"
    )
    return document


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
    return _table(heads, rows) if rows else ""


def _days(content: TodayContent) -> str:
    if not content.days:
        return ""
    heads = (tr("Day"), tr("What it is for"), tr("Minutes"))
    return (
        f"<h2>{escape(tr('The way to the performance'))}</h2><p>{escape(content.outlook)}</p>"
        f"{_table(heads, [_day(day) for day in content.days])}"
    )


def _day(day: DayLine) -> tuple[str, str, str]:
    return day.day, day.what, day.minutes


def _table(heads: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> str:
    head = "".join(f"<th>{escape(each)}</th>" for each in heads)
    body = "".join(
        f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in row)}</tr>" for row in rows
    )
    return f"<table><tr>{head}</tr>{body}</table>"
