"""The student's side: how a piece stands, as a packet for the teacher."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from companion.history.days import practice_day
from companion.history.model import Take, new_id
from companion.practice.exports import export_take_midi
from companion.practice.packets.model import (
    PacketPiece,
    PacketTake,
    ResultsPacket,
    Student,
)
from companion.practice.packets.received import received_lesson
from companion.practice.packets.writing import PacketNotWritten
from companion.progress import Progress, Report, no_report

if TYPE_CHECKING:
    from companion.history.model import Piece
    from companion.practice.report.values import ReportValues
    from companion.storage.history_file import HistoryFile

MOST_TAKES = 2_000
"""So many of the newest takes are sent at most."""


def results_packet(
    history: HistoryFile,
    piece: Piece,
    report: ReportValues,
    student: Student,
    *,
    with_takes: bool = False,
    day_starts_at_hour: int,
    now: Callable[[], datetime] = lambda: datetime.now(UTC),
    tell: Report = no_report,
) -> ResultsPacket:
    """Make a packet of results.

    Parameters
    ----------
    report
        How the piece stands (:func:`companion.practice.report.filling.report_values`).
    with_takes
        Whether the student agrees to send what was played, note for note, in the period of the
        report.

    Raises
    ------
    PacketNotWritten
        The student has no name, or there is no room.
    """
    if not student.name.strip():
        raise PacketNotWritten(
            "Type your name first: your teacher has to know whose results it is."
        )
    lesson = received_lesson(history, piece.piece_id)
    return ResultsPacket(
        packet_id=new_id(),
        made_at=now(),
        student=student,
        piece=PacketPiece(
            key=lesson.piece.key if lesson else piece.piece_id,
            title=piece.title,
            composer=piece.composer,
            part=piece.part,
        ),
        score_sha256=piece.score_hash,
        report=report,
        answers=lesson.packet_id if lesson else "",
        takes=_takes(history, piece, report, day_starts_at_hour, tell) if with_takes else (),
    )


def _takes(
    history: HistoryFile,
    piece: Piece,
    report: ReportValues,
    day_starts_at_hour: int,
    tell: Report,
) -> tuple[PacketTake, ...]:
    wanted = [
        take
        for take in history.takes_of(piece.piece_id)
        if report.from_day
        <= practice_day(take.started_at, take.zone, day_starts_at_hour)
        <= report.to_day
    ][:MOST_TAKES]
    packed = []
    try:
        with TemporaryDirectory(prefix="packet-") as folder:
            path = Path(folder) / "take.mid"
            for number, row in enumerate(reversed(wanted)):
                if number % 20 == 0:
                    tell(Progress(done=number, total=len(wanted), doing="Packing takes"))
                take = history.take(row.take_id)
                if take is not None and take.note_count:
                    packed.append(_packed(take, number + 1, path))
    except OSError as error:
        raise PacketNotWritten(
            f"There is no room to pack the takes: {error.strerror or error}."
        ) from error
    return tuple(packed)


def _packed(take: Take, number: int, path: Path) -> PacketTake:
    export_take_midi(path, take)
    return PacketTake(
        file_name=f"takes/take-{number:05}.mid",
        started_at=take.started_at,
        zone=take.zone,
        content=path.read_bytes(),
        from_memory=take.from_memory,
    )
