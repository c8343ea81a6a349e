"""The student's side: what a packet would change of one's own work, and taking it in.

For each thing that a lesson brings (sections, date, hands, each kind of decision) there are three
states: as the student has it, as the last packet brought it, as this one brings it. What the
student has not touched is taken; where the student's own work differs, the student chooses, and
keeps it unless told otherwise.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from companion.errors import EditRefused
from companion.history.edits import (
    AssignHands,
    ChangeDocument,
    ChangeSectionMap,
    Edit,
    SetPerformanceDate,
    SeveralEdits,
)
from companion.history.model import Piece
from companion.practice.grouping import GROUPING, grouping_of
from companion.practice.opening import ReadScore, put_on_shelf, read_score_file
from companion.practice.packets.document import DOCUMENT_KINDS
from companion.practice.packets.model import LessonPacket, PacketUnreadable
from companion.practice.packets.received import entry_of, received_lesson
from companion.practice.report.wording import long_day
from companion.progress import Report, no_report
from companion.score.sections.section_map import SectionMap, validate
from companion.storage.history_file import HistoryFile

SECTIONS, DATE, HANDS = "sections", "date of performance", "hands"
"""Names of what a lesson brings besides its documents, which are named by their kinds."""

_EMPTY_MAP = SectionMap(sections=())


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One thing that a packet would change.

    Parameters
    ----------
    name
        ``sections``, ``date of performance``, ``hands``, or the kind of a document.
    words
        What it is called, for a list.
    is_own_work
        Whether the student changed it since the last packet (or made it without any), so that
        taking it would undo that.
    told
        Ours against theirs in one sentence.
    """

    name: str
    words: str
    is_own_work: bool
    told: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Prospect:
    """What taking in a packet would do.

    Parameters
    ----------
    piece
        The piece on the shelf that it is about; None for a new one.
    differences
        What is other here than in the packet; empty for a new piece.
    is_known
        Whether this very packet was taken in before.
    """

    packet: LessonPacket
    piece: Piece | None
    differences: tuple[Difference, ...] = ()
    is_known: bool = False

    @property
    def chosen_at_first(self) -> frozenset[str]:
        """What is taken unless the student chooses otherwise: all but their own work."""
        return frozenset(each.name for each in self.differences if not each.is_own_work)

    @property
    def needs_choice(self) -> bool:
        """Whether something of the student's own would be changed."""
        return any(each.is_own_work for each in self.differences)


def prospect(history: HistoryFile, packet: LessonPacket) -> Prospect:
    """Say what taking in a packet would change; nothing is changed by that."""
    piece = history.piece_with_score(packet.score.sha256, packet.piece.part)
    if piece is None:
        return Prospect(packet=packet, piece=None)
    last = received_lesson(history, piece.piece_id)
    differences = [
        _difference(name, own, brought, _as_brought(last, name))
        for name, own, brought in _compared(history, piece, packet)
        if own != brought and brought is not None
    ]
    return Prospect(
        packet=packet,
        piece=piece,
        differences=tuple(differences),
        is_known=last is not None and last.packet_id == packet.packet_id,
    )


def _compared(
    history: HistoryFile, piece: Piece, packet: LessonPacket
) -> list[tuple[str, object, object]]:
    """Name, ours and theirs of everything that a packet brings; None for what it does not."""
    kept = history.section_map(piece.piece_id)
    compared: list[tuple[str, object, object]] = [
        (SECTIONS, kept or _EMPTY_MAP, packet.section_map),
        (DATE, piece.performance_date, packet.performance),
        (HANDS, history.hands(piece.piece_id), dict(packet.hands) or None),
    ]
    compared += [
        (kind, _plain(history.document(piece.piece_id, kind)), packet.documents.get(kind))
        for kind in DOCUMENT_KINDS
    ]
    return compared


def _plain(text: str) -> str:
    """A document as a packet writes it, so that spaces make no difference."""
    try:
        return json.dumps(json.loads(text), ensure_ascii=False) if text else ""
    except ValueError:
        return text


def _as_brought(last: LessonPacket | None, name: str) -> object:
    if last is None:
        return None
    fixed: Mapping[str, object] = {
        SECTIONS: last.section_map,
        DATE: last.performance,
        HANDS: dict(last.hands) or None,
    }
    return fixed[name] if name in fixed else last.documents.get(name)


def _difference(name: str, own: object, brought: object, before: object) -> Difference:
    nothing = not own or (isinstance(own, SectionMap) and _is_proposal(own))
    return Difference(
        name=name,
        words=DOCUMENT_KINDS.get(name, name),
        is_own_work=not nothing and own != before,
        told=_told(own, brought),
    )


