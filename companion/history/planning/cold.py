"""The beginning of a day: what is due is played cold, before anything else.

Only the first take of a day counts as cold, and trying to recall is itself what helps most (spaced
retrieval against massed: g = 0.74, Latimier, Peyre & Ramus 2021, doi:10.1007/s10648-020-09572-8;
what rested overnight tells more than the end of yesterday's session: Simmons & Duke 2006, Stambaugh
2011). So every section that is due has its cold take, the hardest first.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from math import ceil

from companion.history.planning.model import Activity, DayKind, Place, PlaceKind, PlannedTurn
from companion.history.planning.phases import run_through_due
from companion.history.planning.situation import PlannedSection, Situation
from companion.history.planning.stages import Stage, stage_of
from companion.history.planning.words import days_ago

MOST_COLD_SHARE = 0.4
"""Share of a day above which what is due is played in one go instead of one by one."""


def is_due(section: PlannedSection, today: date) -> bool:
    """Whether a section should be played cold today.

    Once begun, a section is due on the day after it was first played, and from then on when its
    return is.
    """
    if section.due is not None:
        return section.due <= today
    return section.last_played is not None and section.last_played < today


def cold_turns(situation: Situation, kind: DayKind, minutes: int) -> tuple[PlannedTurn, ...]:
    """Return the cold takes of the day, at most ``minutes`` long."""
    if minutes <= 0:
        return ()
    if run_through_due(situation, kind):
        return (_run_through(situation, kind, minutes),)
    today = situation.today
    due = [section for section in situation.hardest_first if is_due(section, today)]
    if not due:
        return ()
    lengths = [_minutes_of(section.playing_seconds) for section in due]
    if sum(lengths) <= max(MOST_COLD_SHARE * minutes, lengths[0]) and sum(lengths) <= minutes:
        return tuple(
            _cold_take(section, length, today) for section, length in zip(due, lengths, strict=True)
        )
    return (_all_in_one_go(situation, due, minutes),)


def _minutes_of(playing_seconds: float) -> int:
    """Once through, with a moment before it."""
    return max(1, ceil((1.2 * playing_seconds + 15.0) / 60.0))


def _cold_take(section: PlannedSection, minutes: int, today: date) -> PlannedTurn:
    return PlannedTurn(
        turn_id=f"{Activity.COLD_TAKE}/{section.section_id}",
        activity=Activity.COLD_TAKE,
        place=Place(kind=PlaceKind.SECTION, section_ids=(section.section_id,), name=section.name),
        minutes=minutes,
        why=_why_cold(section, today),
    )


def _why_cold(section: PlannedSection, today: date) -> str:
    if section.due is None:
        return "Begun before and not yet tried cold: see what stayed overnight."
    late = (today - section.due).days
    if section.recent_clean and not section.recent_clean[-1]:
        return "The last cold take was not clean: once, before anything else."
    if stage_of(section) is Stage.KNOWN:
        waiting = f"due {days_ago(late)}" if late else "due today"
        return f"Known, and {waiting}: the first take of the day shows whether it holds."
    if section.clean_days:
        return "Clean at first try before: once more on another day makes it known."
    return "Due: only the first take of the day counts, so play it before anything else."


def _all_in_one_go(
    situation: Situation, due: Sequence[PlannedSection], minutes: int
) -> PlannedTurn:
    """When much is due for the time there is, it is played in the order of the piece."""
    wanted = {section.section_id for section in due}
    ordered = [section for section in situation.sections if section.section_id in wanted]
    needed = _minutes_of(sum(section.playing_seconds for section in ordered))
    fits = needed <= minutes
    whole = len(ordered) == len(situation.sections) > 1
    count = len(ordered)
    return PlannedTurn(
        turn_id=f"{Activity.COLD_TAKE}/{'+'.join(section.section_id for section in ordered)}",
        activity=Activity.COLD_TAKE,
        place=Place(
            kind=PlaceKind.SECTIONS if count > 1 else PlaceKind.SECTION,
            section_ids=tuple(section.section_id for section in ordered),
            name="All sections" if whole else ", ".join(section.name for section in ordered),
        ),
        minutes=min(needed, minutes),
        why=(
            f"{count} sections are due: once each, in order, before anything else."
            if fits and count > 1
            else _why_cold(ordered[0], situation.today)
            if fits
            else "More is due than the day has time for: as far as you get, the rest tomorrow."
        ),
    )


def _run_through(situation: Situation, kind: DayKind, minutes: int) -> PlannedTurn:
    why = {
        DayKind.FINAL: "The last days are for playing through: no stopping, whatever happens.",
        DayKind.DAY_BEFORE: "Once through, calmly; nothing will be changed today.",
    }.get(kind, "All notes are learnt: every few days the whole piece, cold and without stopping.")
    return PlannedTurn(
        turn_id=f"{Activity.RUN_THROUGH}/piece",
        activity=Activity.RUN_THROUGH,
        place=Place(
            kind=PlaceKind.PIECE,
            section_ids=tuple(section.section_id for section in situation.sections),
            name="The whole piece",
        ),
        minutes=min(minutes, _minutes_of(situation.playing_seconds)),
        why=why,
    )
