"""The teacher's side: results that came in, and several students side by side.

Results are kept as entries of the history, one for each packet: the same packet twice is one, and
the machines of a teacher can be merged. Takes that a student sent stay in the packet; they are not
put among the teacher's own.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from pathlib import Path

from companion.history.knowing.known import State
from companion.history.model import Entry
from companion.practice.packets import document
from companion.practice.packets.archive import parse_json
from companion.practice.packets.model import (
    PacketPiece,
    PacketUnreadable,
    ResultsPacket,
    Student,
)
from companion.practice.packets.report_document import report_from_document
from companion.practice.packets.typed import Found
from companion.practice.packets.writing import PacketNotWritten
from companion.practice.report.values import ReportSection, ReportValues
from companion.storage.history_file import HistoryFile

RESULTS_RECEIVED = "results received"
"""Kind of the entries."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StudioRow:
    """One student with one piece, as the newest results tell it.

    Parameters
    ----------
    made_at
        When the newest results were made.
    report
        Those results.
    earlier
        Reports of the results before, oldest first.
    """

    student: Student
    piece: PacketPiece
    made_at: datetime
    report: ReportValues = field(repr=False)
    earlier: tuple[ReportValues, ...] = field(default=(), repr=False)

    @property
    def sections(self) -> tuple[ReportSection, ...]:
        """The finest sections, as they stand."""
        return self.report.leaves

    @property
    def known(self) -> int:
        """How many sections are known."""
        return self.report.count(State.KNOWN)

    @property
    def known_share(self) -> float:
        """Share (0-1) of the sections that are known; 0 without any."""
        return self.known / len(self.sections) if self.sections else 0.0

    @property
    def newly_known(self) -> int:
        """How many more are known than in the results before; 0 without any before."""
        return self.known - self.earlier[-1].count(State.KNOWN) if self.earlier else 0

    @property
    def last_practice(self) -> date | None:
        """The last day on which the piece was played."""
        return self.report.last_played

    @property
    def minutes_a_week(self) -> float:
        """Minutes of playing a week over the last four weeks of the results."""
        weeks = self.report.weeks[-4:]
        return sum(minutes for _, minutes in weeks) / len(weeks) if weeks else 0.0

    @property
    def weakest(self) -> ReportSection | None:
        """The section that stands worst: lapsed first, then least likely to come out clean."""
        ranked = {State.LAPSED: 0, State.NEW: 1, State.LEARNING: 2, State.KNOWN: 3}
        return min(
            self.sections,
            key=lambda section: (ranked[section.state], section.probability or 0.0),
            default=None,
        )


def receive_results(history: HistoryFile, packet: ResultsPacket, zone: str = "UTC") -> bool:
    """Keep results that came in; say whether they were new.

    Raises
    ------
    HistoryUnavailable
        The history cannot be written.
    """
    piece_id = _piece_of(history, packet)
    entry = Entry(
        entry_id=f"results {packet.packet_id}",
        piece_id=piece_id,
        kind=RESULTS_RECEIVED,
        happened_at=packet.made_at.astimezone(UTC),
        zone=zone,
        content=json.dumps(
            # without the takes: they stay in the packet
            document.results_to_document(_without_takes(packet)),
            ensure_ascii=False,
        ),
    )
    is_new = all(
        entry.entry_id != each.entry_id for each in history.entries_of_kind(RESULTS_RECEIVED)
    )
    history.add_entries([entry])
    return is_new


def _without_takes(packet: ResultsPacket) -> ResultsPacket:
    return replace(packet, takes=())


def _piece_of(history: HistoryFile, packet: ResultsPacket) -> str | None:
    given = history.piece(packet.piece.key)
    if given is not None:
        return given.piece_id
    known = history.piece_with_score(packet.score_sha256, packet.piece.part)
    return known.piece_id if known is not None else None


def studio_rows(history: HistoryFile) -> tuple[StudioRow, ...]:
    """Return all students with their pieces, by name and title."""
    return rows_of(
        packet
        for entry in history.entries_of_kind(RESULTS_RECEIVED)
        if (packet := _read(entry)) is not None
    )


def rows_of(packets: Iterable[ResultsPacket]) -> tuple[StudioRow, ...]:
    """Return the newest results of each student and piece, with those before."""
    by_student: dict[tuple[str, str], list[ResultsPacket]] = defaultdict(list)
    for packet in packets:
        by_student[packet.student.student_id, packet.piece.key].append(packet)
    rows = []
    for several in by_student.values():
        several.sort(key=lambda packet: (packet.made_at, packet.packet_id))
        newest = several[-1]
        rows.append(
            StudioRow(
                student=newest.student,
                piece=newest.piece,
                made_at=newest.made_at,
                report=newest.report,
                earlier=tuple(packet.report for packet in several[:-1]),
            )
        )
    return tuple(
        sorted(rows, key=lambda row: (row.student.name.casefold(), row.piece.title.casefold()))
    )


def _read(entry: Entry) -> ResultsPacket | None:
    try:
        found = Found(parse_json(entry.content.encode()), "")
        document.kind_of(found)
        return ResultsPacket(
            packet_id=found.get("packet_id").identity(),
            made_at=found.get("made_at").moment(),
            student=document.student_of(found),
            piece=document.piece_of(found),
            score_sha256=document.hash_of(found.get("score_sha256")),
            report=report_from_document(found.get("report")),
            answers=found.get("answers").text(),
        )
    except PacketUnreadable:
        return None  # written by a newer program on another machine, for instance


def save_takes(packet: ResultsPacket, folder: Path) -> tuple[Path, ...]:
    """Write the takes of results into a folder, under names of our own; none is overwritten.

    Raises
    ------
    PacketNotWritten
        The folder cannot be written.
    """
    written = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for take in packet.takes:
            stem = f"take {take.started_at:%Y-%m-%d %H-%M-%S}"
            stem += ", from memory" if take.from_memory else ""
            path, number = folder / f"{stem}.mid", 1
            while path.exists():
                number += 1
                path = folder / f"{stem} ({number}).mid"
            path.write_bytes(take.content)
            written.append(path)
    except OSError as error:
        raise PacketNotWritten(
            f"The takes cannot be written into “{folder}”: {error.strerror or error}."
        ) from error
    return tuple(written)
