"""The takes of today in two lines each."""

from __future__ import annotations

from companion.desktop.dates import weekday_and_day
from companion.desktop.days.content import DaysContent, TakeRow
from companion.desktop.listener_panel.take_list import TakeLine
from companion.desktop.percent import percent
from companion.desktop.section_map.wording import tr
from companion.listening.notes import Hands


def today_lines(content: DaysContent, hands_names: dict[Hands, str]) -> tuple[TakeLine, ...]:
    """The takes of today, newest first."""
    return tuple(
        TakeLine(take_id=row.take.take_id, head=_head(row), figures=_figures(row, hands_names))
        for row in content.takes
        if row.day == content.today
    )


def when_text(row: TakeRow) -> str:
    """Day and clock at which a take began."""
    return f"{weekday_and_day(row.day)}, {row.local_start:%H:%M}"


def _head(row: TakeRow) -> str:
    parts = [f"{row.local_start:%H:%M}"]
    if row.measures:
        parts.append(tr("measures {measures}").format(measures=row.measures))
    if row.take.name:
        parts.append(row.take.name)
    return ", ".join(parts)


def _figures(row: TakeRow, hands_names: dict[Hands, str]) -> str:
    if row.accuracy is None:
        return tr("{n} notes, not of this piece or not compared yet").format(n=row.take.note_count)
    parts = [percent(row.accuracy)]
    if row.beats_per_minute is not None:
        parts.append(tr("tempo {tempo}").format(tempo=round(row.beats_per_minute)))
    if row.hands is not None:
        parts.append(hands_names[row.hands])
    if row.take.from_memory:
        parts.append(tr("from memory"))
    return ", ".join(parts)
