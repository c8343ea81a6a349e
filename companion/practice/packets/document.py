"""A packet as JSON values, and back from JSON that anybody may have written."""

from __future__ import annotations

import json
from typing import Any

from companion.errors import EditRefused
from companion.history.knowing.rules import CLEAN_RULES, rules_from_text
from companion.practice.grouping import FINGERS, GROUPING, fingers_of
from companion.practice.harmony import CORRECTIONS
from companion.practice.packets.model import (
    FORMAT_NAME,
    VERSION,
    LessonPacket,
    PacketKind,
    PacketPiece,
    PacketUnreadable,
    ResultsPacket,
    Student,
)
from companion.practice.packets.report_document import report_to_document
from companion.practice.packets.typed import LONGEST_TEXT, Found
from companion.practice.tasks import TASKS, kept_tasks
from companion.practice.workload import WORK_ORDER
from companion.score.model import Hand
from companion.score.sections.document import section_map_from_document, section_map_to_document
from companion.score.sections.section_map import SectionMap

DOCUMENT_KINDS = {
    GROUPING: "groups of notes",
    FINGERS: "fingers",
    CORRECTIONS: "corrected chords",
    TASKS: "tasks",
    WORK_ORDER: "order of work",
    CLEAN_RULES: "rules of clean and known",
}
"""The documents that travel, with what to call them; all others stay on their machine."""

_HASH_LETTERS = 64
_MOST_SECTIONS = 2_000
_LONGEST_DOCUMENT = 8 << 20


def lesson_to_document(packet: LessonPacket) -> dict[str, Any]:
    """Return a lesson as values that ``json`` can write."""
    return {
        **_head(packet, PacketKind.LESSON),
        "teacher": packet.teacher,
        "score": {"file_name": packet.score.file_name, "sha256": packet.score.sha256},
        "performance": packet.performance.isoformat() if packet.performance else None,
        "remarks": packet.remarks,
        "hands": {note_id: hand.value for note_id, hand in sorted(packet.hands.items())},
        "section_map": section_map_to_document(packet.section_map),
        "documents": {kind: json.loads(text) for kind, text in sorted(packet.documents.items())},
    }


def results_to_document(packet: ResultsPacket) -> dict[str, Any]:
    """Return results as values that ``json`` can write; takes by the names of their files."""
    return {
        **_head(packet, PacketKind.RESULTS),
        "student": {"id": packet.student.student_id, "name": packet.student.name},
        "answers": packet.answers,
        "score_sha256": packet.score_sha256,
        "report": report_to_document(packet.report),
        "takes": [
            {
                "file": take.file_name,
                "started_at": take.started_at.isoformat(),
                "zone": take.zone,
                "from_memory": take.from_memory,
            }
            for take in packet.takes
        ],
    }


def _head(packet: LessonPacket | ResultsPacket, kind: PacketKind) -> dict[str, Any]:
    return {
        "format": FORMAT_NAME,
        "version": VERSION,
        "kind": kind.value,
        "packet_id": packet.packet_id,
        "made_at": packet.made_at.isoformat(),
        "piece": {
            "key": packet.piece.key,
            "title": packet.piece.title,
            "composer": packet.piece.composer,
            "part": packet.piece.part,
        },
    }


def kind_of(found: Found) -> PacketKind:
    """Return which kind of packet a document is.

    Raises
    ------
    PacketUnreadable
        It is none, or a newer one than this program knows.
    """
    if not isinstance(found.value, dict) or found.value.get("format") != FORMAT_NAME:
        raise PacketUnreadable("The file is no packet of a lesson or of results.")
    version = found.get("version").whole(1, 1_000_000)
    if version > VERSION:
        raise PacketUnreadable(
            f"The packet was made by a newer version of this program (format {version}; this one "
            f"reads up to {VERSION}). Please use the newer program."
        )
    try:
        return PacketKind(found.get("kind").text(needed=True))
    except ValueError:
        raise found.get("kind").wrong("lesson or results") from None


def piece_of(found: Found) -> PacketPiece:
    """Read which piece a packet is about."""
    piece = found.get("piece")
    return PacketPiece(
        key=piece.get("key").identity(),
        title=piece.get("title").text(),
        composer=piece.get("composer").text(),
        part=piece.get("part").text(),
    )


def student_of(found: Found) -> Student:
    """Read who sends results."""
    student = found.get("student")
    return Student(
        student_id=student.get("id").identity(), name=student.get("name").text(needed=True)
    )


def hash_of(found: Found) -> str:
    """Read the hash of a score."""
    text = found.text(_HASH_LETTERS, needed=True)
    if len(text) != _HASH_LETTERS or set(text) - set("0123456789abcdef"):
        raise found.wrong("a SHA-256 in hexadecimal digits")
    return text


def section_map_of(found: Found) -> SectionMap:
    """Read the sections of a lesson."""
    for section in found.get("sections").items(_MOST_SECTIONS):
        section.get("id").identity()
        section.get("name").text()
        section.get("why").text()
        section.get("purpose").text(LONGEST_TEXT)
        section.get("how_to_play").text(LONGEST_TEXT)
        section.get("target_quarters_per_minute").optional_number(1.0, 2_000.0)
        section.get("confidence").optional_number(0.0, 1.0)
        for place in ("start", "end"):
            index, offset = _pair(section.get(place))
            index.whole(most=100_000)
            if offset.text(24, needed=True) != "0":
                offset.fraction()
    try:
        return section_map_from_document(found.value)
    except EditRefused as error:
        raise PacketUnreadable(f"The sections of the packet make no sense: {error}") from error


def _pair(found: Found) -> tuple[Found, Found]:
    items = list(found.items(2))
    if len(items) != 2:
        raise found.wrong("a measure index and an offset")
    return items[0], items[1]


def hands_of(found: Found) -> dict[str, Hand]:
    """Read which hand plays which note."""
    hands = {}
    for note_id, value in found.entries(500_000):
        try:
            hands[note_id] = Hand(value.text(needed=True))
        except ValueError:
            raise value.wrong("right or left") from None
    return hands


def documents_of(found: Found) -> dict[str, str]:
    """Read the decisions about a piece; kinds that this program does not know are left out."""
    documents = {}
    for kind, value in found.entries(100):
        if kind not in DOCUMENT_KINDS:
            continue
        text = json.dumps(value.value, ensure_ascii=False)
        if len(text) > _LONGEST_DOCUMENT or _trouble(kind, text):
            raise value.wrong(DOCUMENT_KINDS[kind])
        documents[kind] = text
    return documents


def _trouble(kind: str, text: str) -> str:
    """What is wrong with a document, as far as it can be told without the score."""
    try:
        if kind == FINGERS:
            return fingers_of(text)[1]
        if kind == TASKS:
            return kept_tasks(text)[1]
        if kind == CLEAN_RULES:
            return rules_from_text(text)[1]
    except (TypeError, ValueError, LookupError, AttributeError, ArithmeticError) as error:
        return str(error) or "damaged"
    return ""
