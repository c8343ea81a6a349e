"""The readiness check of a piece: where starts are possible, and what a take means for a step."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from fractions import Fraction

from companion.history.knowing.attempts import Attempt
from companion.history.model import Take
from companion.history.readiness.check import Check, CheckPart, CheckTake
from companion.history.readiness.check_steps import (
    OPENING_MEASURES,
    CheckSection,
    StartPlace,
    draw_steps,
)
from companion.history.results import Stretch
from companion.listening.notes import Match, Passage, Verdict
from companion.practice.planning.situation import PlanAsked
from companion.practice.results import WorkedOut
from companion.score.model import Score
from companion.score.sections.section_map import Section


def begin_check(asked: PlanAsked, seed: int, *, cold: bool, with_harmony: bool) -> Check:
    """Return a new check of a piece; the same seed draws the same places."""
    ranks = {section_id: rank for rank, section_id in enumerate(asked.order, 1)}
    sections = tuple(
        CheckSection(
            section_id=section.section_id,
            name=section.name,
            rank=ranks.get(section.section_id, len(ranks) + number),
        )
        for number, section in enumerate(asked.sections, 1)
    )
    return Check(
        seed=seed,
        sections=sections,
        steps=draw_steps(
            sections,
            start_places(asked.score, asked.sections),
            seed,
            from_memory=asked.choices.from_memory,
            with_harmony=with_harmony,
        ),
        cold=cold,
    )


def start_places(score: Score, sections: Iterable[Section]) -> tuple[StartPlace, ...]:
    """Return all places where a start can be asked for, in the order of the piece.

    These are beginnings of sections and downbeats inside them, always with a note of their own:
    never a rest or a note that is held over (held notes have no onset there).
    """
    downbeats = {
        note.measure_index
        for note in score.notes
        if note.expected and not note.grace and note.measure_offset_quarters == 0
    }
    last = len(score.measures) - OPENING_MEASURES
    found = []
    for section in sections:
        first = section.start.measure_index + (1 if section.start.offset_quarters else 0)
        end = section.end.measure_index + (1 if section.end.offset_quarters else 0)
        for index in range(first, min(end, last + 1)):
            if index not in downbeats:
                continue
            number = score.measures[index].number
            opens = index == first
            found.append(
                StartPlace(
                    measure_index=index,
                    section_id=section.section_id,
                    name=f"measure {number} (the beginning of {section.name})"
                    if opens
                    else f"measure {number}",
                    opens_section=opens,
                )
            )
    return tuple(found)


def check_take(
    asked: PlanAsked, take: Take, worked: WorkedOut, prompted_at: datetime | None = None
) -> CheckTake | None:
    """Return what a take means for a check; None when it does not belong to the piece.

    Parameters
    ----------
    prompted_at
        When the step was shown; None where time does not matter.
    """
    passages = worked.match.passages
    if not passages:
        return None
    first = _first_measure(worked.match)
    seconds = None
    if prompted_at is not None:
        seconds = max(0.0, (take.started_at - prompted_at).total_seconds())
    return CheckTake(
        take_id=take.take_id,
        at=take.started_at,
        first_measure_index=first,
        parts=_parts(asked, worked),
        seconds_to_begin=seconds,
        opening_errors=_opening_errors(worked.match, passages[0], first, asked.score),
    )


def _first_measure(match: Match) -> int:
    """Where the first note that stands for a written one belongs."""
    for note in match.notes:
        if note.measure_index is not None:
            return note.measure_index
    return match.passages[0].from_measure_index


def _parts(asked: PlanAsked, worked: WorkedOut) -> tuple[CheckPart, ...]:
    attempts = worked.results.attempts
    found = [
        _part(section.section_id, attempts[Stretch.of(section)], asked.target(section))
        for section in asked.sections
        if Stretch.of(section) in attempts
    ]
    return tuple(found)


def _part(section_id: str, attempt: Attempt, target: float | None) -> CheckPart:
    tempo = attempt.running_tempo_quarters_per_minute
    return CheckPart(
        section_id=section_id,
        complete=attempt.complete and not attempt.began_again,
        stops=attempt.stops,
        errors=attempt.wrong + attempt.missed + attempt.added,
        notes=attempt.expected,
        tempo_share=tempo / target if tempo is not None and target else None,
    )


def _opening_errors(match: Match, opening: Passage, first: int, score: Score) -> int | None:
    """Errors in the first measures; None when they were not played to their end."""
    behind = first + OPENING_MEASURES
    reached_end = opening.to_measure_index >= behind or (
        opening.to_measure_index == behind - 1
        and opening.to_quarters >= _last_onset(score, behind - 1)
    )
    if not reached_end:
        return None
    inside = [
        note
        for note in match.notes
        if note.passage == opening.index
        and note.measure_index is not None
        and first <= note.measure_index < behind
    ]
    wrong = sum(note.verdict is Verdict.WRONG for note in inside)
    missed = sum(
        note.passage == opening.index and first <= note.measure_index < behind
        for note in match.missed
    )
    until = max((note.played for note in inside), default=opening.first_played)
    added = sum(
        note.passage == opening.index and note.verdict is Verdict.ADDED and note.played <= until
        for note in match.notes
    )
    return wrong + missed + added


def _last_onset(score: Score, measure_index: int) -> Fraction | float:
    return max(
        (
            note.onset_quarters
            for note in score.notes
            if note.measure_index == measure_index and note.expected
        ),
        default=Fraction(0),
    )
