"""What a packet says, as plain frozen values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum

from companion.errors import CompanionError
from companion.practice.report.values import ReportValues
from companion.score.model import Hand
from companion.score.sections.section_map import SectionMap

FORMAT_NAME = "piano-lesson-packet"
"""What stands under ``format``, so that another program's file is not taken for ours."""

VERSION = 1
"""Raised when an older program could misread a packet; new optional fields do not raise it."""

ENDING = ".lesson"


class PacketUnreadable(CompanionError):
    """A packet that is damaged, hostile, newer than this program, or no packet."""


class PacketKind(StrEnum):
    """Which way a packet goes."""

    LESSON = "lesson"
    RESULTS = "results"


@dataclass(frozen=True, slots=True, kw_only=True)
class PacketPiece:
    """The piece a packet is about.

    Parameters
    ----------
    key
        The same in all packets about this piece of this teacher, whatever becomes of the score.
    part
        The part of a larger score that is played.
    """

    key: str
    title: str
    composer: str = ""
    part: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PacketScore:
    """The score in a packet: its file name, its bytes (MusicXML, plain or compressed), their hash.

    ``sha256`` is the hash of the bytes, in lower-case hexadecimal digits.
    """

    file_name: str
    sha256: str
    content: bytes = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class LessonPacket:
    """What a teacher gives: a piece with all that was decided about it.

    Parameters
    ----------
    packet_id
        Random, unique over all machines.
    teacher
        The name as typed; empty for none.
    remarks
        What the teacher writes to the student.
    hands
        Which hand plays which note, by note id, where that differs from the staves.
    documents
        Decisions by kind (groups, fingers, chords, tasks, order of work, rules), JSON as text.
    """

    packet_id: str
    made_at: datetime
    teacher: str
    piece: PacketPiece
    score: PacketScore
    section_map: SectionMap
    performance: date | None = None
    remarks: str = ""
    hands: Mapping[str, Hand] = field(default_factory=dict)
    documents: Mapping[str, str] = field(default_factory=dict, repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class PacketTake:
    """A raw take that a student sent: a standard MIDI file and when it was played."""

    file_name: str
    started_at: datetime
    zone: str
    content: bytes = field(repr=False)
    from_memory: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Student:
    """Who sends results: an id that stays when the name is typed otherwise, and the name."""

    student_id: str
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ResultsPacket:
    """What a student sends back.

    Parameters
    ----------
    answers
        Id of the lesson packet that the piece came with; empty when it came otherwise.
    score_sha256
        Hash of the score that was practised.
    report
        How the piece stands, as in a report.
    takes
        Raw takes, when the student agreed to send them.
    """

    packet_id: str
    made_at: datetime
    student: Student
    piece: PacketPiece
    score_sha256: str
    report: ReportValues
    answers: str = ""
    takes: tuple[PacketTake, ...] = ()


Packet = LessonPacket | ResultsPacket
