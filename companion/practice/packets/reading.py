"""A packet from a file: nothing of it is used before all of it has been looked at."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryDirectory

from companion.errors import ScoreUnreadable, TakeUnreadable
from companion.midi.files import read_take
from companion.practice.packets import archive, document
from companion.practice.packets.model import (
    LessonPacket,
    Packet,
    PacketKind,
    PacketScore,
    PacketTake,
    PacketUnreadable,
    ResultsPacket,
)
from companion.practice.packets.report_document import report_from_document
from companion.practice.packets.typed import LONGEST_TEXT, Found
from companion.score.files.archives import read_compressed
from companion.score.files.safe_xml import parse_untrusted

_MOST_TAKES = 5_000
_ROOTS = ("score-partwise", "score-timewise")


def read_packet(path: Path) -> Packet:
    """Read a packet of a lesson or of results.

    Raises
    ------
    PacketUnreadable
        It is damaged, hostile, too large, newer than this program, or no packet.
    """
    entries = archive.read_archive(path)
    found = Found(archive.parse_json(entries[archive.CONTENT]), "")
    if document.kind_of(found) is PacketKind.LESSON:
        return _lesson(found, entries)
    return _results(found, entries)


def _lesson(found: Found, entries: Mapping[str, bytes]) -> LessonPacket:
    if set(entries) - {archive.CONTENT, archive.SCORE, archive.COMPRESSED_SCORE}:
        raise PacketUnreadable("The packet was refused: a lesson holds a score and no takes.")
    return LessonPacket(
        packet_id=found.get("packet_id").identity(),
        made_at=found.get("made_at").moment(),
        teacher=found.get("teacher").text(),
        piece=document.piece_of(found),
        score=_score(found.get("score"), entries),
        section_map=document.section_map_of(found.get("section_map")),
        performance=found.get("performance").optional_day(),
        remarks=found.get("remarks").text(LONGEST_TEXT),
        hands=document.hands_of(found.get("hands")),
        documents=document.documents_of(found.get("documents")),
    )


def _score(found: Found, entries: Mapping[str, bytes]) -> PacketScore:
    names = [name for name in (archive.SCORE, archive.COMPRESSED_SCORE) if name in entries]
    if len(names) != 1:
        raise PacketUnreadable("The packet is damaged: it holds no score, or more than one.")
    content = entries[names[0]]
    digest = hashlib.sha256(content).hexdigest()
    if document.hash_of(found.get("sha256")) != digest:
        raise PacketUnreadable("The packet is damaged: its score is not the one it was made with.")
    try:
        data = (
            read_compressed(content, "the score")
            if names[0] == archive.COMPRESSED_SCORE
            else content
        )
        root = parse_untrusted(data, "the score")
    except ScoreUnreadable as error:
        raise PacketUnreadable(f"The score in the packet cannot be used: {error}") from error
    if root.tag not in _ROOTS:
        raise PacketUnreadable("The packet is damaged: what it holds as a score is no MusicXML.")
    return PacketScore(
        file_name=_file_name(found.get("file_name"), names[0]), sha256=digest, content=content
    )


def _file_name(found: Found, entry: str) -> str:
    """The name of the score as it was; only its last part, and with an ending that is true."""
    name = Path(found.text().replace("\\", "/")).name
    shown = "".join(letter for letter in name if letter.isprintable()).strip(". ")
    ending = Path(entry).suffix
    return f"{Path(shown).stem[:100] or 'score'}{ending}"


def _results(found: Found, entries: Mapping[str, bytes]) -> ResultsPacket:
    with TemporaryDirectory(prefix="packet-") as folder:
        takes = tuple(
            _take(each, entries, Path(folder) / "take.mid")
            for each in found.get("takes").items(_MOST_TAKES)
        )
    if set(entries) != {archive.CONTENT, *(take.file_name for take in takes)}:
        raise PacketUnreadable("The packet was refused: it holds files that it does not name.")
    return ResultsPacket(
        packet_id=found.get("packet_id").identity(),
        made_at=found.get("made_at").moment(),
        student=document.student_of(found),
        piece=document.piece_of(found),
        score_sha256=document.hash_of(found.get("score_sha256")),
        report=report_from_document(found.get("report")),
        answers=found.get("answers").text(),
        takes=takes,
    )


def _take(found: Found, entries: Mapping[str, bytes], scratch: Path) -> PacketTake:
    name = found.get("file").text(needed=True)
    if not archive.TAKE.fullmatch(name) or name not in entries:
        raise found.get("file").wrong("the name of a take in the packet")
    content = entries[name]
    try:
        scratch.write_bytes(content)
        read_take(scratch)
    except TakeUnreadable as error:
        raise PacketUnreadable(f"A take in the packet cannot be used: {error}") from error
    except OSError as error:
        raise PacketUnreadable(
            f"There is no room to look at the takes: {error.strerror or error}."
        ) from error
    return PacketTake(
        file_name=name,
        started_at=found.get("started_at").moment(),
        zone=found.get("zone").text(),
        content=content,
        from_memory=found.get("from_memory").optional_truth(),
    )
