"""The written notes in the order in which they are played, repeats and all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby

from companion.listening.notes import Hands
from companion.score.model import Hand, Score, ScoreNote


@dataclass(frozen=True, slots=True, kw_only=True)
class RouteNote:
    """A written note on the route.

    ``score_index`` is its index in ``Score.notes``; ``also`` are the indices of other voices that
    have the same key at the same moment: a piano can strike it only once.
    """

    score_index: int
    note: ScoreNote
    also: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RouteOnset:
    """What is struck together.

    Parameters
    ----------
    at_quarters
        Score time along the route: measures add up in the order of playing.
    printed_quarters
        The same place as printed.
    route_measure
        Index into the order of playing; ``measure_index`` is the written measure there.
    graces, notes
        Grace notes before, and the notes themselves.
    """

    at_quarters: Fraction
    printed_quarters: Fraction
    route_measure: int
    measure_index: int
    graces: tuple[RouteNote, ...]
    notes: tuple[RouteNote, ...]


def route_of(
    score: Score,
    *,
    hands: Hands = Hands.BOTH,
    from_measure_index: int = 0,
    to_measure_index: int | None = None,
    repeats: bool = True,
) -> tuple[RouteOnset, ...]:
    """Return the onsets along the order of playing.

    Parameters
    ----------
    hands
        Only the notes of that hand.
    from_measure_index, to_measure_index
        Only these written measures, the last one included; then repeats are not taken.
    repeats
        False plays every measure once, as printed.
    """
    whole = from_measure_index == 0 and to_measure_index is None
    last = len(score.measures) - 1 if to_measure_index is None else to_measure_index
    order: Sequence[int] = range(from_measure_index, last + 1)
    if whole and repeats and score.playing_order:
        order = score.playing_order
    by_measure = _notes_by_measure(score, hands)
    onsets: list[RouteOnset] = []
    at_quarters = Fraction(0)
    for route_measure, index in enumerate(order):
        measure = score.measures[index]
        for offset, together in groupby(
            by_measure.get(index, ()), key=lambda r: r.note.measure_offset_quarters
        ):
            group = tuple(together)
            onsets.append(
                RouteOnset(
                    at_quarters=at_quarters + Fraction(offset),
                    printed_quarters=measure.start_quarters + Fraction(offset),
                    route_measure=route_measure,
                    measure_index=index,
                    graces=tuple(r for r in group if r.note.grace),
                    notes=_without_unisons([r for r in group if not r.note.grace]),
                )
            )
        at_quarters += measure.duration_quarters
    return tuple(onsets)


def _without_unisons(notes: list[RouteNote]) -> tuple[RouteNote, ...]:
    """One note for each key: the longest, which knows the others."""
    by_pitch: dict[int, list[RouteNote]] = {}
    for route_note in notes:
        by_pitch.setdefault(route_note.note.pitch, []).append(route_note)
    for same in by_pitch.values():
        same.sort(key=lambda r: -r.note.duration_quarters)
    return tuple(
        replace(same[0], also=tuple(r.score_index for r in same[1:])) for same in by_pitch.values()
    )


def _notes_by_measure(score: Score, hands: Hands) -> dict[int, list[RouteNote]]:
    hand = {Hands.BOTH: None, Hands.RIGHT: Hand.RIGHT, Hands.LEFT: Hand.LEFT}[hands]
    by_measure: dict[int, list[RouteNote]] = {}
    for index, note in enumerate(score.notes):
        if note.expected and hand in (None, note.playing_hand):
            by_measure.setdefault(note.measure_index, []).append(
                RouteNote(score_index=index, note=note)
            )
    for notes in by_measure.values():
        notes.sort(key=lambda r: (r.note.measure_offset_quarters, not r.note.grace))
    return by_measure
