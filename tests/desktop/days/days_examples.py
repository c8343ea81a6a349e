"""Invented takes of an invented piece for the tests of the page (demo data)."""

from datetime import UTC, date, datetime, timedelta
from fractions import Fraction

from companion.desktop.days.content import DayMeasures, DaysContent, SectionDays, TakeRow
from companion.history.model import Take, TakeSource
from companion.history.results import FIGURES, SectionResult, Stretch
from companion.history.summaries import summarise_sections
from companion.listening.measuring.take_measures import MeasureErrors
from companion.listening.notes import Hands
from companion.score.model import Position

TODAY = date(2026, 3, 20)
OPENING = Stretch(Position(0), Position(8))
ENDING = Stretch(Position(8), Position(12))


def result(take_id: str, stretch: Stretch, started_at: datetime, accuracy: float) -> SectionResult:
    figures = dict.fromkeys(FIGURES, 0) | {
        "passages": 1,
        "coverage": 1.0,
        "complete": True,
        "expected": 100,
        "right": round(100 * accuracy),
        "missed": 100 - round(100 * accuracy),
        "accuracy": accuracy,
        "running_tempo_quarters_per_minute": 90.0,
    }
    return SectionResult(
        take_id=take_id,
        stretch=stretch,
        started_at=started_at,
        zone="UTC",
        hands=Hands.BOTH,
        **figures,
    )


def take(take_id: str, started_at: datetime) -> Take:
    return Take(
        take_id=take_id,
        piece_id="piece",
        started_at=started_at,
        zone="UTC",
        source=TakeSource.DEMO,
        duration_seconds=30.0,
        note_count=100,
    )


def content() -> DaysContent:
    moments = [
        datetime(2026, 3, 18, 18, 0, tzinfo=UTC),
        datetime(2026, 3, 20, 17, 0, tzinfo=UTC),
        datetime(2026, 3, 20, 17, 30, tzinfo=UTC),
    ]
    rows = [
        result("one", OPENING, moments[0], 0.90),
        result("two", OPENING, moments[1], 0.94),
        result("three", OPENING, moments[2], 0.98),
        result("three", ENDING, moments[2], 0.80),
    ]
    summaries = summarise_sections(rows)
    sections = tuple(
        SectionDays(
            section_id=name.lower(),
            name=name,
            span=span,
            level=0,
            from_measure_index=stretch.start.measure_index,
            to_measure_index=stretch.end.measure_index,
            summary=summaries[stretch],
            beat_quarters=Fraction(3, 2),
            beat_name="dotted quarter",
            target_quarters_per_minute=120.0,
        )
        for name, span, stretch in (("Opening", "1–8", OPENING), ("Ending", "9–12", ENDING))
    )
    measures = tuple(
        MeasureErrors(
            measure_index=index,
            plays=1,
            expected=10,
            right=10 - (index == 9),
            wrong=index == 9,
            missed=0,
            added=0,
        )
        for index in range(12)
    )
    return DaysContent(
        sections=sections,
        takes=(
            TakeRow(
                take=take("three", moments[2]),
                day=TODAY,
                measures="1–12",
                accuracy=0.92,
                expected=200,
                beats_per_minute=60.0,
                section_ids=frozenset({"opening", "ending"}),
                hands=Hands.BOTH,
            ),
            TakeRow(take=take("two", moments[1]), day=TODAY, section_ids=frozenset({"opening"})),
            TakeRow(
                take=take("one", moments[0]),
                day=TODAY - timedelta(days=2),
                section_ids=frozenset({"opening"}),
            ),
        ),
        day_measures=(DayMeasures(day=TODAY, measures=measures),),
        measure_numbers=tuple(str(number) for number in range(1, 13)),
        today=TODAY,
    )
