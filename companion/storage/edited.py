"""Edits of the history in SQL."""

from __future__ import annotations

import sqlite3
from datetime import datetime

from companion.history.edits import (
    AnnotateTake,
    AnyEdit,
    AssignHands,
    ChangeDocument,
    ChangeSectionMap,
    DeleteTakes,
    MarkMemory,
    MoveTake,
    PutBackOnShelf,
    RenameTake,
    RestoreTakes,
    SetPerformanceDate,
    SeveralEdits,
    TakeOffShelf,
)
from companion.storage import documents, pieces, sections, takes, words


def carry_out(connection: sqlite3.Connection, edit: AnyEdit, now: datetime) -> None:
    """Carry out an edit, inside a transaction."""
    match edit:
        case SeveralEdits(edits=several):
            for part in several:
                carry_out(connection, part, now)
        case DeleteTakes(take_ids=take_ids):
            takes.mark_deleted(connection, take_ids, now)
            words.note_all(connection, take_ids, words.BIN, now)
        case RestoreTakes(take_ids=take_ids):
            takes.mark_deleted(connection, take_ids, None)
            words.note_all(connection, take_ids, words.BIN, now)
        case RenameTake():
            takes.rename_take(connection, edit.take_id, edit.after)
            words.note(connection, edit.take_id, words.NAME, now)
        case AnnotateTake():
            takes.annotate_take(connection, edit.take_id, edit.after)
            words.note(connection, edit.take_id, words.REMARK, now)
        case MarkMemory(take_ids=take_ids):
            takes.mark_memory(connection, take_ids, edit.from_memory)
            words.note_all(connection, take_ids, words.MEMORY, now)
        case MoveTake():
            takes.move_take(connection, edit.take_id, edit.after_piece_id)
            words.note(connection, edit.take_id, words.FILING, now)
        case ChangeSectionMap():
            sections.save_section_map(connection, edit.piece_id, edit.after, now)
        case ChangeDocument():
            documents.save_document(connection, edit.piece_id, edit.kind, edit.after, now)
        case SetPerformanceDate():
            pieces.set_performance_date(connection, edit.piece_id, edit.after, now)
        case AssignHands():
            pieces.set_hands(connection, edit.piece_id, edit.after, now)
        case TakeOffShelf():
            pieces.take_off_shelf(connection, edit.piece_id, now)
        case PutBackOnShelf():
            pieces.put_back(connection, edit.piece_id, now)
