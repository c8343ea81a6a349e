"""Train the network behind the harmony and count the tables of its decoder.

    python resources/harmony/source/train.py DATA --out resources/harmony/harmony.npz

DATA is the folder of the open analyses that the README names. Needs PyTorch and lxml beside the
program itself; the program needs only the file that is written here.
"""

from __future__ import annotations

import argparse
import pickle
import random
import time
from collections import Counter
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import torch
from songs import Label, Song, read_songs
from torch import nn
from torch.nn import functional

from companion.analysis.chords import QUALITIES, Chord
from companion.analysis.context import CONTEXT_CHANNELS, context_of
from companion.analysis.frames import PLACES, Frames, folded_place, frames_of
from companion.analysis.network import METERS, SPAN, SPAN_FIRST
from companion.analysis.spelling import Key, Mode
from companion.score.model import Score

WIDTH = 64
BATCH = 512
UNLABELLED = -1
RAREST_QUARTERS = 4.0  # a chord heard for less than this in all the data gets no state of its own


def scaled(score: Score, factor: Fraction) -> Score:
    """The same music written in longer or shorter note values."""
    return replace(
        score,
        measures=tuple(
            replace(
                m,
                start_quarters=m.start_quarters * factor,
                duration_quarters=m.duration_quarters * factor,
                beat_type=max(1, int(m.beat_type / factor)),
            )
            for m in score.measures
        ),
        notes=tuple(
            replace(
                n,
                onset_quarters=n.onset_quarters * factor,
                duration_quarters=n.duration_quarters * factor,
            )
            for n in score.notes
        ),
    )


class Vocabulary:
    """The chords of each mode that get a state of their own."""

    def __init__(self, songs: list[Song]) -> None:
        time_of: Counter[tuple[str, str, str]] = Counter()
        for song in songs:
            for label in song.labels:
                mode = Key.from_name(label.key).mode
                time_of[mode, label.degree, label.quality] += label.end - label.start
        self.items = sorted(
            item for item, quarters in time_of.items() if quarters >= RAREST_QUARTERS
        )
        self.index = {item: n for n, item in enumerate(self.items)}
        chords = [Chord(degree, quality) for _, degree, quality in self.items]
        self.modes = np.array([item[0] == Mode.MINOR for item in self.items], dtype=np.int64)
        self.targets = np.array([chord.target_fifths for chord in chords])
        self.roots = np.array([chord.root_fifths for chord in chords])
        self.qualities = np.array([QUALITIES.index(chord.quality) for chord in chords])


TARGETS = ("key", "mode", "ton", "root", "quality", "bass", "change", "item")


def targets_of(
    frames: Frames, labels: tuple[Label, ...], factor: float, vocabulary: Vocabulary
) -> dict[str, np.ndarray]:
    """What the analyst wrote at the middle of each frame."""
    answer = {name: np.full(len(frames), UNLABELLED, dtype=np.int64) for name in TARGETS}
    middles = [
        (float(a) + float(b)) / 2
        for a, b in zip(frames.starts_quarters, frames.ends_quarters, strict=True)
    ]
    place, before = 0, None
    for index, middle in enumerate(middles):
        while place < len(labels) and labels[place].end * factor <= middle:
            place += 1
        if place == len(labels):
            break
        label = labels[place]
        if label.start * factor > middle:
            continue
        if place == before:
            for name in TARGETS:
                answer[name][index] = answer[name][index - 1]
            answer["change"][index] = 0
            continue
        key, chord = Key.from_name(label.key), Chord(label.degree, label.quality)
        reference = frames.reference_fifths
        tonic = folded_place(key.tonic_fifths, reference)
        tonic_fifths = tonic + reference - folded_place(reference, reference)
        notes = chord.notes_fifths(tonic_fifths)
        inversion = 0 if chord.quality in ("It", "Ger", "Fr") else label.inversion
        answer["key"][index] = tonic
        answer["mode"][index] = key.mode is Mode.MINOR
        answer["ton"][index] = folded_place(tonic_fifths + chord.target_fifths, reference)
        answer["root"][index] = folded_place(notes[0], reference)
        answer["quality"][index] = QUALITIES.index(chord.quality)
        answer["bass"][index] = folded_place(notes[min(inversion, len(notes) - 1)], reference)
        answer["item"][index] = vocabulary.index.get((key.mode, label.degree, label.quality), -1)
        answer["change"][index] = place != before if before is not None else 0
        before = place
    return answer


