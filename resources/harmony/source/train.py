"""Train the network behind the harmony and count the tables of its decoder.

    python resources/harmony/source/train.py DATA --out resources/harmony/harmony.npz

DATA is the folder of the open analyses that the README names. Needs PyTorch and lxml beside the
program itself; the program needs only the file that is written here.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import numpy as np
import torch
from songs import Label, Song, read_songs
from torch import nn
from torch.nn import functional

from companion.analysis.chords import AUGMENTED_SIXTHS, MEMBERS, QUALITIES, Chord
from companion.analysis.context import CONTEXT_CHANNELS, context_of
from companion.analysis.frames import PLACES, Frames, folded_place, frames_of
from companion.analysis.network import METERS, SPAN, SPAN_FIRST
from companion.analysis.spelling import Key, Mode
from companion.score.model import Score

BATCH = 512
LEARNING_RATE = 3e-3
UNLABELLED = -1
SIGNATURE_SILENCED = 0.1
INVERSION_LEANING = 6.0
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """How a network is trained; with several of them the program takes their mean.

    ``silenced`` is the share of places that are taken away from a frame at random, ``smoothing``
    the share of belief that goes to other answers than the analyst's.
    """

    seed: int
    width: int
    epochs: int
    dropout: float
    silenced: float
    smoothing: float
    weight_decay: float


PLANS = (
    Plan(
        seed=1, width=64, epochs=10, dropout=0.15, silenced=0.03, smoothing=0.02, weight_decay=0.02
    ),
)  # fmt: skip


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

    def __init__(self, vocabulary: Vocabulary, plan: Plan) -> None:
        super().__init__()
        self.plan = plan
        width = plan.width
        self.entry = nn.Linear(SPAN * CONTEXT_CHANNELS, width)
        self.meter = nn.Linear(METERS, width)
        self.second = nn.Linear(width, width)
        self.key = nn.Linear(width, 2)
        self.ton = nn.Linear(width, 1)
        self.chord = nn.Linear(width, len(QUALITIES))
        self.bass = nn.Linear(width, 1)
        self.change = nn.Linear(2 * width, 1)
        self.item = nn.Linear(width, len(vocabulary.items))
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
        """The heads' opinions on a batch of frames."""
        padded = functional.pad(x, (0, 0, -SPAN_FIRST, SPAN - 1 + SPAN_FIRST))
        spans = padded.unfold(1, SPAN, 1).reshape(len(x), PLACES, -1)  # channel first, then place
        h = functional.relu(self.entry(spans) + self.meter(meter)[:, None])
        h = self._thinned(functional.relu(self.second(self._thinned(h)) + h))
        pooled = torch.cat([h.mean(1), h.amax(1)], -1)
        return {
            "key": self.key(h),
            "ton": self.ton(h)[..., 0],
            "chord": self.chord(h),
            "bass": self.bass(h)[..., 0],
            "change": self.change(pooled)[..., 0],
            "item": self.item(h),
        }

    def _thinned(self, h: torch.Tensor) -> torch.Tensor:
        return functional.dropout(h, self.plan.dropout, self.training)

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
    """How far the network is from the analysts, over all heads."""
    out = network(x, meter)
    b = len(x)

    def ce(opinion: torch.Tensor, answer: torch.Tensor) -> torch.Tensor:
        return functional.cross_entropy(opinion, answer, label_smoothing=network.plan.smoothing)

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
    """What is learnt from, per variant: all parts or the piano, values as written, x2, x1/2."""
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """All frames of all variants in one row, with how many of each variant an epoch takes."""

    x: torch.Tensor
    meter: torch.Tensor
    y: dict[str, torch.Tensor]
    counts: tuple[int, ...]
    taken: tuple[int, ...]


def joined_material(variants: list[tuple]) -> Material:
    """One table of all variants."""
    counts = tuple(len(x) for x, _, _, _ in variants)
    return Material(
        x=torch.cat([x for x, _, _, _ in variants]),
        meter=torch.cat([meter for _, meter, _, _ in variants]),
        y={name: torch.cat([y[name] for _, _, y, _ in variants]) for name in TARGETS},
        counts=counts,
        taken=tuple(
            min(count, round(share * count))
            for count, (_, _, _, share) in zip(counts, variants, strict=True)
        ),
    )


Batch = tuple[torch.Tensor, torch.Tensor, dict[str, torch.Tensor]]


