"""Fit the network that foresees the next key: DATA/scores/*.mxl -> next_key.npz.

    python resources/recognition/source/train.py DATA --out resources/recognition/next_key.npz

The piano parts of the songs are played by a simple simulation: from anywhere, with both hands or
one, at any tempo, with few mistakes or many. Only numpy is needed. A run takes some minutes on one
core, most of them for reading the scores.
"""

from __future__ import annotations

import argparse
import json
import sys
from itertools import pairwise
from pathlib import Path
from random import Random

import numpy as np
from numpy.typing import NDArray

sys.path.insert(0, str(Path(__file__).resolve().parents[3]))

from companion.errors import CompanionError
from companion.listening.recognition.next_key import (
    CLASSES,
    GAPS,
    INPUTS,
    REMEMBERED,
    inputs,
    interval_class,
)
from companion.score.model import Hand, ScoreNote
from companion.score.reading.reader import read_score

HIDDEN = 64
EPOCHS = 6
BATCH = 512
LEARNING_RATE = 2e-3
PLAYED_EACH = 25
MOST_INPUTS = 64
FEWEST_NOTES = 80

Weights = list[NDArray[np.float32]]


def songs(folder: Path) -> list[tuple[ScoreNote, ...]]:
    """The piano parts; only scores of songs, which are in the public domain (CC0)."""
    found = []
    for case in sorted((folder / "cases").glob("*.json")):
        about = json.loads(case.read_text(encoding="utf-8"))
        if about["composer"] == "Bach":  # the preludes come from elsewhere
            continue
        try:
            notes = read_score(folder / about["musicxml"]).notes
        except CompanionError as problem:
            print(case.stem, problem)
            continue
        if len(notes) >= FEWEST_NOTES:
            found.append(notes)
    return found


def play(notes: tuple[ScoreNote, ...], rng: Random) -> list[tuple[float, int]]:
    """Moments and keys of a stretch, chords spread, in the order of time."""
    hand = rng.choice((None, None, Hand.RIGHT, Hand.LEFT))
    chosen = [n for n in notes if hand is None or n.playing_hand is hand]
    if len(chosen) < 10:
        return []
    first = rng.randrange(len(chosen) - 8)
    slips = rng.choice((0.0, 0.03, 0.06, 0.1))
    quarter_seconds = rng.uniform(0.35, 1.4)
    spread = rng.choice((0.01, 0.018, 0.03))
    now, before = 0.0, float(chosen[first].onset_quarters)
    played: list[tuple[float, int]] = []
    for note in chosen[first : first + rng.choice((24, 48, 96))]:
        step = float(note.onset_quarters) - before
        if step > 0:
            now += max(0.05, step * quarter_seconds * rng.gauss(1.0, 0.08))
            before = float(note.onset_quarters)
        chance = rng.random()
        if chance < slips * 0.35:
            continue
        wrong = rng.choice((-2, -1, 1, 2)) if chance < slips * 0.7 else 0
        played.append((now + abs(rng.gauss(0.0, spread)), note.pitch + wrong))
        if slips * 0.7 <= chance < slips:
            played.append((now + rng.uniform(0, 0.1), note.pitch + rng.choice((-2, -1, 1, 2))))
    return sorted(played)


def examples(runs: list[list[tuple[float, int]]]) -> tuple[NDArray, NDArray, NDArray]:
    """Per heard key: places of the inputs (padded), their weights, and the key that came."""
    places = np.zeros((sum(len(run) - 1 for run in runs), MOST_INPUTS), np.int16)
    weights = np.zeros(places.shape, np.float32)
    came = np.zeros(len(places), np.int64)
    row = 0
    for run in runs:
        keys = [key for _, key in run]
        gaps = [b[0] - a[0] for a, b in pairwise(run)]
        for at in range(1, len(run)):
            lately = keys[max(0, at - REMEMBERED - 1) : at]
            one, weight = inputs(lately, gaps[max(0, at - GAPS) : at])
            places[row, : len(one)] = one
            weights[row, : len(one)] = weight
            came[row] = interval_class(lately[-1], keys[at])
            row += 1
    return places, weights, came


def fit(places: NDArray, weights: NDArray, came: NDArray, rng: np.random.Generator) -> Weights:
    """Adam (Kingma & Ba 2015) on the cross entropy, with dropout in the hidden layer."""
    values: Weights = [
        rng.normal(0, 0.1, (INPUTS, HIDDEN)).astype(np.float32),
        np.zeros(HIDDEN, np.float32),
        rng.normal(0, 0.1, (HIDDEN, CLASSES)).astype(np.float32),
        np.zeros(CLASSES, np.float32),
    ]
    mean = [np.zeros_like(v) for v in values]
    square = [np.zeros_like(v) for v in values]
    steps_each = len(came) // BATCH
    step = 0
    for epoch in range(EPOCHS):
        order = rng.permutation(len(came))
        total = 0.0
        for batch in range(steps_each):
            rows = order[batch * BATCH : (batch + 1) * BATCH]
            x = np.zeros((BATCH, INPUTS), np.float32)
            np.add.at(x, (np.arange(BATCH)[:, None], places[rows]), weights[rows])
            before = x @ values[0] + values[1]
            kept = (rng.random(before.shape) > 0.1).astype(np.float32) / 0.9
            hidden = np.maximum(before, 0) * kept
            levels = hidden @ values[2] + values[3]
            chances = np.exp(levels - levels.max(1, keepdims=True))
            chances /= chances.sum(1, keepdims=True)
            right = chances[np.arange(BATCH), came[rows]]
            total -= float(np.log(right + 1e-9).sum())
            chances[np.arange(BATCH), came[rows]] -= 1
            chances /= BATCH
            back = (chances @ values[2].T) * kept * (before > 0)
            slopes = [x.T @ back, back.sum(0), hidden.T @ chances, chances.sum(0)]
            step += 1
            rate = LEARNING_RATE * (1 - 0.95 * step / (EPOCHS * steps_each))
            rate *= np.sqrt(1 - 0.999**step) / (1 - 0.9**step)
            for k, slope in enumerate(slopes):
                mean[k] += 0.1 * (slope - mean[k])
                square[k] += 0.001 * (slope * slope - square[k])
                values[k] -= (rate * mean[k] / (np.sqrt(square[k]) + 1e-8)).astype(np.float32)
        print(f"epoch {epoch + 1}: {total / (steps_each * BATCH):.3f} nats a key", flush=True)
    return values


def main() -> None:
    """Read, play, fit, write."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("data", type=Path)
    parser.add_argument("--out", type=Path, required=True)
    asked = parser.parse_args()
    pieces = songs(asked.data)
    rng = Random(1)
    runs = [play(notes, rng) for _ in range(PLAYED_EACH) for notes in pieces]
    material = examples([run for run in runs if len(run) > 8])
    print(f"{len(pieces)} piano parts, {len(material[2])} keys", flush=True)
    names = ("into", "into_bias", "out", "out_bias")
    values = fit(*material, np.random.default_rng(0))
    np.savez_compressed(
        asked.out, **{n: v.astype(np.float16) for n, v in zip(names, values, strict=True)}
    )


if __name__ == "__main__":
    main()
