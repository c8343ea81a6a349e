"""What was received: the lesson that a piece came with, as it was then.

The entry keeps the packet without its score, so that a later packet can be told from what the
student has changed since.
"""

from __future__ import annotations

import json
from datetime import datetime

from companion.history.model import Entry
from companion.practice.packets import document
from companion.practice.packets.archive import parse_json
from companion.practice.packets.model import (
    LessonPacket,
    PacketScore,
    PacketUnreadable,
)
from companion.practice.packets.typed import LONGEST_TEXT, Found
from companion.storage.history_file import HistoryFile

LESSON_RECEIVED = "lesson received"
"""Kind of the entries."""


def entry_of(packet: LessonPacket, piece_id: str, now: datetime, zone: str) -> Entry:
    """Return the entry that remembers a packet; taking the same packet twice is one entry."""
    return Entry(
        entry_id=f"lesson {packet.packet_id}",
        piece_id=piece_id,
        kind=LESSON_RECEIVED,
        happened_at=now,
        zone=zone,
        content=json.dumps(document.lesson_to_document(packet), ensure_ascii=False),
    )


def received_lesson(history: HistoryFile, piece_id: str) -> LessonPacket | None:
    """Return the lesson that was received last for a piece, without its score."""
    found = [
        lesson
        for entry in history.entries_of(piece_id, LESSON_RECEIVED)
        if (lesson := _read(entry)) is not None
    ]
    return max(found, key=lambda lesson: lesson.made_at, default=None)


def _read(entry: Entry) -> LessonPacket | None:
    try:
        found = Found(parse_json(entry.content.encode()), "")
        document.kind_of(found)
        score = found.get("score")
        return LessonPacket(
            packet_id=found.get("packet_id").identity(),
            made_at=found.get("made_at").moment(),
            teacher=found.get("teacher").text(),
            piece=document.piece_of(found),
            score=PacketScore(
                file_name=score.get("file_name").text(),
                sha256=document.hash_of(score.get("sha256")),
                content=b"",
            ),
            section_map=document.section_map_of(found.get("section_map")),
            performance=found.get("performance").optional_day(),
            remarks=found.get("remarks").text(LONGEST_TEXT),
            hands=document.hands_of(found.get("hands")),
            documents=document.documents_of(found.get("documents")),
        )
    except PacketUnreadable:
        return None  # written by a newer program on another machine, for instance
