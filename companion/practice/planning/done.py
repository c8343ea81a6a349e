"""What was done today: takes, drills, chords that were named, what was conducted."""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import date, datetime

from companion.history.days import practice_day
from companion.history.drilled import DRILLED
from companion.history.knowing.touched import Touched
from companion.history.model import Entry, new_id
from companion.history.planning.model import Activity, PlannedTurn
from companion.history.planning.ticking import (
    SECONDS_FOR_AN_ANSWER,
    Done,
    DoneKind,
    DonePart,
)
from companion.history.recited import RECITED, recited_of
from companion.practice.planning.situation import PlanAsked
from companion.score.model import Position
from companion.score.sections.section_map import Section

AWAY = "away from the keyboard"
"""Kind of the entries for what nobody can hear: the pianist says that it was done."""

SECONDS_FOR_A_DRILL = 45.0
"""How long a take of a drill counts for (project convention)."""

ENTRY_KINDS = (DRILLED, RECITED, AWAY)


def done_on(
    asked: PlanAsked, touched: Touched, entries: Iterable[Entry], day: date
) -> tuple[Done, ...]:
    """Return what was done on a day, in the order in which it happened.

    Parameters
    ----------
    touched
        All takes of the piece.
    entries
        Of :data:`ENTRY_KINDS`, of any day.
    """
    found = [*_played(asked, touched, day)]
    for entry in entries:
        if practice_day(entry.happened_at, entry.zone, asked.day_starts_at_hour) == day:
            done = _entry_done(asked, entry)
            if done is not None:
                found.append(done)
    return tuple(sorted(found, key=lambda each: (each.at, each.done_id)))


def _played(asked: PlanAsked, touched: Touched, day: date) -> Iterable[Done]:
    playing_seconds = asked.playing_seconds()
    targets = [asked.target(section) for section in asked.sections]
    for take in touched.on(day):
        weights = [
            share * seconds for share, seconds in zip(take.coverage, playing_seconds, strict=True)
        ]
        whole = sum(weights) or 1.0
        parts = [
            DonePart(
                section_id=section.section_id,
                seconds=take.seconds * weights[place] / whole,
                coverage=take.coverage[place],
                complete=take.complete[place],
                began_again=take.began_again[place],
                tempo_share=_share(take.tempo_quarters_per_minute[place], targets[place]),
            )
            for place, section in enumerate(asked.sections)
            if take.coverage[place] > 0
        ]
        if parts:
            yield Done(
                done_id=take.take_id,
                at=take.started_at,
                kind=DoneKind.PLAYED,
                parts=tuple(parts),
                hands=take.hands,
                from_memory=take.from_memory,
            )


def _share(tempo: float | None, target: float | None) -> float | None:
    return tempo / target if tempo is not None and target else None


def _entry_done(asked: PlanAsked, entry: Entry) -> Done | None:
    if entry.kind == RECITED:
        kind, parts = DoneKind.RECITED, _recited_parts(asked, entry)
    elif entry.kind == DRILLED:
        kind, parts = DoneKind.DRILLED, _drilled_parts(asked, entry)
    elif entry.kind == AWAY:
        kind, parts = _away_parts(entry)
    else:
        return None
    if not parts:
        return None
    return Done(done_id=entry.entry_id, at=entry.happened_at, kind=kind, parts=parts)


def _recited_parts(asked: PlanAsked, entry: Entry) -> tuple[DonePart, ...]:
    recited = recited_of(entry)
    if recited is None:
        return ()
    section = _section_at(asked, asked.score.position_at(recited.start_quarters))
    return _one_part(section, SECONDS_FOR_AN_ANSWER)


def _drilled_parts(asked: PlanAsked, entry: Entry) -> tuple[DonePart, ...]:
    try:
        # kind of drill, first note, last note, ...
        first_note = str(json.loads(entry.content)["drill_id"]).split(":")[1]
    except (ValueError, KeyError, TypeError, IndexError):
        return ()
    for note in asked.score.notes:
        if note.note_id == first_note:
            return _one_part(
                _section_at(asked, asked.score.position_at(note.onset_quarters)),
                SECONDS_FOR_A_DRILL,
            )
    return ()


def _section_at(asked: PlanAsked, position: Position) -> Section | None:
    return next((each for each in asked.sections if each.contains(position)), None)


def _one_part(section: Section | None, seconds: float) -> tuple[DonePart, ...]:
    return () if section is None else (DonePart(section_id=section.section_id, seconds=seconds),)


def away_entry(turn: PlannedTurn, piece_id: str, happened_at: datetime, zone: str) -> Entry:
    """Return the entry that says that a turn away from the keyboard was done."""
    content = {
        "activity": turn.activity.value,
        "sections": list(turn.place.section_ids),
        "minutes": turn.minutes,
    }
    return Entry(
        entry_id=new_id(),
        piece_id=piece_id,
        kind=AWAY,
        happened_at=happened_at,
        zone=zone,
        content=json.dumps(content, ensure_ascii=False),
    )


def _away_parts(entry: Entry) -> tuple[DoneKind, tuple[DonePart, ...]]:
    try:
        content = json.loads(entry.content)
        recited = content["activity"] == Activity.RECITE.value
        sections = [str(each) for each in content["sections"]]
        seconds = 60.0 * float(content["minutes"]) / max(1, len(sections))
    except (ValueError, KeyError, TypeError):
        return DoneKind.CONDUCTED, ()
    return (
        DoneKind.RECITED if recited else DoneKind.CONDUCTED,
        tuple(DonePart(section_id=each, seconds=seconds) for each in sections),
    )
