"""A take as its passages: what each covers in words, where the playing leapt. No widgets here."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication

from companion.desktop.section_map.overlay import Leap, ShownStretch
from companion.listening.measuring.flow import InterruptionKind
from companion.listening.notes import Beginning, Match, Passage
from companion.score.model import Position, Score

if TYPE_CHECKING:
    from collections.abc import Mapping

    from companion.listening.measuring.take_measures import TakeMeasures
    from companion.listening.notes import Hands


def _tr(text: str) -> str:
    return QCoreApplication.translate("Passages", text)


@dataclass(frozen=True, slots=True, kw_only=True)
class PassageLine:
    """One passage: its words, its stretch, and the leap that led to it (None for none)."""

    words: str
    stretch: ShownStretch
    leap: Leap | None


def passage_lines(
    score: Score, match: Match, measures: TakeMeasures | None, hands_names: Mapping[Hands, str]
) -> tuple[PassageLine, ...]:
    """The passages of a take in the order in which they were played."""
    leaps = _leaps(score, match, measures)
    return tuple(
        PassageLine(
            words=_words(
                score,
                passage,
                len(match.passages),
                hands_names[passage.hands],
                after_leap=passage.index in leaps,
            ),
            stretch=ShownStretch(
                score.position_at(passage.from_quarters),
                score.position_at(passage.to_quarters),
            ),
            leap=leaps.get(passage.index),
        )
        for passage in match.passages
    )


def only_passage(
    match: Match, measures: TakeMeasures | None, index: int
) -> tuple[Match, TakeMeasures | None]:
    """What was found in one passage alone."""
    alone = replace(
        match,
        notes=tuple(note for note in match.notes if note.passage == index),
        missed=tuple(note for note in match.missed if note.passage == index),
        passages=tuple(passage for passage in match.passages if passage.index == index),
    )
    if measures is None:
        return alone, None
    breaks = tuple(one for one in measures.interruptions if one.passage == index)
    return alone, replace(measures, interruptions=breaks)


def _leaps(score: Score, match: Match, measures: TakeMeasures | None) -> dict[int, Leap]:
    """Returns and jumps by the index of the passage that they led to.

    A repeat that the score asks for begins a new passage, but is no leap of the player: the
    measures know the difference.
    """
    if measures is None:
        led = (Beginning.START, Beginning.GOES_ON)
        of_player = {p.index - 1 for p in match.passages if p.began_with not in led}
    else:
        kinds = (InterruptionKind.RESTART, InterruptionKind.JUMP)
        of_player = {one.passage for one in measures.interruptions if one.kind in kinds}
    first: dict[int, Position] = {}
    last: dict[int, Position] = {}
    for note in match.notes:
        if note.measure_index is not None and note.offset_quarters is not None:
            here = Position(note.measure_index, note.offset_quarters)
            first.setdefault(note.passage, here)
            last[note.passage] = here
    passages = match.passages
    return {
        after.index: Leap(last[before.index], first[after.index])
        for before, after in pairwise(passages)
        if before.index in of_player and before.index in last and after.index in first
    }


def _words(score: Score, passage: Passage, count: int, hands: str, *, after_leap: bool) -> str:
    numbers = [
        score.measures[min(index, len(score.measures) - 1)].number
        for index in (passage.from_measure_index, passage.to_measure_index)
    ]
    where = (
        _tr("measure {number}").format(number=numbers[0])
        if numbers[0] == numbers[1]
        else _tr("measures {first}–{last}").format(first=numbers[0], last=numbers[1])
    )
    parts = [where, hands]
    if passage.began_with is not Beginning.START:
        parts.append(_beginning(passage.began_with, after_leap=after_leap))
    return _tr("Passage {number} of {count}: {what}").format(
        number=passage.index + 1, count=count, what=", ".join(parts)
    )


def _beginning(began_with: Beginning, *, after_leap: bool) -> str:
    if not after_leap or began_with is Beginning.GOES_ON:
        return _tr("as the repeats lead")
    return _tr("after a restart") if began_with is Beginning.RESTART else _tr("after a jump")
