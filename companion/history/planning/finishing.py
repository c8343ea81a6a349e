"""The end of a day and its pauses: joins, the closing round, work away from the keyboard, replay.

Sources of the rules
--------------------
- Joins from the middle of the schedule on, in stretches that grow: longer segments by the middle
  stage went with better performances (Williamon & Valentine 2000); borders are where the one
  section has to call up the next (Chaffin & Imreh 2002).
- The hardest sections in a round at the end, one try each and another section in between: turns did
  better than blocks wherever ratings differed (Carter & Grahn 2016), and the next cold take comes
  soonest after what was played last. The lengths are project conventions.
- Away from the keyboard: mental and physical practice in alternation did as well as physical alone,
  mental alone worse (Coffman 1990, JRME 38:187-196; Bernardi et al. 2013, Music Percept.
  30:275-290). So it is real work, but never more than :data:`MOST_AWAY_SHARE` of a day.
- What was learnt today once more at the end, because a similar passage practised afterwards undid
  the gain of the night, and a short replay kept it (Allen 2013, doi:10.1177/0305735612463947).
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from math import ceil

from companion.history.planning.model import Activity, Place, PlaceKind, PlannedTurn
from companion.history.planning.phases import JOINS_FROM_SHARE, final_phase_begins
from companion.history.planning.situation import (
    PlannedSection,
    Situation,
    neighbours,
)
from companion.history.planning.stages import Stage, stage_of
from companion.history.planning.work import rests

MOST_AWAY_SHARE = 0.1
MOST_AWAY_MINUTES = 10
SHORTEST_AWAY_MINUTES = 4
SHORTEST_JOIN_MINUTES = 2
# the first once everything can be played through, the second until then
MOST_JOIN_SHARE, JOIN_SHARE_WHILE_LEARNING = 0.5, 0.35
WHOLE_FROM_SHARE = 0.65
"""Share of the days until the run-throughs from which a stretch may be the whole piece."""

TIMES_JOINED = 2.2
"""How often a stretch is played in its turn, pauses included."""

MOST_REPLAYED = 4

LONG_STRETCH = 4
"""From so many sections on, a stretch is played as often as its time allows, not only twice."""

ROUND_SHARE = 0.3
SHORTEST_ROUND_MINUTES, MOST_ROUND_MINUTES = 4, 20
MOST_IN_A_ROUND = 3


def join_turns(situation: Situation, minutes: int) -> tuple[PlannedTurn, ...]:
    """Return joins of neighbours that can be played through, the border played longest ago first.

    At first two sections are joined; towards the run-throughs the stretches grow to the
    whole piece, which is then played as often as there is time for it.
    """
    of_id = {section.section_id: section for section in situation.sections}
    played = {(join.first_id, join.second_id): join.last_played for join in situation.joins}
    borders = neighbours(situation.sections)
    able = [all(stage_of(of_id[name]).notes_learnt for name in pair) for pair in borders]
    all_learnt = all(stage_of(section).notes_learnt for section in situation.sections)
    left = int((MOST_JOIN_SHARE if all_learnt else JOIN_SHARE_WHILE_LEARNING) * minutes)
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
        numbers, names, length = [oldest], list(borders[oldest]), left + 1
        for width in range(longest, 1, -1):  # the longest that there is time for
            numbers = _around(oldest, width - 1, able, used)
            names = [borders[number][0] for number in numbers] + [borders[numbers[-1]][1]]
            length = _minutes_for([of_id[name] for name in names])
            if length <= left:
                break
        if length > left:
            break
        left -= length
        used.update(numbers)
        never = played.get(borders[oldest]) is None
        turns.append(_join([of_id[name] for name in names], length, never=never))
    return _filled(turns, left)


def _filled(turns: Sequence[PlannedTurn], left: int) -> tuple[PlannedTurn, ...]:
    """The longest stretch is played as often as there is time for it."""
    if not turns:
        return ()
    longest = max(turns, key=lambda turn: len(turn.place.section_ids))
    if len(longest.place.section_ids) < LONG_STRETCH:
        return tuple(turns)
    why = f"{longest.why.removesuffix('.')}, as often as it fits."
    filled = replace(longest, minutes=longest.minutes + left, why=why)
    return tuple(filled if turn is longest else turn for turn in turns)


def _longest_stretch(situation: Situation) -> int:
    """How many sections are played in one go: two at first, soon the whole piece."""
    most = max(2, len(situation.sections))
    final = final_phase_begins(situation)
    if final is None or situation.first_day is None:
        return 2
    total = max((final - situation.first_day).days, 1)
    gone = (situation.today - situation.first_day).days / total
    share = (gone - JOINS_FROM_SHARE) / (WHOLE_FROM_SHARE - JOINS_FROM_SHARE)
    return 2 + round(min(max(share, 0.0), 1.0) * (most - 2))


def round_turn(
    situation: Situation, minutes: int, played: Collection[str] = ()
) -> PlannedTurn | None:
    """Return the hardest that can be played through, round and round; None with fewer than two.

    Parameters
    ----------
    minutes
        Of the working day.
    played
        Ids of what is played today in any case: known sections among them need not rest.
    """
    length = min(MOST_ROUND_MINUTES, int(ROUND_SHARE * minutes))
    able = [
        section
        for section in situation.hardest_first
        if stage_of(section).notes_learnt
        and (section.section_id in played or not rests(section, situation.today))
    ][:MOST_IN_A_ROUND]
    if len(able) < 2 or length < SHORTEST_ROUND_MINUTES:
        return None
    able.sort(key=situation.sections.index)
    ids = tuple(section.section_id for section in able)
    return PlannedTurn(
        turn_id=f"{Activity.ROUND}/{'+'.join(ids)}",
        activity=Activity.ROUND,
        place=Place(kind=PlaceKind.SECTIONS, section_ids=ids, name=", ".join(s.name for s in able)),
        minutes=length,
        why="The hardest last: each once, then round again, so that each is called up anew.",
    )


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
