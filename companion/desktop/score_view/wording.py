"""Places of the score in words, for tooltips and for people who listen to the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication

if TYPE_CHECKING:
    from companion.desktop.score_view.score_index import ScoreIndex


def _tr(text: str) -> str:
    return QCoreApplication.translate("ScoreView", text)


def describe_place(index: ScoreIndex, note_id: str | None, measure_index: int) -> str:
    """Name a note, or a measure with the number of its notes."""
    written = index.written(measure_index)
    number = written.number if written else str(measure_index + 1)
    note = index.note(note_id) if note_id else None
    if note is not None and note.spelling:
        return _tr("Measure {number}: {note}").format(number=number, note=note.spelling)
    notes = index.notes_in(measure_index)
    if not notes:
        return _tr("Measure {number}").format(number=number)
    text = (
        _tr("Measure {number}, {count} notes")
        if len(notes) != 1
        else _tr("Measure {number}, {count} note")
    )
    return text.format(number=number, count=len(notes))
