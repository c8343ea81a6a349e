"""The best course of keys and chords through the frames.

The evidence of single frames is joined with what is known of how music goes on: chords change
where the network hears a change, chords follow each other as in the analyses that were counted,
keys change seldom and to near ones first. The best course is found exactly among the states that
are likely at each frame (Viterbi 1967; a beam of :data:`BEAM` states).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from companion.analysis.frames import Floats, Whole
from companion.analysis.network import Evidence, Model
from companion.analysis.spelling import Mode

BEAM = 56


@dataclass(frozen=True, slots=True, kw_only=True)
class Weights:
    """How much each kind of knowledge counts; set by measuring on analysed pieces.

    Parameters
    ----------
    evidence
        Factor of a frame's evidence.
    change
        Factor of the network's opinion about a change.
    chords, keys
        Factors of the tables of successions of chords and of keys.
    new_key
        What a change of key costs beyond its table.
    inversion
        What a change of bass inside a chord costs.
    heard_bass
        How much it speaks for a member that it is the lowest note of a frame.
    """

    evidence: float = 0.9
    change: float = 1.0
    chords: float = 0.15
    keys: float = 1.0
    new_key: float = 3.5
    inversion: float = 2.5
    heard_bass: float = 0.7


def best_course(evidence: Evidence, model: Model, weights: Weights) -> tuple[Whole, Whole]:
    """The tonic place and the item of the vocabulary of each frame."""
    count, places, items = evidence.states.shape
    if not count:
        empty = np.zeros(0, dtype=np.int64)
        return empty, empty
    flat = evidence.states.reshape(count, places * items)
    candidates = _candidates(flat)
    minor = np.array([mode is Mode.MINOR for mode in model.modes], dtype=np.int64)
    certain = np.clip(evidence.change, 1e-3, 1 - 1e-3)
    stay = weights.change * np.log(1 - certain)
    move = weights.change * np.log(certain)
    chord_next = weights.chords * model.chord_next
    chord_first = weights.chords * model.chord_first
    key_next = weights.keys * model.key_next - weights.new_key
    score = weights.evidence * flat[0, candidates[0]]
    came_from = np.zeros((count, BEAM), dtype=np.int64)
    for frame in range(1, count):
        before, after = candidates[frame - 1], candidates[frame]
        old_tonic, old_item = before // items, before % items
        new_tonic, new_item = after // items, after % items
        old_mode, new_mode = minor[old_item], minor[new_item]
        distance = (new_tonic[None] - old_tonic[:, None]) % 12
        same_key = (new_tonic[None] == old_tonic[:, None]) & (new_mode[None] == old_mode[:, None])
        gain = np.where(
            same_key,
            chord_next[old_item[:, None], new_item[None]],
            key_next[old_mode[:, None], new_mode[None], distance] + chord_first[new_item][None],
        )
        gain += move[frame]
        gain[before[:, None] == after[None]] = stay[frame]
        total = score[:, None] + gain
        best = total.argmax(axis=0)
        came_from[frame] = best
        score = total[best, np.arange(BEAM)] + weights.evidence * flat[frame, after]
    path = np.empty(count, dtype=np.int64)
    place = int(score.argmax())
    for frame in range(count - 1, -1, -1):
        path[frame] = candidates[frame, place]
        place = came_from[frame, place]
    return path // items, path % items


def _candidates(flat: Floats) -> Whole:
    """The likeliest states of each frame and its neighbours, which a held chord passes through."""
    count = len(flat)
    result = np.empty((count, BEAM), dtype=np.int64)
    for frame in range(count):
        around = flat[max(0, frame - 1) : frame + 2].max(axis=0)
        result[frame] = np.argpartition(around, -BEAM)[-BEAM:]
    return result


def best_inversions(
    bass: Floats, lowest_places: Whole, members: tuple[int, ...], weights: Weights
) -> npt.NDArray[np.int64]:
    """The inversion of each frame of one chord, from the evidence for each member as bass.

    Parameters
    ----------
    bass
        Logarithms per frame and place, the frames of the chord only.
    lowest_places
        Place of the lowest note of each frame.
    members
        Places of the chord's notes, the root first.
    """
    scores = bass[:, list(members)]
    scores = scores + weights.heard_bass * (lowest_places[:, None] == np.array(members))
    count = len(scores)
    total = scores[0]
    came_from = np.zeros(scores.shape, dtype=np.int64)
    cost = weights.inversion * (1 - np.eye(len(members)))
    for frame in range(1, count):
        options = total[:, None] - cost
        came_from[frame] = options.argmax(axis=0)
        total = options.max(axis=0) + scores[frame]
    result = np.empty(count, dtype=np.int64)
    inversion = int(total.argmax())
    for frame in range(count - 1, -1, -1):
        result[frame] = inversion
        inversion = came_from[frame, inversion]
    return result
