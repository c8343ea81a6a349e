"""The end of a day and its pauses: joins, work away from the keyboard, replay.

Sources of the rules
--------------------
- Joins from the middle of the schedule on, in stretches that grow: longer segments by the middle
  stage went with better performances (Williamon & Valentine 2000); borders are where the one
  section has to call up the next (Chaffin & Imreh 2002).
- Away from the keyboard: mental and physical practice in alternation did as well as physical alone,
  mental alone worse (Coffman 1990, JRME 38:187-196; Bernardi et al. 2013, Music Percept.
  30:275-290). So it is real work, but never more than :data:`MOST_AWAY_SHARE` of a day.
- What was learnt today once more at the end, because a similar passage practised afterwards undid
  the gain of the night, and a short replay kept it (Allen 2013, doi:10.1177/0305735612463947).
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from companion.history.planning.model import Activity, Place, PlaceKind, PlannedTurn
from companion.history.planning.phases import JOINS_FROM_SHARE, final_phase_begins
from companion.history.planning.situation import (
    PlannedSection,
    Situation,
    neighbours,
)
from companion.history.planning.stages import Stage, stage_of

MOST_AWAY_SHARE = 0.1
MOST_AWAY_MINUTES = 10
SHORTEST_AWAY_MINUTES = 4
SHORTEST_JOIN_MINUTES = 2
MOST_JOIN_SHARE = 0.4
TIMES_JOINED = 2.2
"""How often a stretch is played in its turn, pauses included."""

MOST_REPLAYED = 4


def join_turns(situation: Situation, minutes: int) -> tuple[PlannedTurn, ...]:
    """Return joins of neighbours that can be played through, the border played longest ago first.

    At first two sections are joined; towards the run-throughs the stretches grow to half of the
    piece.
    """
    of_id = {section.section_id: section for section in situation.sections}
    played = {(join.first_id, join.second_id): join.last_played for join in situation.joins}
    borders = neighbours(situation.sections)
    able = [all(stage_of(of_id[name]).notes_learnt for name in pair) for pair in borders]
    left = int(MOST_JOIN_SHARE * minutes)
    longest = _longest_stretch(situation)
    turns: list[PlannedTurn] = []
    used: set[int] = set()

    def age(number: int) -> tuple[int, int]:
        last = played.get(borders[number])
        rank = min(of_id[name].rank for name in borders[number])
        return (last.toordinal() if last is not None else 0, rank)

    for oldest in sorted((n for n, fits in enumerate(able) if fits), key=age):
        if oldest in used:
            continue
        numbers = _around(oldest, longest - 1, able, used)
        names = [borders[number][0] for number in numbers] + [borders[numbers[-1]][1]]
        length = _minutes_for([of_id[name] for name in names])
        if length > left:
            numbers = [oldest]
            names = list(borders[oldest])
            length = _minutes_for([of_id[name] for name in names])
        if length > left:
            break
        left -= length
        used.update(numbers)
        never = played.get(borders[oldest]) is None
        turns.append(_join([of_id[name] for name in names], length, never=never))
    return tuple(turns)


def _longest_stretch(situation: Situation) -> int:
    """How many sections are played in one go: two at first, half of the piece at the end."""
    most = max(2, (len(situation.sections) + 1) // 2)
    final = final_phase_begins(situation)
    if final is None or situation.first_day is None:
        return 2
    total = max((final - situation.first_day).days, 1)
    gone = (situation.today - situation.first_day).days / total
    share = (gone - JOINS_FROM_SHARE) / (1.0 - JOINS_FROM_SHARE)
    return 2 + round(min(max(share, 0.0), 1.0) * (most - 2))


def _around(oldest: int, borders: int, able: Sequence[bool], used: set[int]) -> list[int]:
    """So many borders that follow each other and hold the oldest, as far as they are free."""
    low = high = oldest
    while high - low + 1 < borders:
        if high + 1 < len(able) and able[high + 1] and high + 1 not in used:
            high += 1
        elif low > 0 and able[low - 1] and low - 1 not in used:
            low -= 1
        else:
            break
    return list(range(low, high + 1))


def _minutes_for(sections: Sequence[PlannedSection]) -> int:
    once = sum(section.playing_seconds for section in sections)
    return max(SHORTEST_JOIN_MINUTES, ceil(TIMES_JOINED * once / 60.0))


def _join(sections: Sequence[PlannedSection], minutes: int, *, never: bool) -> PlannedTurn:
    first, last = sections[0], sections[-1]
    ids = tuple(section.section_id for section in sections)
    age = "Never played over this border" if never else "Longest ago of all borders"
    how = (
        "from the one into the other"
        if len(sections) == 2
        else f"{len(sections)} sections in one go, longer stretches now"
    )
    return PlannedTurn(
        turn_id=f"{Activity.JOIN}/{'+'.join(ids)}",
        activity=Activity.JOIN,
        place=Place(kind=PlaceKind.JOIN, section_ids=ids, name=f"{first.name} – {last.name}"),
        minutes=minutes,
        why=f"{age}: {how}.",
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
        why="Slowly once more at the end, so that the night keeps what was learnt.",
    )
