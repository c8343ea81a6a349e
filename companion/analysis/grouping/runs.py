"""Runs of equal short notes in the score: where notes are grouped and evenness can be measured.

A run is one voice of one hand, each note beginning where the note before it ends, all of one
written value no longer than an eighth (common practice: slower notes are a melody, not a run).
There are two kinds:

- for measuring (:func:`find_runs`): single notes only, at least :data:`SHORTEST_RUN`; chords,
  graces and ornaments break it, because their time is not that of one finger;
- for grouping (:func:`find_runs_to_group`): at least :data:`SHORTEST_TO_GROUP` steps; a step may be
  a chord or a double note and may carry an ornament, graces are passed over.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from fractions import Fraction
from itertools import groupby

from companion.score.model import Hand, ScoreNote

SHORTEST_RUN = 6
SHORTEST_TO_GROUP = 4
LONGEST_VALUE_QUARTERS = Fraction(1, 2)

Step = tuple[int, ...]
"""Indices of the notes that are struck together."""


def find_runs(notes: Sequence[ScoreNote]) -> tuple[tuple[int, ...], ...]:
    """Find the runs of single notes whose evenness can be measured.

    Parameters
    ----------
    notes
        Sorted by onset.

    Returns
    -------
    tuple of tuple of int
        Indices into ``notes``, run by run, sorted by the first note of the run.
    """
    found: list[tuple[int, ...]] = []
    for indices in _voices(notes).values():
        steps = _steps(notes, indices)
        found.extend(
            tuple(step[0] for step in run)
            for run in _cut_into_runs(notes, steps, [_is_single(notes, step) for step in steps])
            if len(run) >= SHORTEST_RUN
        )
    return tuple(sorted(found))


def find_runs_to_group(notes: Sequence[ScoreNote]) -> tuple[tuple[Step, ...], ...]:
    """Find the runs that can be grouped.

    Parameters
    ----------
    notes
        Sorted by onset.

    Returns
    -------
    tuple of tuple of tuple of int
        Run by run the indices of the notes of each step, sorted by the first note of the run.
    """
    found: list[tuple[Step, ...]] = []
    for indices in _voices(notes).values():
        steps = _steps(notes, [index for index in indices if not notes[index].grace])
        found.extend(
            tuple(run)
            for run in _cut_into_runs(notes, steps, [_is_equal(notes, step) for step in steps])
            if len(run) >= SHORTEST_TO_GROUP
        )
    return tuple(sorted(found))


def _voices(notes: Sequence[ScoreNote]) -> dict[tuple[Hand, int], list[int]]:
    voices: dict[tuple[Hand, int], list[int]] = defaultdict(list)
    for index, note in enumerate(notes):
        if note.expected:
            voices[note.playing_hand, note.voice].append(index)
    return voices


def _steps(notes: Sequence[ScoreNote], indices: Sequence[int]) -> list[Step]:
    """Notes of a voice that share an onset; onsets come in order."""
    return [
        tuple(step) for _, step in groupby(indices, key=lambda index: notes[index].onset_quarters)
    ]


def _cut_into_runs(
    notes: Sequence[ScoreNote], steps: Sequence[Step], fit: Sequence[bool]
) -> list[list[Step]]:
    runs: list[list[Step]] = []
    run: list[Step] = []
    for step, fits in zip(steps, fit, strict=True):
        if run and fits and _continues(notes[run[-1][0]], notes[step[0]]):
            run.append(step)
            continue
        runs.append(run)
        run = [step] if fits else []
    return [*runs, run]


def _is_single(notes: Sequence[ScoreNote], step: Step) -> bool:
    note = notes[step[0]]
    plain = not note.grace and not note.ornament and not note.arpeggiated
    return len(step) == 1 and plain and _is_short(note)


def _is_equal(notes: Sequence[ScoreNote], step: Step) -> bool:
    lengths = {notes[index].duration_quarters for index in step}
    return len(lengths) == 1 and _is_short(notes[step[0]]) and not notes[step[0]].arpeggiated


def _is_short(note: ScoreNote) -> bool:
    return 0 < note.duration_quarters <= LONGEST_VALUE_QUARTERS


def _continues(before: ScoreNote, note: ScoreNote) -> bool:
    return (
        note.duration_quarters == before.duration_quarters
        and note.onset_quarters == before.onset_quarters + before.duration_quarters
    )
