"""A packet to a file."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from companion.errors import CompanionError
from companion.practice.packets import archive, document
from companion.practice.packets.model import LessonPacket, Packet


class PacketNotWritten(CompanionError):
    """A packet cannot be made, or not be written to its file."""


def write_packet(path: Path, packet: Packet) -> None:
    """Write a packet, whole or not at all.

    Raises
    ------
    PacketNotWritten
        The file cannot be written.
    """
    if isinstance(packet, LessonPacket):
        score = archive.COMPRESSED_SCORE if _is_zip(packet.score.content) else archive.SCORE
        entries = {
            archive.CONTENT: _json(document.lesson_to_document(packet)),
            score: packet.score.content,
        }
    else:
        entries = {archive.CONTENT: _json(document.results_to_document(packet))}
        entries.update({take.file_name: take.content for take in packet.takes})
    try:
        archive.write_archive(path, entries)
    except OSError as error:
        raise PacketNotWritten(
            f"“{path.name}” cannot be written: {error.strerror or error}."
        ) from error


def _is_zip(content: bytes) -> bool:
    return content.startswith(b"PK\x03\x04")


def _json(values: dict[str, Any]) -> bytes:
    return json.dumps(values, ensure_ascii=False, allow_nan=False, indent=1).encode()