class Network(nn.Module):
    """Frames to evidence; see companion.analysis.network for the same in numpy."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        super().__init__()
        self.entry = nn.Linear(SPAN * CONTEXT_CHANNELS, WIDTH)
        self.meter = nn.Linear(METERS, WIDTH)
        self.second = nn.Linear(WIDTH, WIDTH)
        self.key = nn.Linear(WIDTH, 2)
        self.ton = nn.Linear(WIDTH, 1)
        self.chord = nn.Linear(WIDTH, len(QUALITIES))
        self.bass = nn.Linear(WIDTH, 1)
        self.change = nn.Linear(2 * WIDTH, 1)
        self.item = nn.Linear(WIDTH, len(vocabulary.items))
        self.vocabulary = vocabulary
        v = vocabulary
        pad = 24
        self.pad = pad
        p = torch.arange(PLACES)[:, None] + pad
        self.register_buffer("ton_at", p + torch.tensor(v.targets)[None])
        self.register_buffer("root_at", p + torch.tensor(v.roots)[None])
        self.register_buffer(
            "quality_of", torch.tensor(v.qualities)[None].expand(PLACES, -1).clone()
        )
        self.register_buffer("mode_of", torch.tensor(v.modes))

    def forward(self, x: torch.Tensor, meter: torch.Tensor) -> dict[str, torch.Tensor]:
        padded = functional.pad(x, (0, 0, -SPAN_FIRST, SPAN - 1 + SPAN_FIRST))
        spans = padded.unfold(1, SPAN, 1).reshape(len(x), PLACES, -1)  # channel first, then place
        drop = lambda h: functional.dropout(h, 0.15, self.training)
        h = functional.relu(self.entry(spans) + self.meter(meter)[:, None])
        h = drop(functional.relu(self.second(drop(h)) + h))
        pooled = torch.cat([h.mean(1), h.amax(1)], -1)
        return {
            "key": self.key(h),
            "ton": self.ton(h)[..., 0],
            "chord": self.chord(h),
            "bass": self.bass(h)[..., 0],
            "change": self.change(pooled)[..., 0],
            "item": self.item(h),
        }

    def states(self, out: dict[str, torch.Tensor]) -> torch.Tensor:
        """Joint evidence of each tonic and chord, shape (batch, time, PLACES, items)."""
        pad = self.pad
        key = out["key"][..., self.mode_of]
        ton = functional.pad(out["ton"], (pad, pad), value=-8.0)[..., self.ton_at]
        chord = functional.pad(out["chord"], (0, 0, pad, pad), value=-8.0)
        chord = chord[..., self.root_at, self.quality_of]
        return key + ton + chord + out["item"]


def losses(
    network: Network, x: torch.Tensor, meter: torch.Tensor, y: dict[str, torch.Tensor]
) -> torch.Tensor:
    out = network(x, meter)
    b = len(x)
    ce = lambda a, target: functional.cross_entropy(a, target, label_smoothing=0.02)
    loss = ce(out["key"].reshape(b, -1), y["key"] * 2 + y["mode"]) * 0.5
    loss = loss + ce(out["ton"], y["ton"]) * 0.3
    chord = y["root"] * len(QUALITIES) + y["quality"]
    loss = loss + ce(out["chord"].reshape(b, -1), chord) * 0.5
    loss = loss + ce(out["bass"], y["bass"]) * 0.5
    loss = loss + functional.binary_cross_entropy_with_logits(out["change"], y["change"].float())
    known = y["item"] >= 0
    states = network.states({k: v[known] for k, v in out.items()})
    n = states.shape[-1]
    return loss + ce(states.reshape(len(states), -1), (y["key"] * n + y["item"])[known])


def prepared(songs: list[Song], vocabulary: Vocabulary) -> list[tuple]:
    """Per variant (all parts or the piano alone; values as written, x2, x1/2) what is learnt from."""
    result = []
    for song in songs:
        for factor, share in ((Fraction(1), 0.6), (Fraction(2), 0.15), (Fraction(1, 2), 0.25)):
            scores = (
                (song.score, song.piano_only)
                if song.score.notes != song.piano_only.notes
                else (song.score,)
            )
            for score in scores:
                frames = frames_of(scaled(score, factor))
                y = targets_of(frames, song.labels, float(factor), vocabulary)
                usable = np.flatnonzero(y["key"] >= 0)
                x, meter = context_of(frames)
                take = share / len(scores) / float(factor)
                result.append(
                    (
                        torch.tensor(x[usable]).half(),
                        torch.tensor(meter[usable]),
                        {k: torch.tensor(v[usable]) for k, v in y.items()},
                        take,
                    )
                )
    return result


def batches(data: list[tuple]):
    """One epoch: of each variant a random share of its frames, in random order."""
    chosen = []
    for n, (x, _, _, share) in enumerate(data):
        frames = torch.randperm(len(x))[: round(share * len(x))]
        chosen.append(torch.stack([torch.full_like(frames, n), frames], 1))
    order = torch.cat(chosen)
    order = order[torch.randperm(len(order))]
    starts = np.cumsum([0] + [len(d[0]) for d in data])
    places = torch.tensor(starts)[order[:, 0]] + order[:, 1]
    for some in places.split(BATCH):
        x = ALL["x"][some].float()
        x[:, :, :5] *= torch.rand(len(some), PLACES, 1) > 0.03
        x[:, :, 5:7] *= torch.rand(len(some), 1, 1) > 0.1
        yield x, ALL["meter"][some], {k: v[some] for k, v in ALL["y"].items()}


ALL: dict = {}


def train(network: Network, data: list[tuple], epochs: int, rate: float, save) -> None:
    ALL["x"] = torch.cat([d[0] for d in data])
    ALL["meter"] = torch.cat([d[1] for d in data])
    ALL["y"] = {k: torch.cat([d[2][k] for d in data]) for k in TARGETS}
    size = sum(round(d[3] * len(d[0])) for d in data)
    steps = epochs * (size // BATCH + 1)
    optimiser = torch.optim.AdamW(network.parameters(), lr=rate, weight_decay=0.02)
    schedule = torch.optim.lr_scheduler.OneCycleLR(
        optimiser, rate, total_steps=steps + 5, pct_start=0.15
    )
    for epoch in range(epochs):
        began, running, count = time.time(), 0.0, 0
        network.train()
        for x, meter, y in batches(data):
            optimiser.zero_grad()
            loss = losses(network, x, meter, y)
            loss.backward()
            nn.utils.clip_grad_norm_(network.parameters(), 1.0)
            optimiser.step()
            schedule.step()
            running, count = running + loss.item(), count + 1
        network.eval()
        print(
            f"epoch {epoch + 1} of {epochs}: loss {running / count:.3f}, {time.time() - began:.0f} s",
            flush=True,
        )
        save()


def exported(network: Network, vocabulary: Vocabulary) -> dict[str, np.ndarray]:
    """The arrays of the shipped file."""
    arrays = {
        f"net.{k}": v.detach().numpy().astype(np.float16) for k, v in network.named_parameters()
    }
    arrays["items"] = np.array(["|".join(item) for item in vocabulary.items])
    return arrays


def counted(songs: list[Song], vocabulary: Vocabulary) -> dict[str, np.ndarray]:
    """How chords and keys follow each other, as logarithms of smoothed shares."""
    n = len(vocabulary.items)
    follows, after_key, starts = np.zeros((n, n)), np.zeros(n), np.zeros(n)
    steps = np.zeros((2, 2, 12))
    for song in songs:
        labels = song.labels
        for one, other in zip(labels, labels[1:], strict=False):
            a, b = Key.from_name(one.key), Key.from_name(other.key)
            i = vocabulary.index.get((a.mode, one.degree, one.quality))
            j = vocabulary.index.get((b.mode, other.degree, other.quality))
            if a == b:
                if i is not None and j is not None and i != j:
                    follows[i, j] += 1
                    starts[j] += 1
            else:
                steps[
                    int(a.mode is Mode.MINOR),
                    int(b.mode is Mode.MINOR),
                    (b.tonic_fifths - a.tonic_fifths) % 12,
                ] += 1
                if j is not None:
                    after_key[j] += 1
    modes = vocabulary.modes
    background = (starts + 1) / (starts + 1).sum()
    chord_next = np.log((follows + 8 * background) / (follows.sum(1, keepdims=True) + 8))
    for mode in (0, 1):
        same = modes == mode
        after_key[same] = (after_key[same] + 3 * background[same]) / (
            after_key[same].sum() + 3 * background[same].sum()
        )
    key_next = np.log((steps + 0.3) / (steps + 0.3).sum((1, 2), keepdims=True))
    return {
        "chord_next": chord_next.astype(np.float16),
        "chord_first": np.log(after_key).astype(np.float16),
        "key_next": key_next.astype(np.float16),
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("data", type=Path)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--epochs", type=int, default=20)
    parser.add_argument("--leave-out", type=int, default=0, help="every n-th song, for measuring")
    parser.add_argument("--kept", type=Path, help="file that keeps the read songs between runs")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    random.seed(options.seed)
    torch.manual_seed(options.seed)
    torch.set_num_threads(1)
    if options.kept and options.kept.exists():
        songs = pickle.loads(options.kept.read_bytes())
    else:
        songs = list(read_songs(options.data))
        if options.kept:
            options.kept.write_bytes(pickle.dumps(songs))
    if options.leave_out:
        songs = [s for n, s in enumerate(songs) if n % options.leave_out]
    vocabulary = Vocabulary(songs)
    print(len(songs), "songs,", len(vocabulary.items), "chords")
    data = prepared(songs, vocabulary)
    network = Network(vocabulary)
    options.out.parent.mkdir(parents=True, exist_ok=True)
    tables = counted(songs, vocabulary)
    train(
        network,
        data,
        options.epochs,
        3e-3,
        lambda: np.savez_compressed(options.out, **exported(network, vocabulary), **tables),
    )


if __name__ == "__main__":
    main()
