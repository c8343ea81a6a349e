"""Who practises here, or teaches here: a name that was typed, with an id that stays.

The id tells students apart who share a name, and keeps a student together who types another one.
Both are entries of the history: the last one counts, and merged machines agree.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, datetime

from companion.history.model import Entry, new_id
from companion.practice.packets.model import Student
from companion.storage.history_file import HistoryFile

OWN_NAME = "own name"
"""Kind of the entries."""


def own_name(history: HistoryFile) -> Student | None:
    """Return who practises here; None when no name was typed yet."""
    entries = history.entries_of(None, OWN_NAME)
    for entry in reversed(entries):
        try:
            found = json.loads(entry.content)
            return Student(student_id=str(found["id"]), name=str(found["name"]))
        except (ValueError, TypeError, KeyError):
            continue
    return None


def set_own_name(
    history: HistoryFile,
    name: str,
    *,
    zone: str = "UTC",
    now: Callable[[], datetime] = lambda: datetime.now(UTC),
) -> Student:
    """Keep a name; the id is made with the first one."""
    before = own_name(history)
    student = Student(student_id=before.student_id if before else new_id(), name=name.strip())
    if before != student:
        content = json.dumps({"id": student.student_id, "name": student.name}, ensure_ascii=False)
        history.add_entries(
            [
                Entry(
                    entry_id=new_id(),
                    piece_id=None,
                    kind=OWN_NAME,
                    happened_at=now(),
                    zone=zone,
                    content=content,
                )
            ]
        )
    return student
