"""The teacher's side: a piece of the history, with all that was decided about it, as a packet."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Collection
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from companion.errors import ScoreUnreadable
from companion.history.model import Piece, new_id
from companion.practice.packets.document import DOCUMENT_KINDS
from companion.practice.packets.model import LessonPacket, PacketPiece, PacketScore
from companion.practice.packets.received import received_lesson
from companion.practice.packets.writing import PacketNotWritten
from companion.progress import Report, no_report
from companion.score.files.sources import SourceFormat, open_source
from companion.storage.history_file import HistoryFile


def lesson_packet(
    history: HistoryFile,
    piece: Piece,
    *,
    teacher: str = "",
    remarks: str = "",
    with_date: bool = True,
    kinds: Collection[str] = tuple(DOCUMENT_KINDS),
    now: Callable[[], datetime] = lambda: datetime.now(UTC),
    report: Report = no_report,
) -> LessonPacket:
    """Make a packet of a piece on the shelf.

    Scores in other formats than MusicXML are turned into it (about a second for each 1,000 notes).

    Parameters
    ----------
    kinds
        Kinds of documents to send along.

    Raises
    ------
    PacketNotWritten
        The piece has no sections, or the history has no copy of its score.
    ScoreUnreadable
        The copy cannot be read any more.
    """
    section_map = history.section_map(piece.piece_id)
    if section_map is None or not section_map.sections:
        raise PacketNotWritten(f"“{piece.title}” has no sections yet: open it once before.")
    found = {kind: history.document(piece.piece_id, kind) for kind in kinds}
    earlier = received_lesson(history, piece.piece_id)
    return LessonPacket(
        packet_id=new_id(),
        made_at=now(),
        teacher=teacher,
        piece=PacketPiece(
            # a piece that is handed on stays the piece of the teacher who gave it first
            key=earlier.piece.key if earlier else piece.piece_id,
            title=piece.title,
            composer=piece.composer,
            part=piece.part,
        ),
        score=_score(history, piece, report),
        section_map=section_map,
        performance=piece.performance_date if with_date else None,
        remarks=remarks,
        hands=history.hands(piece.piece_id),
        documents={kind: text for kind, text in found.items() if text},
    )


def _score(history: HistoryFile, piece: Piece, report: Report) -> PacketScore:
    kept = history.score_file(piece.score_hash)
    if kept is None:
        raise PacketNotWritten(
            f"There is no copy of the score of “{piece.title}” in your history. Open it again."
        )
    name = Path(kept.file_name).name or "score.musicxml"
    try:
        with TemporaryDirectory(prefix="packet-") as folder:
            path = Path(folder) / name
            path.write_bytes(kept.content)
            source = open_source(path)
            if source.source_format is SourceFormat.MUSICXML:
                content = kept.content
            else:
                from companion.score.reading.prepare import prepare_score

                content = prepare_score(path, piece.part or None, report).musicxml
                name = f"{source.stem}.musicxml"
    except OSError as error:
        raise PacketNotWritten(
            f"There is no room to pack the score: {error.strerror or error}."
        ) from error
    except ScoreUnreadable:
        raise
    return PacketScore(file_name=name, sha256=hashlib.sha256(content).hexdigest(), content=content)
