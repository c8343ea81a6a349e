"""Small made-up values of the history that the tests share."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from fractions import Fraction

from companion.history.fingerprints import fingerprint
from companion.history.knowing.attempts import Attempt
from companion.history.model import Entry, Piece, RawEvent, Take, TakeSource
from companion.history.results import SectionResult, Stretch, TakeResults
from companion.listening.measuring.take_measures import MeasureErrors
from companion.listening.notes import (
    Beginning,
    Hands,
    JudgedNote,
    Match,
    MissedNote,
    Passage,
    Verdict,
)
from companion.score.model import Position
from companion.score.sections.section_map import Section, SectionMap

MOMENT = datetime(2026, 3, 2, 17, 30, tzinfo=UTC)
"""A Monday afternoon."""


def a_piece(piece_id: str = "piece", **more: object) -> Piece:
    values: dict[str, object] = {
        "piece_id": piece_id,
        "title": "Rain on the mill",
        "composer": "Ilse Vandermeer",
        "score_hash": f"hash of {piece_id}",
        **more,
    }
    return Piece(**values)  # type: ignore[arg-type]


def an_entry(entry_id: str = "entry", **more: object) -> Entry:
    values: dict[str, object] = {
        "entry_id": entry_id,
        "piece_id": "piece",
        "kind": "recited",
        "happened_at": MOMENT,
        "zone": "Europe/Vienna",
        "content": "{}",
        **more,
    }
    return Entry(**values)  # type: ignore[arg-type]


def some_events(notes: int = 4, first_key: int = 60) -> tuple[RawEvent, ...]:
    """A rising line, a key every quarter of a second."""
    events = []
    for number in range(notes):
        events.append(RawEvent(number * 0.25, bytes([0x90, first_key + number, 70 + number])))
        events.append(RawEvent(number * 0.25 + 0.2, bytes([0x80, first_key + number, 64])))
    return tuple(events)


def a_take(take_id: str = "take", *, minutes: float = 0, **more: object) -> Take:
    events = more.pop("events", some_events())
    values: dict[str, object] = {
        "take_id": take_id,
        "piece_id": "piece",
        "started_at": MOMENT + timedelta(minutes=minutes),
        "zone": "Europe/Berlin",
        "source": TakeSource.PIANO,
        "duration_seconds": 0.95,
        "note_count": 4,
        "events": events,
        "content_hash": fingerprint(events),  # type: ignore[arg-type]
        **more,
    }
    return Take(**values)  # type: ignore[arg-type]


def a_stretch(start: int = 0, end: int = 4) -> Stretch:
    return Stretch(Position(start), Position(end))


def a_result(
    take_id: str = "take",
    *,
    stretch: Stretch | None = None,
    started_at: datetime = MOMENT,
    accuracy: float | None = 0.9,
    tempo: float | None = 80.0,
    hands: Hands = Hands.BOTH,
    complete: bool = True,
    zone: str = "Europe/Berlin",
    stops: int = 0,
) -> SectionResult:
    return SectionResult(
        take_id=take_id,
        stretch=stretch or a_stretch(),
        started_at=started_at,
        zone=zone,
        hands=hands,
        passages=1,
        coverage=1.0 if complete else 0.5,
        complete=complete,
        expected=20,
        right=18,
        wrong=1,
        missed=1,
        added=1,
        ornament=2,
        accuracy=accuracy,
        running_tempo_quarters_per_minute=tempo,
        through_tempo_quarters_per_minute=None if tempo is None else tempo - 6,
        steadiness=0.08,
        evenness_sd_ms=None,
        evenness_cv=None,
        hesitations=1,
        stops=stops,
        restarts=0,
        jumps=0,
        chord_spread_ms=17.5,
        melody_lead_ms=None,
        left_right_offset_ms=-3.25,
        velocity_p5=41.0,
        velocity_p95=88.0,
        hand_balance=6.5,
        damper_share=None,
        edge_errors=0,
    )


def a_match() -> Match:
    return Match(
        notes=(
            JudgedNote(
                played=0,
                onset_seconds=0.0,
                pitch=60,
                verdict=Verdict.RIGHT,
                passage=0,
                score_index=3,
                note_id="n4",
                measure_index=1,
                offset_quarters=Fraction(1, 3),
                expected_pitch=60,
            ),
            JudgedNote(
                played=1, onset_seconds=0.1 + 0.2, pitch=61, verdict=Verdict.ADDED, passage=0
            ),
        ),
        missed=(
            MissedNote(
                score_index=4,
                note_id="n5",
                measure_index=1,
                offset_quarters=Fraction(2, 3),
                pitch=62,
                passage=0,
                before_played=2,
            ),
        ),
        passages=(
            Passage(
                index=0,
                first_played=0,
                last_played=1,
                from_quarters=Fraction(13, 3),
                to_quarters=Fraction(14, 3),
                from_measure_index=1,
                to_measure_index=1,
                hands=Hands.LEFT,
                began_with=Beginning.JUMP,
            ),
        ),
    )


def some_results(
    take_id: str = "take",
    *,
    basis: str = "basis",
    stretches: tuple[Stretch, ...] = (a_stretch(),),
    match: Match | None = None,
    **more: object,
) -> TakeResults:
    return TakeResults(
        take_id=take_id,
        basis=basis,
        stretches=stretches,
        sections=tuple(a_result(take_id, stretch=s, **more) for s in stretches),  # type: ignore[arg-type]
        measures=(
            MeasureErrors(measure_index=1, plays=1, expected=2, right=1, missed=1, added=1),
            MeasureErrors(measure_index=2, plays=2, expected=8, right=7, wrong=1, stops=1),
        ),
        match=match or a_match(),
        attempts={s: an_attempt(take_id) for s in stretches},
    )


def an_attempt(take_id: str = "take", **more: object) -> Attempt:
    values: dict[str, object] = {
        "take_id": take_id,
        "started_at": MOMENT,
        "zone": "Europe/Berlin",
        "hands": Hands.BOTH,
        "coverage": 1.0,
        "complete": True,
        "began_again": False,
        "expected": 10,
        "wrong": 0,
        "missed": 1,
        "added": 0,
        "edge_errors": 0,
        "stops": 1,
        "running_tempo_quarters_per_minute": 80.0,
        **more,
    }
    return Attempt(**values)  # type: ignore[arg-type]


def a_section_map(border: int = 4, measures: int = 8) -> SectionMap:
    return SectionMap(
        sections=(
            Section(section_id="a", name="Opening", start=Position(0), end=Position(border)),
            Section(
                section_id="b",
                name="Écho",
                start=Position(border),
                end=Position(measures),
                purpose="to wind down",
                target_quarters_per_minute=72.0,
            ),
        )
    )