def batches(material: Material, plan: Plan) -> Iterator[Batch]:
    """One epoch: of each variant a random share of its frames, in random order."""
    chosen, start = [], 0
    for count, taken in zip(material.counts, material.taken, strict=True):
        chosen.append(start + torch.randperm(count)[:taken])
        start += count
    places = torch.cat(chosen)
    for some in places[torch.randperm(len(places))].split(BATCH):
        x = material.x[some].float()
        x[:, :, :5] *= torch.rand(len(some), PLACES, 1) > plan.silenced
        x[:, :, 5:7] *= torch.rand(len(some), 1, 1) > SIGNATURE_SILENCED
        yield x, material.meter[some], {name: y[some] for name, y in material.y.items()}


def train(network: Network, material: Material) -> None:
    """Fit the network by its plan."""
    plan = network.plan
    steps = plan.epochs * (sum(material.taken) // BATCH + 1)
    optimiser = torch.optim.AdamW(
        network.parameters(), lr=LEARNING_RATE, weight_decay=plan.weight_decay
    )
    schedule = torch.optim.lr_scheduler.OneCycleLR(
        optimiser, LEARNING_RATE, total_steps=steps + 5, pct_start=0.15
    )
    for epoch in range(plan.epochs):
        began, running, count = time.time(), 0.0, 0
        network.train()
        for x, meter, y in batches(material, plan):
            optimiser.zero_grad()
            loss = losses(network, x, meter, y)
            loss.backward()
            nn.utils.clip_grad_norm_(network.parameters(), 1.0)
            optimiser.step()
            schedule.step()
            running, count = running + loss.item(), count + 1
        told = f"epoch {epoch + 1} of {plan.epochs}: loss {running / count:.3f}"
        print(f"{told}, {time.time() - began:.0f} s", flush=True)
    network.eval()


def exported(network: Network, name: str) -> dict[str, np.ndarray]:
    """The arrays of one network for the shipped file."""
    return {
        f"{name}.{part}": values.detach().numpy().astype(np.float16)
        for part, values in network.named_parameters()
    }


def counted(songs: list[Song], vocabulary: Vocabulary) -> dict[str, np.ndarray]:
    """How chords and keys follow each other, as logarithms of smoothed shares."""
    n = len(vocabulary.items)
    follows, after_key, starts = np.zeros((n, n)), np.zeros(n), np.zeros(n)
    steps = np.zeros((2, 2, 12))
    for song in songs:
        labels = song.labels
        for one, other in pairwise(labels):
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
        "inversions": inversion_shares(songs, vocabulary).astype(np.float16),
        "chord_next": chord_next.astype(np.float16),
        "chord_first": np.log(after_key).astype(np.float16),
        "key_next": key_next.astype(np.float16),
    }


def inversion_shares(songs: list[Song], vocabulary: Vocabulary) -> np.ndarray:
    """How often each member of a chord is its bass; rare chords lean on others of their quality."""
    counts = np.zeros((len(vocabulary.items), 4))
    for song in songs:
        for label in song.labels:
            item = vocabulary.index.get(
                (Key.from_name(label.key).mode, label.degree, label.quality)
            )
            if item is not None:
                counts[item, label.inversion] += 1
    shares = np.zeros_like(counts)
    for item, (_, _, quality) in enumerate(vocabulary.items):
        members = 1 if quality in AUGMENTED_SIXTHS else len(MEMBERS[quality])
        alike = [n for n, other in enumerate(vocabulary.items) if other[2] == quality]
        usual = counts[alike, :members].sum(0) + 1
        leaning = counts[item, :members] + INVERSION_LEANING * usual / usual.sum()
        shares[item, :members] = leaning / leaning.sum()
    return shares


def main() -> None:
    """Read the data, train all networks and write the file."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("data", type=Path)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument(
        "--networks-of", type=Path, help="count the tables anew, but keep the networks of a file"
    )
    options = parser.parse_args()
    torch.set_num_threads(1)
    songs = list(read_songs(options.data))
    vocabulary = Vocabulary(songs)
    print(len(songs), "songs,", len(vocabulary.items), "chords")
    arrays = {"items": np.array(["|".join(item) for item in vocabulary.items])}
    arrays |= counted(songs, vocabulary)
    if options.networks_of is not None:
        with np.load(options.networks_of) as stored:
            if list(stored["items"]) != list(arrays["items"]):
                parser.error("the file knows other chords")
            arrays |= {name: stored[name] for name in stored.files if "." in name}
        np.savez_compressed(options.out, **arrays)
        return
    material = joined_material(prepared(songs, vocabulary))
    for number, plan in enumerate(PLANS):
        torch.manual_seed(plan.seed)
        network = Network(vocabulary, plan)
        train(network, material)
        arrays |= exported(network, f"net{number}")
    np.savez_compressed(options.out, **arrays)


if __name__ == "__main__":
    main()
