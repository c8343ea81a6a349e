"""From the plan of today to what the page shows. No widgets, no database."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from fractions import Fraction

from companion.desktop.section_map.wording import beat_name
from companion.desktop.today import wording
from companion.desktop.today.content import DayLine, SpotLine, TodayContent, TurnLine
from companion.history.days import practice_day
from companion.history.planning.model import PlaceKind, PlannedTurn
from companion.history.spots import Spot
from companion.practice.planning.today import Today
from companion.score.model import Score
from companion.score.sections.section_map import SectionMap


def beats_of_sections(score: Score, section_map: SectionMap) -> dict[str, str]:
    """Return the name of the beat with which each section begins, by id."""
    found = {}
    for section in section_map.sections:
        index = min(section.start.measure_index, len(score.measures) - 1)
        found[section.section_id] = beat_name(Fraction(score.measures[index].beat_quarters))
    return found


def today_content(
    today: Today,
    beats: Mapping[str, str],
    *,
    spots: tuple[SpotLine, ...] = (),
    care: tuple[str, ...] = (),
) -> TodayContent:
    """Fill the page.

    Parameters
    ----------
    beats
        Name of the beat of each section by id.
    """
    ticked = today.plan
    following = ticked.next_turn
    return TodayContent(
        title=wording.day_title(ticked.plan.day),
        headline=ticked.plan.headline,
        turns=tuple(
            TurnLine(
                turn_id=each.turn.turn_id,
                what=wording.activity_name(each.turn),
                where=wording.place_name(each.turn),
                tempo=tempo_text(each.turn, beats),
                minutes=each.turn.minutes,
                why=each.turn.why,
                done=each.done,
                begun=bool(each.done_ids) and not each.done,
                too_late=each.too_late,
                by_hand=not each.turn.activity.at_keyboard,
                section_id=_section_id(each.turn),
            )
            for each in ticked.turns
        ),
        minutes_planned=ticked.plan.minutes,
        minutes_left=ticked.minutes_left,
        next_id=following.turn_id if following is not None else None,
        days=_day_lines(today),
        outlook=" ".join((today.schedule.says, *today.schedule.changes)),
        spots=spots,
        care=care,
        stopped=today.situation.discomfort,
    )


def spot_lines(
    spots: Sequence[Spot], score: Score, zone: str, today: date, day_starts_at_hour: int
) -> tuple[SpotLine, ...]:
    """Return marked spots as lines, in order of place."""
    lines = []
    for spot in spots:
        if spot.position.measure_index >= len(score.measures):
            continue  # marked in an edition with more measures
        day = practice_day(spot.marked_at, zone, day_starts_at_hour)
        lines.append(
            SpotLine(
                measure_index=spot.position.measure_index,
                text=wording.tr("Measure {number}, marked {day}").format(
                    number=score.measures[spot.position.measure_index].number,
                    day=wording.day_name(day, today),
                ),
            )
        )
    return tuple(lines)


def _day_lines(today: Today) -> tuple[DayLine, ...]:
    names = {section.section_id: section.name for section in today.situation.sections}
    return tuple(
        DayLine(
            day=wording.day_name(day.day, today.situation.today),
            what=wording.day_words(day, names),
            minutes=str(day.minutes) if day.minutes else "",
            today=day.day == today.situation.today,
        )
        for day in today.schedule.days
    )


def tempo_text(turn: PlannedTurn, beats: Mapping[str, str]) -> str:
    """Return what to set the metronome to: "quarter = 84", "" for no mark."""
    if turn.beats_per_minute is None:
        return ""
    beat = beats.get(turn.place.section_ids[0], "") if turn.place.section_ids else ""
    if not beat:
        return str(turn.beats_per_minute)
    return wording.tr("{beat} = {beats}").format(beat=beat, beats=turn.beats_per_minute)


def _section_id(turn: PlannedTurn) -> str | None:
    if turn.place.kind is PlaceKind.PIECE or not turn.place.section_ids:
        return None
    return turn.place.section_ids[0]
