"""Invented lessons and results that the tests of packets share."""

from __future__ import annotations

import hashlib
from datetime import UTC, date, datetime
from fractions import Fraction

from companion.history.knowing.known import State
from companion.practice.packets.model import (
    LessonPacket,
    PacketPiece,
    PacketScore,
    ResultsPacket,
    Student,
)
from companion.practice.report.values import (
    ColdDay,
    DayFigures,
    PlayedDay,
    ReadinessGlance,
    Remark,
    ReportSection,
    ReportValues,
    ResistingPassage,
)
from companion.resources import sample_scores_folder
from companion.score.model import Hand, Position
from companion.score.sections.section_map import Section, SectionMap

NOW = datetime(2026, 5, 4, 16, 30, tzinfo=UTC)
SCORE_PATH = sample_scores_folder() / "the_footbridge.musicxml"
FOOTBRIDGE_MEASURES = 16


def a_score_of_a_packet() -> PacketScore:
    content = SCORE_PATH.read_bytes()
    return PacketScore(
        file_name="the_footbridge.musicxml",
        sha256=hashlib.sha256(content).hexdigest(),
        content=content,
    )


def a_lesson_map(measures: int, border: int = 8) -> SectionMap:
    return SectionMap(
        sections=(
            Section(
                section_id="a",
                name="Over",
                start=Position(0),
                end=Position(border, Fraction(1, 2)),
                purpose="opens the piece",
                how_to_play="no haste",
                target_quarters_per_minute=72.0,
            ),
            Section(
                section_id="b",
                name="Back",
                start=Position(border, Fraction(1, 2)),
                end=Position(measures),
            ),
        )
    )


def a_lesson(measures: int = 16, **more: object) -> LessonPacket:
    values: dict[str, object] = {
        "packet_id": "lesson-1",
        "made_at": NOW,
        "teacher": "Adelheid Moorcroft",
        "piece": PacketPiece(key="key-of-the-piece", title="The footbridge", composer="Demo"),
        "score": a_score_of_a_packet(),
        "section_map": a_lesson_map(measures),
        "performance": date(2026, 6, 20),
        "remarks": "Left hand first.\nThen slowly together.",
        "hands": {"n3": Hand.LEFT},
        "documents": {"clean_rules": '{"errors_per_100": 3.0}', "order of work": '["b", "a"]'},
        **more,
    }
    return LessonPacket(**values)  # type: ignore[arg-type]


def a_report(**more: object) -> ReportValues:
    day = date(2026, 5, 3)
    values: dict[str, object] = {
        "title": "The footbridge",
        "composer": "Demo",
        "player": "Juno Tamsin",
        "from_day": date(2026, 4, 20),
        "to_day": day,
        "performance": date(2026, 6, 20),
        "measure_count": 16,
        "sections": (
            ReportSection(
                section_id="a",
                name="Over",
                level=0,
                from_measure="1",
                to_measure="8",
                from_measure_index=0,
                to_measure_index=8,
                target_quarters_per_minute=72.0,
                beat_quarters=Fraction(3, 2),
                state=State.KNOWN,
                known_since=date(2026, 4, 28),
                clean_days=3,
                probability=0.8,
                low=0.5,
                high=0.95,
                cold=(
                    ColdDay(day=date(2026, 5, 2), clean=True, from_memory=True),
                    ColdDay(day=day, clean=False, why_not=("2 stops",)),
                ),
                days=(DayFigures(day=day, takes=2, accuracy=0.97, quarters_per_minute=70.5),),
            ),
            ReportSection(
                section_id="b",
                name="Back",
                level=0,
                from_measure="9",
                to_measure="16",
                from_measure_index=8,
                to_measure_index=16,
                state=State.LAPSED,
                lapsed_on=day,
            ),
        ),
        "playing": (PlayedDay(day=day, takes=4, minutes=31.5),),
        "resisting": (
            ResistingPassage(
                from_measure="11", to_measure="12", section="Back", plays=9, errors_per_play=1.5,
                days=3,
            ),
        ),
        "remarks": (Remark(day=day, about="evening", text="the leap"),),
        "readiness": ReadinessGlance(day=day, sentence="Seven in ten runs without a stop."),
        "rules": "clean is clean",
        "letter": "It goes better.",
        **more,
    }  # fmt: skip
    return ReportValues(**values)  # type: ignore[arg-type]


def some_results(**more: object) -> ResultsPacket:
    values: dict[str, object] = {
        "packet_id": "results-1",
        "made_at": NOW,
        "student": Student(student_id="student-1", name="Juno Tamsin"),
        "piece": PacketPiece(key="key-of-the-piece", title="The footbridge"),
        "score_sha256": a_score_of_a_packet().sha256,
        "report": a_report(),
        "answers": "lesson-1",
        **more,
    }
    return ResultsPacket(**values)  # type: ignore[arg-type]