def _is_proposal(section_map: SectionMap) -> bool:
    """Whether nobody has worked on a map: every border still says why it was proposed."""
    return all(
        section.why
        and not section.purpose
        and not section.how_to_play
        and section.target_quarters_per_minute is None
        for section in section_map.sections
    )


def _told(own: object, brought: object) -> str:
    if isinstance(own, SectionMap) and isinstance(brought, SectionMap):
        names = {section.name for section in brought.sections}
        other = sum(section.name not in names for section in own.sections)
        return (
            f"You have {len(own.sections)} sections, {other} of them not in the packet, which "
            f"brings {len(brought.sections)}."
        )
    if isinstance(brought, date):
        mine = long_day(own) if isinstance(own, date) else "no date"
        return f"You have {mine}, the packet says {long_day(brought)}."
    return "You have your own." if own else "You have none yet."


def read_score_of(packet: LessonPacket, report: Report = no_report) -> ReadScore:
    """Read the score of a packet and make sure that everything in the packet fits it.

    For a worker process: it takes as long as opening the score.

    Raises
    ------
    PacketUnreadable
        Its sections or groups are those of another score.
    ScoreUnreadable
        The score cannot be read.
    """
    try:
        with TemporaryDirectory(prefix="packet-") as folder:
            path = Path(folder) / packet.score.file_name
            path.write_bytes(packet.score.content)
            read = read_score_file(str(path), packet.piece.part or None, report)
    except OSError as error:
        raise PacketUnreadable(
            f"There is no room to unpack the score: {error.strerror or error}."
        ) from error
    try:
        validate(packet.section_map, read.score.end)
    except EditRefused as error:
        raise PacketUnreadable(
            f"The sections of the packet do not fit its score: {error}"
        ) from error
    trouble = grouping_of(read.score, packet.documents.get(GROUPING, ""))[2]
    if trouble:
        raise PacketUnreadable("The groups of the packet do not fit its score.")
    return replace(read, path="")


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenIn:
    """What became of a packet: the piece, the edits that were made, and what to tell."""

    piece: Piece
    is_new: bool
    edits: SeveralEdits
    kept_own: tuple[str, ...] = field(default=())

    @property
    def sentence(self) -> str:
        """What to tell the student."""
        if self.is_new:
            return f"“{self.piece.title}” is on your shelf now."
        if not self.edits.edits:
            return f"“{self.piece.title}” is as it was: nothing of the packet was taken."
        kept = f" Your own {', '.join(self.kept_own)} stayed." if self.kept_own else ""
        return f"“{self.piece.title}” was brought up to date from the packet.{kept}"


def take_in(
    history: HistoryFile,
    looked_at: Prospect,
    read: ReadScore,
    chosen: Collection[str] | None = None,
    *,
    zone: str = "UTC",
    now: Callable[[], datetime] = lambda: datetime.now(UTC),
    apply: Callable[[SeveralEdits], object] | None = None,
) -> TakenIn:
    """Put a packet into the history: a new piece, or what was chosen of it for a known one.

    Parameters
    ----------
    read
        What :func:`read_score_of` gave for this packet.
    chosen
        Names of the differences to take; None takes everything but the student's own work.
    apply
        Carries the edits out; the window's undo stack, for instance.

    Raises
    ------
    HistoryUnavailable
        The history cannot be written.
    """
    packet = looked_at.packet
    opened = put_on_shelf(history, read, now)
    piece = opened.piece
    is_new = looked_at.piece is None
    if is_new and not read.score.title and packet.piece.title:
        piece = replace(piece, title=packet.piece.title)
        history.save_piece(piece)
    names = looked_at.chosen_at_first if chosen is None else frozenset(chosen)
    edits = SeveralEdits(
        tuple(
            _edit(piece, name, own, brought)
            for name, own, brought in _compared(history, piece, packet)
            if own != brought and brought is not None and (is_new or name in names)
        ),
        "Take in lesson",
    )
    if edits.edits:
        (apply or history.apply)(edits)
    history.add_entries([entry_of(packet, piece.piece_id, now(), zone)])
    return TakenIn(
        piece=piece,
        is_new=is_new,
        edits=edits,
        kept_own=tuple(each.words for each in looked_at.differences if each.name not in names),
    )


def _edit(piece: Piece, name: str, own: object, brought: object) -> Edit:
    piece_id = piece.piece_id
    if isinstance(own, SectionMap) and isinstance(brought, SectionMap):
        return ChangeSectionMap(piece_id, own, brought, "Take in sections")
    if name == DATE:
        return SetPerformanceDate(piece_id, own, brought)  # type: ignore[arg-type]
    if name == HANDS:
        return AssignHands(piece_id, own, brought)  # type: ignore[arg-type]
    return ChangeDocument(piece_id, name, str(own), str(brought), f"Take in {DOCUMENT_KINDS[name]}")
