"""A report as JSON values, and back from JSON that anybody may have written."""

from __future__ import annotations

from datetime import date
from typing import Any

from companion.history.knowing.known import State
from companion.practice.packets.typed import LONGEST_TEXT, Found
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

_FASTEST = 2_000.0  # quarters a minute
_MOST_SECTIONS = 2_000
_MOST_DAYS = 20_000


def report_to_document(report: ReportValues) -> dict[str, Any]:
    """Return a report as values that ``json`` can write; inverse of the function below."""
    return {
        "title": report.title,
        "composer": report.composer,
        "player": report.player,
        "from_day": report.from_day.isoformat(),
        "to_day": report.to_day.isoformat(),
        "performance": _day(report.performance),
        "measures": report.measure_count,
        "sections": [_section(section) for section in report.sections],
        "playing": [
            {"day": each.day.isoformat(), "takes": each.takes, "minutes": round(each.minutes, 3)}
            for each in report.playing
        ],
        "resisting": [
            {
                "from_measure": each.from_measure,
                "to_measure": each.to_measure,
                "section": each.section,
                "plays": each.plays,
                "errors_per_play": each.errors_per_play,
                "days": each.days,
            }
            for each in report.resisting
        ],
        "remarks": [
            {"day": each.day.isoformat(), "about": each.about, "text": each.text}
            for each in report.remarks
        ],
        "readiness": None
        if report.readiness is None
        else {"day": report.readiness.day.isoformat(), "sentence": report.readiness.sentence},
        "rules": report.rules,
        "order": report.order,
        "letter": report.letter,
        "takes_to_work_out": report.takes_to_work_out,
    }


def _day(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def _section(section: ReportSection) -> dict[str, Any]:
    return {
        "id": section.section_id,
        "name": section.name,
        "level": section.level,
        "from_measure": section.from_measure,
        "to_measure": section.to_measure,
        "from_measure_index": section.from_measure_index,
        "to_measure_index": section.to_measure_index,
        "purpose": section.purpose,
        "beat_quarters": str(section.beat_quarters),
        "target_quarters_per_minute": section.target_quarters_per_minute,
        "state": section.state.value,
        "known_since": _day(section.known_since),
        "lapsed_on": _day(section.lapsed_on),
        "clean_days": section.clean_days,
        "days_to_know": section.days_to_know,
        "probability": section.probability,
        "low": section.low,
        "high": section.high,
        "cold": [
            {
                "day": each.day.isoformat(),
                "clean": each.clean,
                "why_not": list(each.why_not),
                "from_memory": each.from_memory,
            }
            for each in section.cold
        ],
        "days": [
            {
                "day": each.day.isoformat(),
                "takes": each.takes,
                "accuracy": each.accuracy,
                "quarters_per_minute": each.quarters_per_minute,
            }
            for each in section.days
        ],
    }


def report_from_document(found: Found) -> ReportValues:
    """Read a report; inverse of the function above.

    Raises
    ------
    PacketUnreadable
        Something in it is not what stands there in a report.
    """
    from_day, to_day = found.get("from_day").day(), found.get("to_day").day()
    if from_day > to_day:
        raise found.get("to_day").wrong("a later day")
    readiness = found.get("readiness")
    return ReportValues(
        title=found.get("title").text(),
        composer=found.get("composer").text(),
        player=found.get("player").text(),
        from_day=from_day,
        to_day=to_day,
        performance=found.get("performance").optional_day(),
        measure_count=found.get("measures").whole(most=100_000),
        sections=tuple(_read_section(s) for s in found.get("sections").items(_MOST_SECTIONS)),
        playing=tuple(
            PlayedDay(
                day=each.get("day").day(),
                takes=each.get("takes").whole(),
                minutes=each.get("minutes").number(),
            )
            for each in found.get("playing").items(_MOST_DAYS)
        ),
        resisting=tuple(
            ResistingPassage(
                from_measure=each.get("from_measure").text(),
                to_measure=each.get("to_measure").text(),
                section=each.get("section").text(),
                plays=each.get("plays").whole(),
                errors_per_play=each.get("errors_per_play").number(),
                days=each.get("days").whole(),
            )
            for each in found.get("resisting").items(_MOST_SECTIONS)
        ),
        remarks=tuple(
            Remark(
                day=each.get("day").day(),
                about=each.get("about").text(),
                text=each.get("text").text(LONGEST_TEXT),
            )
            for each in found.get("remarks").items(_MOST_SECTIONS)
        ),
        readiness=None
        if readiness.value is None
        else ReadinessGlance(
            day=readiness.get("day").day(), sentence=readiness.get("sentence").text(2_000)
        ),
        rules=found.get("rules").text(2_000),
        order=found.get("order").text(2_000),
        letter=found.get("letter").text(LONGEST_TEXT),
        takes_to_work_out=found.get("takes_to_work_out").whole(),
    )


def _read_section(found: Found) -> ReportSection:
    try:
        state = State(found.get("state").text(needed=True))
    except ValueError:
        raise found.get("state").wrong("new, learning, known or lapsed") from None
    first = found.get("from_measure_index").whole(most=100_000)
    return ReportSection(
        section_id=found.get("id").identity(),
        name=found.get("name").text(),
        level=found.get("level").whole(most=50),
        from_measure=found.get("from_measure").text(),
        to_measure=found.get("to_measure").text(),
        from_measure_index=first,
        to_measure_index=found.get("to_measure_index").whole(first, 100_000),
        purpose=found.get("purpose").text(LONGEST_TEXT),
        beat_quarters=found.get("beat_quarters").fraction(),
        target_quarters_per_minute=found.get("target_quarters_per_minute").optional_number(
            1.0, _FASTEST
        ),
        state=state,
        known_since=found.get("known_since").optional_day(),
        lapsed_on=found.get("lapsed_on").optional_day(),
        clean_days=found.get("clean_days").whole(most=1_000),
        days_to_know=found.get("days_to_know").whole(1, 1_000),
        probability=found.get("probability").optional_number(most=1.0),
        low=found.get("low").optional_number(most=1.0),
        high=found.get("high").optional_number(most=1.0),
        cold=tuple(_cold(each) for each in found.get("cold").items(_MOST_DAYS)),
        days=tuple(_figures(each) for each in found.get("days").items(_MOST_DAYS)),
    )


def _cold(found: Found) -> ColdDay:
    return ColdDay(
        day=found.get("day").day(),
        clean=found.get("clean").truth(),
        why_not=tuple(each.text() for each in found.get("why_not").items(20)),
        from_memory=found.get("from_memory").optional_truth(),
    )


def _figures(found: Found) -> DayFigures:
    return DayFigures(
        day=found.get("day").day(),
        takes=found.get("takes").whole(),
        accuracy=found.get("accuracy").optional_number(most=1.0),
        quarters_per_minute=found.get("quarters_per_minute").optional_number(most=_FASTEST),
    )
