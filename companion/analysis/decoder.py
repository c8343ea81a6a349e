"""The best course of keys and chords through the frames.

The evidence of single frames is joined with what is known of how music goes on: chords change
where the network hears a change, chords follow each other as in the analyses that were counted,
keys change seldom and to near ones first. Keys are settled first and from long stretches: a single
frame counts little. The chords are then found inside the settled keys, where it counts much.

Both steps are hidden Markov chains that are read by the probability of each state given the whole
piece (forwards and backwards; Rabiner 1989), which is right more of the time than the one best
path. The first step looks only at the :data:`BEAM` likeliest states of each frame.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from companion.analysis.chords import MEMBERS, Chord
from companion.analysis.context import averaged
from companion.analysis.frames import NO_PITCH, PLACES, Floats, Whole
from companion.analysis.network import Evidence, Model
from companion.analysis.spelling import Mode

BEAM = 56
_MEMBERS = 4

Doubles = npt.NDArray[np.float64]

_RATE_FRAMES = 16
_USUAL_RATE = 0.22  # changes per frame in most piano music
_LEAST_COST = 0.4
_EVIDENCE_BOUNDS = (0.1, 0.8)
LOWEST_FRAMES = 8
_LEAST_SHARE, _LEAST_FIT = 1e-3, 1e-5
_SUREST = 1e-3  # no change is taken to be more certain than this, nor less


@dataclass(frozen=True, slots=True, kw_only=True)
class Weights:
    """How much each kind of knowledge counts; set by measuring on analysed pieces.

    Parameters
    ----------
    key_evidence
        Factor of a chord's evidence when keys are looked for.
    chord_evidence
        Factor of a frame's evidence when chords are looked for.
    key_change, chord_change
        Factor of the network's opinion about a change, in the two steps.
    chords, keys
        Factors of the tables of successions of chords and of keys.
    new_key
        What a change of key costs beyond its table.
    inversion
        What a change of bass inside a chord costs.
    heard_bass
        How much it speaks for a member that it is the lowest note of a frame.
    lowest_bass
        The same for the lowest of those notes within :data:`LOWEST_FRAMES` on both sides: the bass
        of a broken chord.
    usual_bass
        How much the share counts with which a member is the bass of its chord.
    chord_bass
        How much it counts for a chord that a usual bass of it is heard.
    """

    key_evidence: float = 1.0
    chord_evidence: float = 1.0
    key_change: float = 0.7
    chord_change: float = 1.0
    chords: float = 0.15
    keys: float = 1.0
    new_key: float = 3.5
    inversion: float = 3.0
    heard_bass: float = 0.7
    lowest_bass: float = 0.5
    usual_bass: float = 0.15
    chord_bass: float = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """What was found for each frame.

    Parameters
    ----------
    tonics
        Place of the tonic.
    items
        Chord, as item of the vocabulary; its mode is the mode of the key.
    """

    tonics: Whole
    items: Whole


def best_course(evidence: Evidence, model: Model, weights: Weights) -> Course:
    """The likeliest key, and in it the likeliest chord, of each frame."""
    if not len(evidence.states):
        empty = np.zeros(0, dtype=np.int64)
        return Course(tonics=empty, items=empty)
    tonics, modes = _keys(evidence, model, weights)
    return Course(tonics=tonics, items=_chords(evidence, model, weights, tonics, modes))


def _minor(model: Model) -> Whole:
    return np.array([mode is Mode.MINOR for mode in model.modes], dtype=np.int64)


def _stay_and_move(evidence: Evidence, factor: float) -> tuple[Floats, Floats]:
    certain = np.clip(evidence.change, _SUREST, 1 - _SUREST)
    return (factor * np.log(1 - certain)).astype(np.float32), (factor * np.log(certain)).astype(
        np.float32
    )


def _rate(evidence: Evidence) -> Floats:
    """Changes per frame around each frame."""
    return averaged(evidence.change, -_RATE_FRAMES, _RATE_FRAMES)


def _scaled(logarithms: Floats) -> Doubles:
    """Exponents of the rows, the largest of each row 1."""
    result: Doubles = np.exp(
        (logarithms - logarithms.max(axis=-1, keepdims=True)).astype(np.float64)
    )
    return result


def _keys(evidence: Evidence, model: Model, weights: Weights) -> tuple[Whole, Whole]:
    """Tonic place and mode (1 minor) of each frame."""
    count, places, items = evidence.states.shape
    flat = evidence.states.reshape(count, places * items)
    candidates = _candidates(flat)
    minor = _minor(model)
    keys = 2 * (candidates // items) + minor[candidates % items]
    # a held chord says the same in each of its frames: it counts once, not once a frame
    share = np.clip(weights.key_evidence * _rate(evidence), *_EVIDENCE_BOUNDS)
    likely = _scaled(share[:, None] * np.take_along_axis(flat, candidates, axis=1))
    steps = _key_steps(candidates, items, evidence, model, weights)
    belief = _beliefs(likely, steps)
    of_keys = np.zeros((count, 2 * places))
    np.add.at(of_keys, (np.arange(count)[:, None], keys), belief)
    best = of_keys.argmax(axis=1)
    return best // 2, best % 2


def _candidates(flat: Floats) -> Whole:
    """The likeliest states of each frame and its neighbours, which a held chord passes through."""
    count = len(flat)
    result = np.empty((count, BEAM), dtype=np.int64)
    for frame in range(count):
        around = flat[max(0, frame - 1) : frame + 2].max(axis=0)
        result[frame] = np.argpartition(around, -BEAM)[-BEAM:]
    return result


def _key_steps(
    candidates: Whole, items: int, evidence: Evidence, model: Model, weights: Weights
) -> Floats:
    """How likely each candidate of a frame follows each of the frame before."""
    minor = _minor(model)
    stay, move = _stay_and_move(evidence, weights.key_change)
    chord_next = weights.chords * model.chord_next
    chord_first = weights.chords * model.chord_first
    key_next = weights.keys * model.key_next
    # where chords change fast, as in a chorale, keys do too
    usual = _USUAL_RATE / np.maximum(_rate(evidence), _SUREST)
    new_key = weights.new_key * np.clip(usual, _LEAST_COST, 1)
    steps = np.zeros((len(candidates), BEAM, BEAM), dtype=np.float32)
    for frame in range(1, len(candidates)):
        before, after = candidates[frame - 1], candidates[frame]
        old_tonic, old_item = before // items, before % items
        new_tonic, new_item = after // items, after % items
        old_mode, new_mode = minor[old_item], minor[new_item]
        distance = (new_tonic[None] - old_tonic[:, None]) % 12
        same_key = (new_tonic[None] == old_tonic[:, None]) & (new_mode[None] == old_mode[:, None])
        gain = np.where(
            same_key,
            chord_next[old_item[:, None], new_item[None]],
            key_next[old_mode[:, None], new_mode[None], distance]
            + chord_first[new_item][None]
            - new_key[frame],
        )
        gain += move[frame]
        gain[before[:, None] == after[None]] = stay[frame]
        steps[frame] = np.exp(gain)
    return steps


def _beliefs(likely: Doubles, steps: Floats) -> Doubles:
    """Probability of each state of each frame, given all frames."""
    forward = np.empty_like(likely)
    forward[0] = likely[0] / likely[0].sum()
    for frame in range(1, len(likely)):
        reached = (forward[frame - 1] @ steps[frame]) * likely[frame]
        forward[frame] = reached / reached.sum()
    result = np.empty_like(likely)
    result[-1] = forward[-1]
    backward = np.ones(likely.shape[1])
    for frame in range(len(likely) - 1, 0, -1):
        backward = steps[frame] @ (backward * likely[frame])
        backward /= backward.sum()
        result[frame - 1] = forward[frame - 1] * backward
    return result


def _chords(
    evidence: Evidence, model: Model, weights: Weights, tonics: Whole, modes: Whole
) -> Whole:
    """The item of each frame, among those of its key."""
    minor = _minor(model)
    of_mode = [np.flatnonzero(minor == mode) for mode in (0, 1)]
    following = [np.exp(weights.chords * model.chord_next[np.ix_(some, some)]) for some in of_mode]
    for table in following:
        np.fill_diagonal(table, 0)
    opening = [np.exp(weights.chords * model.chord_first[some]) for some in of_mode]
    stay, move = (np.exp(each) for each in _stay_and_move(evidence, weights.chord_change))
    fits = _bass_fits(evidence, model, of_mode)
    likely = []
    for frame, (tonic, mode) in enumerate(zip(tonics.tolist(), modes.tolist(), strict=True)):
        heard = weights.chord_evidence * evidence.states[frame, tonic, of_mode[mode]]
        likely.append(_scaled(heard + weights.chord_bass * fits(frame, tonic, mode)))
    same_key = (np.diff(tonics, prepend=-1) == 0) & (np.diff(modes, prepend=-1) == 0)
    forward = [likely[0]]
    for frame in range(1, len(likely)):
        before, mode = forward[-1], int(modes[frame])
        if same_key[frame]:
            reached = move[frame] * (before @ following[mode]) + stay[frame] * before
        else:
            reached = opening[mode]
        reached = reached * likely[frame]
        forward.append(reached / reached.sum())
    result = np.empty(len(likely), dtype=np.int64)
    backward = np.ones_like(forward[-1])
    for frame in range(len(likely) - 1, -1, -1):
        mode = int(modes[frame])
        result[frame] = of_mode[mode][(forward[frame] * backward).argmax()]
        if same_key[frame]:
            ahead = backward * likely[frame]
            backward = move[frame] * (following[mode] @ ahead) + stay[frame] * ahead
            backward /= backward.sum()
        elif frame:
            backward = np.ones_like(forward[frame - 1])
    return result


def _bass_fits(
    evidence: Evidence, model: Model, of_mode: list[Whole]
) -> Callable[[int, int, int], Floats]:
    """How well the bass of a frame fits each chord of a key, as logarithms."""
    bass = np.exp(evidence.bass)

    @lru_cache(maxsize=2 * PLACES)
    def places_of(tonic: int, mode: int) -> Whole:
        members = [member_places(tonic, model.chords[item]) for item in of_mode[mode].tolist()]
        return np.array([(*places, *places)[:_MEMBERS] for places in members])

    shares = [model.inversions[some] for some in of_mode]

    def fits(frame: int, tonic: int, mode: int) -> Floats:
        fit = (bass[frame][places_of(tonic, mode)] * shares[mode]).sum(axis=1)
        result: Floats = np.log(fit + _LEAST_FIT)
        return result

    return fits


def member_places(tonic: int, chord: Chord) -> tuple[int, ...]:
    """The places of a chord's members on the table's line of fifths, the root first."""
    places = []
    for step in MEMBERS[chord.quality]:
        place = tonic + chord.root_fifths + step
        while place < 0:
            place += 12
        while place >= PLACES:
            place -= 12
        places.append(place)
    return tuple(places)


@dataclass(frozen=True, slots=True, kw_only=True)
class HeardBass:
    """What is known of the bass in the frames of one chord.

    Parameters
    ----------
    evidence
        Logarithms per frame and place.
    lowest_pitches, lowest_places
        Of the lowest note of each frame.
    """

    evidence: Floats
    lowest_pitches: Whole
    lowest_places: Whole


def best_inversions(
    heard: HeardBass, members: tuple[int, ...], shares: Floats, weights: Weights
) -> Whole:
    """The inversion of each frame of one chord, from the evidence for each member as bass.

    Parameters
    ----------
    heard
        In the frames of the chord only.
    members
        Places of the chord's notes, the root first.
    shares
        With which each member is the bass of such a chord.
    """
    scores = heard.evidence[:, list(members)]
    lowest = heard.lowest_places[:, None] == np.array(members)
    scores = scores + weights.heard_bass * lowest
    scores += weights.usual_bass * np.log(shares[: len(members)] + _LEAST_SHARE)
    count = len(scores)
    pitches = np.where(lowest.any(axis=1), heard.lowest_pitches, NO_PITCH)
    for frame in range(count):
        begin = max(0, frame - LOWEST_FRAMES)
        around = begin + int(pitches[begin : frame + LOWEST_FRAMES + 1].argmin())
        scores[frame] += weights.lowest_bass * lowest[around]
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
        inversion = int(came_from[frame, inversion])
    return result
