"""Runs of equal notes in the score: where evenness can be measured.

A run is at least :data:`SHORTEST_RUN` notes of one voice in one hand, one note at a time, each
beginning where the note before it ends, all of one written value no longer than an eighth
(common practice: slower notes are a melody, not a run). Graces and ornaments break a run.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

from companion.score.model import Hand, ScoreNote

SHORTEST_RUN = 6
LONGEST_VALUE_QUARTERS = Fraction(1, 2)


def find_runs(notes: Sequence[ScoreNote]) -> tuple[tuple[int, ...], ...]:
    """Find the runs of a score.

    Parameters
    ----------
    notes
        Sorted by onset.

    Returns
    -------
    tuple of tuple of int
        Indices into ``notes``, run by run, sorted by the first note of the run.
    """
    voices: dict[tuple[Hand, int], list[int]] = defaultdict(list)
    for index, note in enumerate(notes):
        if note.expected:
            voices[note.playing_hand, note.voice].append(index)
    found: list[tuple[int, ...]] = []
    for indices in voices.values():
        found.extend(_runs_of_voice(notes, indices))
    return tuple(sorted(found))


def _runs_of_voice(notes: Sequence[ScoreNote], indices: list[int]) -> list[tuple[int, ...]]:
    found: list[tuple[int, ...]] = []
    run: list[int] = []
    together = _written_together(notes, indices)
    for index in indices:
        note = notes[index]
        plain = (
            not note.grace
            and not note.ornament
            and not note.arpeggiated
            and index not in together
            and 0 < note.duration_quarters <= LONGEST_VALUE_QUARTERS
        )
        if run and plain and _continues(notes[run[-1]], note):
            run.append(index)
            continue
        if len(run) >= SHORTEST_RUN:
            found.append(tuple(run))
        run = [index] if plain else []
    if len(run) >= SHORTEST_RUN:
        found.append(tuple(run))
    return found


def _continues(before: ScoreNote, note: ScoreNote) -> bool:
    return (
        note.duration_quarters == before.duration_quarters
        and note.onset_quarters == before.onset_quarters + before.duration_quarters
    )


def _written_together(notes: Sequence[ScoreNote], indices: list[int]) -> set[int]:
    """Notes of a voice that share their onset with another note of it; onsets come in order."""
    together: set[int] = set()
    for before, index in pairwise(indices):
        if notes[before].onset_quarters == notes[index].onset_quarters:
            together.update((before, index))
    return together
