"""Edits of the grouping. Each takes a grouping and returns a new one; undo is keeping the old one.

All raise :class:`companion.errors.EditRefused` with one plain sentence.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from companion.analysis.grouping.cuts import FIVE_FINGER_SPAN
from companion.analysis.grouping.model import Grouping, RunGroups, Way
from companion.analysis.grouping.proposal import cut_run
from companion.errors import EditRefused
from companion.score.model import Score

SET_BY_HAND = "as you set it"


def split_at(grouping: Grouping, note_id: str) -> Grouping:
    """Let a group begin with this note."""
    run, step = _place(grouping, note_id)
    if step in run.begins:
        raise EditRefused("A group begins with this note already.")
    return _with_begins(grouping, run, [*run.begins, step])


def join_before(grouping: Grouping, note_id: str) -> Grouping:
    """Join the group that this note is in with the group before it."""
    run, step = _place(grouping, note_id)
    begin = max(begin for begin in run.begins if begin <= step)
    if begin == 0:
        raise EditRefused("This is the first group of its run: nothing stands before it.")
    return _with_begins(grouping, run, [other for other in run.begins if other != begin])


def toggle_at(grouping: Grouping, note_id: str) -> Grouping:
    """Set a border before this note, or take it away: what a click does."""
    run, step = _place(grouping, note_id)
    if step == 0:
        raise EditRefused("The run begins here: there is no border to take away.")
    return (join_before if step in run.begins else split_at)(grouping, note_id)


def move_border(grouping: Grouping, note_id: str, steps: int) -> Grouping:
    """Move the border before the group of this note by some steps, not beyond its neighbours."""
    run, step = _place(grouping, note_id)
    begin = max(begin for begin in run.begins if begin <= step)
    if begin == 0:
        raise EditRefused("The run begins here: this border cannot be moved.")
    number = run.begins.index(begin)
    low = run.begins[number - 1] + 1
    high = (*run.begins, len(run.run.steps))[number + 1] - 1
    moved = begin + steps
    if not low <= moved <= high:
        raise EditRefused("A border cannot move beyond the next one: join the groups instead.")
    return _with_begins(grouping, run, [*run.begins[:number], moved, *run.begins[number + 1 :]])


def shift(grouping: Grouping, run_id: str, steps: int) -> Grouping:
    """Move all borders of a run by some steps; those that leave it are gone."""
    run = grouping.run(run_id)
    count = len(run.run.steps)
    moved = [begin + steps for begin in run.begins[1:]]
    if not any(0 < begin < count for begin in moved):
        raise EditRefused("No border of this run would be left.")
    return _with_begins(grouping, run, [0, *(begin for begin in moved if 0 < begin < count)])


def set_way(
    score: Score,
    grouping: Grouping,
    run_ids: Sequence[str],
    way: Way,
    *,
    span_semitones: int = FIVE_FINGER_SPAN,
    fingers: Mapping[str, int] | None = None,
) -> Grouping:
    """Divide some runs in another way; borders that were set by hand in them are gone."""
    notes = {note.note_id: note for note in score.notes}
    edited = {}
    for run_id in run_ids:
        run = grouping.run(run_id).run
        cuts = cut_run(notes, run, way, span_semitones=span_semitones, fingers=fingers)
        edited[run_id] = RunGroups(run, way, cuts.begins, cuts.reasons, chosen=True)
    return Grouping(tuple(edited.get(run.run.run_id, run) for run in grouping.runs))


def reset(
    score: Score, grouping: Grouping, run_ids: Sequence[str], way: Way = Way.LEADING
) -> Grouping:
    """Take back everything that was set in some runs: the proposal stands again.

    Parameters
    ----------
    way
        The way in which runs are divided that nobody has touched.
    """
    back = set_way(score, grouping, run_ids, way)
    chosen = set(run_ids)
    return Grouping(
        tuple(replace(run, chosen=False) if run.run.run_id in chosen else run for run in back.runs)
    )


def set_begins(grouping: Grouping, run_id: str, begins: Sequence[int]) -> Grouping:
    """Set all borders of a run by hand: the steps with which its groups begin."""
    run = grouping.run(run_id)
    count = len(run.run.steps)
    if any(not 0 <= begin < count for begin in begins):
        raise EditRefused("A border lies outside its run.")
    return _with_begins(grouping, run, [0, *begins])


def _place(grouping: Grouping, note_id: str) -> tuple[RunGroups, int]:
    run = grouping.run_of(note_id)
    if run is None:
        raise EditRefused("This note is in no run of equal short notes.")
    step = next(k for k, step in enumerate(run.run.steps) if note_id in step)
    return run, step


def _with_begins(grouping: Grouping, run: RunGroups, begins: Sequence[int]) -> Grouping:
    kept = dict(zip(_stretches(run.begins, len(run.run.steps)), run.reasons, strict=True))
    rising = tuple(sorted(set(begins)))
    reasons = tuple(
        kept.get(stretch, SET_BY_HAND) for stretch in _stretches(rising, len(run.run.steps))
    )
    return _with(grouping, replace(run, begins=rising, reasons=reasons, edited=True))


def _stretches(begins: Sequence[int], count: int) -> list[tuple[int, int]]:
    return list(zip(begins, (*begins[1:], count), strict=True))


def _with(grouping: Grouping, edited: RunGroups) -> Grouping:
    return Grouping(
        tuple(edited if run.run.run_id == edited.run.run_id else run for run in grouping.runs)
    )
