"""A matched take as arrays: every played note with its place, and the time of every onset.

Conventions
-----------
- A row of the ``key_*`` arrays is one played note, a row of ``state_*`` one written note of one
  passage (right, wrong or missed), a row of ``struck_*`` one written onset of one passage.
- Grace and ornament notes are left out of all timing; an added note has the place of the written
  note that was played before it in its passage (or after it, at the beginning).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from companion.listening.measuring.score_index import Floats, Ints, ScoreIndex
from companion.listening.notes import HeardNote, JudgedNote, Match, Verdict


class State(IntEnum):
    """What became of a written note in a passage."""

    RIGHT = 0
    WRONG = 1
    MISSED = 2


@dataclass(frozen=True, slots=True, eq=False)
class PlayedTake:
    """A take as arrays; see the module's conventions.

    Parameters
    ----------
    timed_note, timed_passage, timed_seconds, timed_velocity
        Played notes that stand for a written note, right or wrong, without graces.
    loud_note, loud_passage, loud_velocity
        All played notes with a written place, graces and ornaments included, added notes not.
    state_note, state_passage, state
        What became of each expected written note of each passage.
    added_note, added_passage
        Per added note: the written note that gives its place.
    ornament_note, ornament_passage
        Per ornament note: the written note it adorns.
    struck_onset, struck_passage, struck_seconds
        Median time of the keys of each written onset, in the order of playing.
    passage_low, passage_high
        By the index of a passage: range of written notes that it covers, half-open.
    """

    timed_note: Ints
    timed_passage: Ints
    timed_seconds: Floats
    timed_velocity: Floats
    loud_note: Ints
    loud_passage: Ints
    loud_velocity: Floats
    state_note: Ints
    state_passage: Ints
    state: Ints
    added_note: Ints
    added_passage: Ints
    ornament_note: Ints
    ornament_passage: Ints
    struck_onset: Ints
    struck_passage: Ints
    struck_seconds: Floats
    passage_low: Ints
    passage_high: Ints

    @property
    def passage_size(self) -> int:
        """One more than the highest index of a passage."""
        return len(self.passage_low)


def arrange_take(index: ScoreIndex, heard: Sequence[HeardNote], match: Match) -> PlayedTake:
    """Turn a match into arrays.

    Parameters
    ----------
    heard
        The notes that were given to the matcher: ``played`` of the match counts them.
    """
    heard = sorted(heard, key=lambda note: note.onset_seconds)  # as the matcher counts them
    timed: list[tuple[int, int, float, float]] = []
    loud: list[tuple[int, int, float]] = []
    states: dict[tuple[int, int], State] = {}
    added: list[tuple[int, int]] = []
    ornaments: list[tuple[int, int]] = []
    adorned: set[tuple[int, int]] = set()
    places = [_written_note(index, note) for note in match.notes]
    around = _places_of_added(match.notes, places)
    expected, grace = index.note_expected.tolist(), index.note_grace.tolist()
    for judged, note, near in zip(match.notes, places, around, strict=True):
        velocity = float(heard[judged.played].velocity)
        key = (judged.passage, note)
        if judged.verdict is Verdict.ORNAMENT:
            if note >= 0:
                ornaments.append((note, judged.passage))
                loud.append((note, judged.passage, velocity))
                adorned.add(key)
            continue
        if judged.verdict is Verdict.ADDED or note < 0 or key in states:
            if near >= 0:
                added.append((near, judged.passage))
            continue
        loud.append((note, judged.passage, velocity))
        if expected[note]:
            states[key] = State.RIGHT if judged.verdict is Verdict.RIGHT else State.WRONG
        if not grace[note]:
            timed.append((note, judged.passage, judged.onset_seconds, velocity))
    for passage, note in adorned:
        if expected[note]:
            # an ornament is judged as one note, whichever of its keys the matcher called the main
            states.setdefault((passage, note), State.RIGHT)
    for missed in match.missed:
        note = index.index_of_id.get(missed.note_id, missed.score_index)
        if expected[note]:
            states.setdefault((missed.passage, note), State.MISSED)
    timed_note, timed_passage, timed_seconds, timed_velocity = _columns(timed, 4)
    loud_note, loud_passage, loud_velocity = _columns(loud, 3)
    state_passage, state_note = _columns(list(states), 2)
    added_note, added_passage = _columns(added, 2)
    ornament_note, ornament_passage = _columns(ornaments, 2)
    whole = timed_note.astype(np.int64), timed_passage.astype(np.int64)
    struck_onset, struck_passage, struck_seconds = _struck(index, *whole, timed_seconds)
    size = 1 + max((passage.index for passage in match.passages), default=-1)
    starts, ends = np.full(size, np.inf), np.full(size, -np.inf)
    for passage_ in match.passages:
        starts[passage_.index] = float(passage_.from_quarters)
        ends[passage_.index] = float(passage_.to_quarters)
    return PlayedTake(
        timed_note=whole[0],
        timed_passage=whole[1],
        timed_seconds=timed_seconds,
        timed_velocity=timed_velocity,
        loud_note=loud_note.astype(np.int64),
        loud_passage=loud_passage.astype(np.int64),
        loud_velocity=loud_velocity,
        state_note=state_note.astype(np.int64),
        state_passage=state_passage.astype(np.int64),
        state=np.array(list(states.values()), np.int64),
        added_note=added_note.astype(np.int64),
        added_passage=added_passage.astype(np.int64),
        ornament_note=ornament_note.astype(np.int64),
        ornament_passage=ornament_passage.astype(np.int64),
        struck_onset=struck_onset,
        struck_passage=struck_passage,
        struck_seconds=struck_seconds,
        passage_low=np.searchsorted(index.note_quarters, starts, side="left").astype(np.int64),
        passage_high=np.searchsorted(index.note_quarters, ends, side="right").astype(np.int64),
    )


def _written_note(index: ScoreIndex, judged: JudgedNote) -> int:
    """Index of the written note in the score, by its id wherever it has one, else by the index."""
    if judged.note_id is not None:
        return index.index_of_id.get(judged.note_id, -1)
    return -1 if judged.score_index is None else judged.score_index


def _places_of_added(notes: Sequence[JudgedNote], places: list[int]) -> list[int]:
    """For each played note the written note nearest before it in its passage, else after it."""
    near = list(places)
    last: dict[int, int] = {}
    for k, judged in enumerate(notes):
        if places[k] >= 0:
            last[judged.passage] = places[k]
        else:
            near[k] = last.get(judged.passage, -1)
    last.clear()
    for k in range(len(notes) - 1, -1, -1):
        if near[k] >= 0:
            last[notes[k].passage] = near[k]
        else:
            near[k] = last.get(notes[k].passage, -1)
    return near


def _columns(rows: Sequence[tuple[float, ...]], width: int) -> tuple[Floats, ...]:
    table = np.array(rows, np.float64).reshape(len(rows), width)
    return tuple(table[:, column] for column in range(width))


def _struck(
    index: ScoreIndex, note: Ints, passage: Ints, seconds: Floats
) -> tuple[Ints, Ints, Floats]:
    """Median time of each (passage, onset), sorted by passage, then by onset."""
    onset = index.note_onset[note]
    order = np.lexsort((seconds, onset, passage))
    onset, passage, seconds = onset[order], passage[order], seconds[order]
    if not len(onset):
        return onset, passage, seconds
    first = np.flatnonzero(
        np.concatenate(([True], (np.diff(onset) != 0) | (np.diff(passage) != 0)))
    )
    last = np.append(first[1:], len(onset)) - 1
    medians = 0.5 * (seconds[(first + last) // 2] + seconds[(first + last + 1) // 2])
    return onset[first], passage[first], medians
