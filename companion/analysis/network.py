"""The network that judges frames, run with numpy alone.

It is two small layers that look at the line of fifths from each place in turn, the place being
tried as a tonic, a root or a bass. All places share the weights, so a transposed piece is judged
exactly as the original. The weights are in ``resources/harmony`` and come from
``resources/harmony/source/train.py``.

Evidence is kept as logarithms (not normalised): larger is likelier, by e for each 1.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from companion.analysis.chords import QUALITIES, Chord
from companion.analysis.context import CONTEXT_CHANNELS, context_of
from companion.analysis.frames import CHANNELS, METER_CHANNELS, PLACES, Floats, Frames
from companion.analysis.spelling import Mode
from companion.resources import resource_path

METERS = CHANNELS - METER_CHANNELS
SPAN_FIRST, SPAN = -12, 26
"""What is seen around a place: first place, counted from it, and number of places."""

MODEL_FILE = "harmony.npz"
_CHUNK_FRAMES = 256  # at a time: bounds the memory that unfolding takes


@dataclass(frozen=True, slots=True, kw_only=True)
class Model:
    """Everything that was learnt from analyses.

    Parameters
    ----------
    networks
        The arrays of each network by name; their opinions are averaged.
    chords, modes
        The vocabulary: each chord in its mode is one item.
    chord_next
        Logarithm of the share with which item follows item inside a key.
    chord_first
        The same for the first item after a change of key.
    key_next
        By old mode, new mode and distance on the line of fifths modulo 12.
    inversions
        Shares with which each member of an item is its bass, the root first, shape (items, 4).
    """

    networks: tuple[Mapping[str, Floats], ...]
    chords: tuple[Chord, ...]
    modes: tuple[Mode, ...]
    chord_next: Floats
    chord_first: Floats
    key_next: Floats
    inversions: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What the network says, per frame.

    Parameters
    ----------
    states
        Per place as tonic and per item of the vocabulary, normalised over both: logarithms of
        probabilities.
    bass
        Per place as the lowest note of the chord, normalised.
    change
        Probability that a new chord or key begins with the frame.
    """

    states: Floats
    bass: Floats
    change: Floats


@lru_cache(maxsize=1)
def shipped_model() -> Model:
    """The model that travels with the program."""
    with np.load(resource_path("harmony", MODEL_FILE), allow_pickle=False) as stored:
        return model_of({name: stored[name] for name in stored.files})


def model_of(arrays: Mapping[str, Floats]) -> Model:
    """The model that the arrays of a file make."""
    items = [str(item).split("|") for item in arrays["items"]]
    networks: dict[str, dict[str, Floats]] = {}
    for name, array in arrays.items():
        network, _, part = name.partition(".")
        if part:
            networks.setdefault(network, {})[part] = array.astype(np.float32)
    return Model(
        networks=tuple(networks.values()),
        chords=tuple(Chord(degree, quality) for _, degree, quality in items),
        modes=tuple(Mode(mode) for mode, _, _ in items),
        chord_next=arrays["chord_next"].astype(np.float32),
        chord_first=arrays["chord_first"].astype(np.float32),
        key_next=arrays["key_next"].astype(np.float32),
        inversions=arrays["inversions"].astype(np.float32),
    )


_OUTSIDE = -8.0  # evidence for a place beyond the table, as in training
_PADDING = 24
_HEADS = ("key", "ton", "chord", "bass", "item")


def evidence_of(frames: Frames, model: Model) -> Evidence:
    """Run the networks over a piece and average what they say."""
    table, meters = context_of(frames)
    items, count = len(model.chords), len(frames)
    states = np.empty((count, PLACES, items), dtype=np.float32)
    bass = np.empty((count, PLACES), dtype=np.float32)
    change = np.empty(count, dtype=np.float32)
    for begin in range(0, count, _CHUNK_FRAMES):
        chunk = slice(begin, begin + _CHUNK_FRAMES)
        spans = _spans(table[chunk])
        opinions = [_opinion(spans, meters[chunk], weights) for weights in model.networks]
        mean = {head: _mean([each[head] for each in opinions]) for head in opinions[0]}
        states[chunk] = _states(mean, model)
        bass[chunk] = log_shares(mean["bass"][:, :, 0])
        change[chunk] = 1 / (1 + np.exp(-mean["change"][:, 0]))
    return Evidence(states=states, bass=bass, change=change)


def _mean(values: list[Floats]) -> Floats:
    result: Floats = np.mean(np.stack(values), axis=0, dtype=np.float32)
    return result


def _opinion(spans: Floats, meters: Floats, weights: Mapping[str, Floats]) -> dict[str, Floats]:
    """What one network says of a chunk of frames, per head."""
    hidden = _hidden(spans, meters, weights)
    heads = {head: _linear(hidden, head, weights) for head in _HEADS}
    pooled = np.concatenate([hidden.mean(1), hidden.max(1)], axis=1)
    heads["change"] = _linear(pooled, "change", weights)
    return heads


def log_shares(values: Floats) -> Floats:
    """Normalise logarithms over all axes but the first, so that their exponents add up to 1."""
    axes = tuple(range(1, values.ndim))
    shifted = values - values.max(axis=axes, keepdims=True)
    result: Floats = shifted - np.log(np.exp(shifted).sum(axis=axes, keepdims=True))
    return result


def _linear(values: Floats, name: str, weights: Mapping[str, Floats]) -> Floats:
    result: Floats = values @ weights[f"{name}.weight"].T + weights[f"{name}.bias"]
    return result


def _spans(table: Floats) -> Floats:
    """What is seen around each place, one row for each frame and place."""
    around = ((0, 0), (-SPAN_FIRST, SPAN - 1 + SPAN_FIRST), (0, 0))
    spans = np.lib.stride_tricks.sliding_window_view(np.pad(table, around), SPAN, axis=1)
    return spans.reshape(len(table) * PLACES, CONTEXT_CHANNELS * SPAN)  # channel, then place


def _hidden(spans: Floats, meters: Floats, weights: Mapping[str, Floats]) -> Floats:
    """The second layer's values, shape (frames, PLACES, width)."""
    first = _linear(spans, "entry", weights).reshape(len(meters), PLACES, -1)
    first = np.maximum(first + _linear(meters, "meter", weights)[:, None], 0)
    result: Floats = np.maximum(_linear(first, "second", weights) + first, 0)
    return result


def _states(heads: Mapping[str, Floats], model: Model) -> Floats:
    """Joins what is said of keys, tonics, chords and items into one judgement of each state."""
    beside = (_PADDING, _PADDING)
    states, key = heads["item"], heads["key"]
    tonic = np.pad(heads["ton"][:, :, 0], ((0, 0), beside), constant_values=_OUTSIDE)
    chord = np.pad(heads["chord"], ((0, 0), beside, (0, 0)), constant_values=_OUTSIDE)
    for item, (each, mode) in enumerate(zip(model.chords, model.modes, strict=True)):
        at_target, at_root = _PADDING + each.target_fifths, _PADDING + each.root_fifths
        states[:, :, item] += (
            key[:, :, int(mode is Mode.MINOR)]
            + tonic[:, at_target : at_target + PLACES]
            + chord[:, at_root : at_root + PLACES, QUALITIES.index(each.quality)]
        )
    return log_shares(states)
