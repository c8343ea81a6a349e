"""The end of a day and its pauses: joins, work away from the keyboard, replay.

Sources of the rules
--------------------
- Joins from the middle of the schedule on (Williamon & Valentine 2000); borders are where the one
  section has to call up the next (Chaffin & Imreh 2002).
- Away from the keyboard: mental and physical practice in alternation did as well as physical alone,
  mental alone worse (Coffman 1990, JRME 38:187-196; Bernardi et al. 2013, Music Percept.
  30:275-290). So it is real work, but never more than :data:`MOST_AWAY_SHARE` of a day.
- What was learnt today once more at the end, because a similar passage practised afterwards undid
  the gain of the night, and a short replay kept it (Allen 2013, doi:10.1177/0305735612463947).
"""

from __future__ import annotations

from collections.abc import Sequence

from companion.history.planning.model import Activity, Place, PlaceKind, PlannedTurn
from companion.history.planning.situation import (
    JoinStanding,
    PlannedSection,
    Situation,
    neighbours,
)
from companion.history.planning.stages import Stage, stage_of

MOST_AWAY_SHARE = 0.15
MOST_AWAY_MINUTES = 10
SHORTEST_AWAY_MINUTES = 4
JOIN_MINUTES = 3
MOST_JOIN_SHARE = 0.2
MOST_REPLAYED = 4


def join_turns(situation: Situation, minutes: int) -> tuple[PlannedTurn, ...]:
    """Return joins of neighbours that can both be played through, those longest ago first."""
    played = {(join.first_id, join.second_id): join for join in situation.joins}
    of_id = {section.section_id: section for section in situation.sections}
    wanted = [
        played.get(pair, JoinStanding(first_id=pair[0], second_id=pair[1]))
        for pair in neighbours(situation.sections)
        if all(stage_of(of_id[name]).notes_learnt for name in pair)
    ]
    wanted.sort(
        key=lambda join: (
            join.last_played.toordinal() if join.last_played is not None else 0,
            min(of_id[join.first_id].rank, of_id[join.second_id].rank),
        )
    )
    count = int(MOST_JOIN_SHARE * minutes) // JOIN_MINUTES
    return tuple(
        _join(of_id[join.first_id], of_id[join.second_id], join) for join in wanted[:count]
    )


def _join(first: PlannedSection, second: PlannedSection, join: JoinStanding) -> PlannedTurn:
    return PlannedTurn(
        turn_id=f"{Activity.JOIN}/{first.section_id}+{second.section_id}",
        activity=Activity.JOIN,
        place=Place(
            kind=PlaceKind.JOIN,
            section_ids=(first.section_id, second.section_id),
            name=f"{first.name} – {second.name}",
        ),
        minutes=JOIN_MINUTES,
        why=(
            "Never played over this border: from the last measures of the one into the other."
            if join.last_played is None
            else "Longest ago of all borders: from the last measures of the one into the other."
        ),
    )


def away_turns(situation: Situation, minutes: int) -> tuple[PlannedTurn, ...]:
    """Return reciting and conducting, in turn from day to day; both on long days."""
    most = min(MOST_AWAY_MINUTES, int(MOST_AWAY_SHARE * minutes))
    begun = [s for s in situation.hardest_first if stage_of(s) is not Stage.NEW]
    if most < SHORTEST_AWAY_MINUTES or not begun:
        return ()
    open_ones = [section for section in begun if stage_of(section) is not Stage.KNOWN]
    section = (open_ones or begun)[0]
    turns = [
        _away(
            Activity.RECITE,
            section,
            "Key and chord named without the piano hold up where the fingers forget.",
        ),
        _away(
            Activity.CONDUCT,
            section,
            "Hands at rest: shape it as you want to hear it, then play it so.",
        ),
    ]
    if situation.today.toordinal() % 2:
        turns.reverse()
    if most < 2 * SHORTEST_AWAY_MINUTES:
        turns = turns[:1]
    lengths = [most] if len(turns) == 1 else [most - most // 2, most // 2]
    return tuple(_lasting(turn, length) for turn, length in zip(turns, lengths, strict=True))


def _away(activity: Activity, section: PlannedSection, why: str) -> PlannedTurn:
    return PlannedTurn(
        turn_id=f"{activity}/{section.section_id}",
        activity=activity,
        place=Place(kind=PlaceKind.SECTION, section_ids=(section.section_id,), name=section.name),
        minutes=0,
        why=why,
    )


def _lasting(turn: PlannedTurn, minutes: int) -> PlannedTurn:
    return PlannedTurn(
        turn_id=turn.turn_id,
        activity=turn.activity,
        place=turn.place,
        minutes=minutes,
        why=turn.why,
    )


def replay_turn(learnt: Sequence[PlannedSection]) -> PlannedTurn | None:
    """Return the replay of what was learnt today, a minute each; None when nothing was."""
    sections = list(learnt)[:MOST_REPLAYED]
    if not sections:
        return None
    return PlannedTurn(
        turn_id=f"{Activity.REPLAY}/{'+'.join(section.section_id for section in sections)}",
        activity=Activity.REPLAY,
        place=Place(
            kind=PlaceKind.SECTION if len(sections) == 1 else PlaceKind.SECTIONS,
            section_ids=tuple(section.section_id for section in sections),
            name=", ".join(section.name for section in sections),
        ),
        minutes=len(sections),
        why="Slowly once more at the end, so that the night keeps today's work.",
    )
