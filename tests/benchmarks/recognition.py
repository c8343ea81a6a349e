"""How soon and how surely a piece of a shelf of 100 is recognised: prints figures.

    python tests/benchmarks/recognition.py [--starts 100] [--kept notes.pickle]

The shelf holds pieces from the corpus inside music21 and the sample scores; pieces of the same kind
that are not on it are played, too, and must not be recognised. Players start at random places, with
both hands or one, without mistakes and with 10 in 100 notes wrong, left out or added, at 0.35 to
1.4 seconds a quarter, chords spread and in any order. The practising player of
``practice_player.py`` plays them at three levels, with goings-back, and the simulated pianist of
:mod:`companion.demo` the sample scores. A shelf of nothing but chorales shows how well look-alikes
are told apart, and a shelf that has every piece in two editions what happens then.
"""

from __future__ import annotations

import argparse
import pickle
import sys
import tempfile
import time
from collections import Counter
from dataclasses import replace
from pathlib import Path
from random import Random

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from companion.demo.pianist import SimulatedPianist
from companion.demo.skill import FIRST_READING, FLAWLESS
from companion.listening.notes import Hands, HeardNote, ScoreNote
from companion.listening.recognition.piece_index import ShelfIndex, build_index, index_piece
from companion.listening.recognition.recognise import Recogniser
from companion.listening.recognition.whole_takes import recognise_take
from companion.resources import sample_scores_folder
from companion.score.model import Hand
from companion.score.reading.reader import read_score
from tests.benchmarks.practice_material import Written
from tests.benchmarks.practice_player import HEAVY, LIGHT, MEDIUM, Level, Player, Stroke
from tests.benchmarks.recognition_material import corpus_pieces

PIECES = 100
AFTER = (8, 12, 16, 24, 32)
MISTAKES = 0.10


def play(
    notes: list[ScoreNote], rng: Random, count: int, hands: Hands, mistakes: float
) -> list[HeardNote]:
    """Play on from a random onset, as many keys as asked; fewer where the piece ends."""
    by_onset: dict[float, set[int]] = {}
    for note in notes:
        if hands is Hands.BOTH or (note.playing_hand is Hand.RIGHT) == (hands is Hands.RIGHT):
            by_onset.setdefault(float(note.onset_quarters), set()).add(note.pitch)
    onsets = sorted(by_onset)
    if not onsets:
        return []
    place = rng.randrange(len(onsets))
    quarter_seconds = rng.uniform(0.35, 1.4)
    now, keys = 0.0, []
    while len(keys) < count + 6 and place < len(onsets):
        for pitch in by_onset[onsets[place]]:
            chance = rng.random() / mistakes if mistakes else 1.0
            at = now + abs(rng.gauss(0, 0.018))
            if chance < 0.35:
                continue
            wrong = rng.choice((-2, -1, 1, 2)) if chance < 0.7 else 0
            keys.append((at, pitch + wrong))
            if 0.7 <= chance < 1.0:
                keys.append((now + rng.uniform(0, 0.1), pitch + rng.choice((-2, -1, 1, 2, 12))))
        if place + 1 < len(onsets):
            step = (onsets[place + 1] - onsets[place]) * quarter_seconds
            now += max(0.05, step * rng.gauss(1, 0.08))
            if rng.random() < 0.1 * mistakes:
                now += rng.uniform(0.3, 2.0)
        place += 1
    return [HeardNote(at, 0.2, max(21, min(108, key))) for at, key in sorted(keys)[:count]]


def known_music(index: ShelfIndex, pieces: dict[str, list[ScoreNote]], starts: int) -> None:
    """Random starts in pieces of the shelf."""
    recogniser, rng, milliseconds = Recogniser(index), Random(5), []
    names = sorted(pieces)
    print(f"\n{'share of starts named right (wrong) after':44}", *(f"{n:>14}" for n in AFTER))
    for mistakes in (0.0, MISTAKES):
        for hands in Hands:
            right, wrong, confused = Counter(), Counter(), Counter()
            done = 0
            while done < starts:
                name = rng.choice(names)
                heard = play(pieces[name], rng, max(AFTER), hands, mistakes)
                if len(heard) < max(AFTER):
                    continue
                done += 1
                recogniser.forget()
                for number, note in enumerate(heard, 1):
                    began = time.thread_time()
                    guess = recogniser.hear(note)
                    milliseconds.append(1000 * (time.thread_time() - began))
                    if guess is not None:
                        (right if guess.piece_key == name else wrong)[number] += 1
                        if guess.piece_key != name:
                            confused[name, guess.piece_key] += 1
            label = f"{'with mistakes' if mistakes else 'clean'}, {hands.value}"
            cells = (f"{right[n] / done:.3f} ({wrong[n] / done:.3f})" for n in AFTER)
            print(f"{label:44}", *(f"{cell:>14}" for cell in cells))
            for pair, count in confused.most_common(2):
                print("      taken for another:", *pair, f"({count} notes)")
    p50, p99 = np.percentile(milliseconds, [50, 99])
    print(
        f"processor time per note: median {p50:.2f}, p99 {p99:.2f}, max {max(milliseconds):.2f} ms"
    )


def practised(notes: list[ScoreNote], rng: Random, count: int, level: Level) -> list[HeardNote]:
    """The beginning of a practice take from a random onset, going back after breaking off."""
    ordered = tuple(sorted(notes, key=lambda n: (n.onset_quarters, n.pitch)))
    onsets = tuple(sorted({round(float(n.onset_quarters), 4) for n in ordered}))
    player = Player(Written("", 80.0, ordered, onsets), level, rng)
    hand = rng.choice((1, 2)) if rng.random() < level.one_hand else 0
    first, now = rng.randrange(max(1, len(onsets) - 8)), 0.0
    strokes: list[Stroke] = []
    while len(strokes) < count + 4:
        one = player.play("", first, min(len(onsets) - 1, first + 200), hand, now)
        if one is None or not one.strokes:
            return []
        strokes += one.strokes
        if not one.broke_off and len(strokes) < count:
            return []
        now = max(s.onset for s in one.strokes) + rng.uniform(0.15, 2.5)
        first = max(0, one.last_onset - rng.choice((0, 0, 1, 2, 3, 5)))
    strokes.sort(key=lambda s: s.onset)
    return [HeardNote(s.onset, s.lasts, s.pitch, s.velocity) for s in strokes[:count]]


def practice_takes(index: ShelfIndex, pieces: dict[str, list[ScoreNote]], starts: int) -> None:
    """Beginnings of practice takes at three levels."""
    recogniser, names = Recogniser(index), sorted(pieces)
    print()
    for level in (LIGHT, MEDIUM, HEAVY):
        rng, right, wrong, done = Random(f"9 {level.name}"), Counter(), Counter(), 0
        while done < starts:
            name = rng.choice(names)
            heard = practised(pieces[name], rng, max(AFTER), level)
            if len(heard) < max(AFTER):
                continue
            done += 1
            recogniser.forget()
            for number, note in enumerate(heard, 1):
                guess = recogniser.hear(note)
                if guess is not None:
                    (right if guess.piece_key == name else wrong)[number] += 1
        cells = (f"{right[n] / done:.3f} ({wrong[n] / done:.3f})" for n in AFTER)
        print(f"{'practice, ' + level.name:44}", *(f"{cell:>14}" for cell in cells))


def look_alikes(pieces: dict[str, list[ScoreNote]], starts: int) -> None:
    """A shelf of chorales only, and a shelf with every piece in two editions."""
    chorales = {name: notes for name, notes in pieces.items() if name.startswith("bach/bwv")}
    print(f"\na shelf of {len(chorales)} chorales only")
    known_music(build_index(chorales), chorales, starts // 2)
    rng = Random(10)
    both = dict(pieces)
    for name, notes in pieces.items():
        both["second edition of " + name] = [
            replace(n, pitch=n.pitch + rng.choice((-1, 1))) if rng.random() < 0.01 else n
            for n in notes
        ]
    index = build_index(both)
    found = len(set(index.arrays.music.tolist()))
    print(f"every piece in two editions: {len(both)} entries are {found} pieces")
    right, of_stand, done = Counter(), Counter(), 0
    while done < starts:
        name = rng.choice(sorted(pieces))
        heard = play(pieces[name], rng, 16, Hands.BOTH, 0.0)
        if len(heard) < 16:
            continue
        done += 1
        for stand in (None, name, "second edition of " + name):
            guess = recognise_take(index, heard, at_hand=stand)
            right[stand is None] += guess is not None and guess.piece_key.endswith(name)
            of_stand[stand == name] += guess is not None and guess.piece_key == stand
    print(
        f"  after 16 notes the right music in {right[True] / done:.3f}, "
        f"the edition on the stand (played, the other one) in {of_stand[True] / done:.3f}, "
        f"{of_stand[False] / done:.3f}"
    )


def unknown_music(index: ShelfIndex, pieces: dict[str, list[ScoreNote]], starts: int) -> None:
    """Music that is not on the shelf; a guess is a false one."""
    recogniser, rng = Recogniser(index), Random(6)
    runs = named_by_16 = named_ever = named_notes = named_last = 0
    names = sorted(pieces)
    while runs < 2 * starts:
        name = rng.choice(names)
        heard = play(pieces[name], rng, 60, rng.choice(list(Hands)), 0.03)
        if len(heard) < 60:
            continue
        recogniser.forget()
        found = [recogniser.hear(note) is not None for note in heard]
        runs += 1
        named_by_16 += any(found[:16])
        named_ever += any(found)
        named_last += found[-1]
        named_notes += sum(found)
    print(
        f"\nnot on the shelf, 60 notes: named at some note {named_ever / runs:.3f}, "
        f"within 16 notes {named_by_16 / runs:.3f}, at the end {named_last / runs:.3f}; "
        f"share of notes {named_notes / runs / 60:.3f}"
    )


def exercises(index: ShelfIndex) -> None:
    """Scales, broken chords and five-finger figures: a guess is a false one."""
    major, minor = (0, 2, 4, 5, 7, 9, 11), (0, 2, 3, 5, 7, 8, 11)
    kinds = {
        "major scales": major, "minor scales": minor, "broken triads": (0, 4, 7),
        "chromatic scales": tuple(range(12)), "broken diminished sevenths": (0, 3, 6, 9),
    }  # fmt: skip
    for label, steps in kinds.items():
        runs = []
        for root in range(40, 64):
            up = [root + 12 * octave + step for octave in range(3) for step in steps]
            keys = [*up, root + 36, *reversed(up)]
            runs.append([(0.15 * k, key) for k, key in enumerate(keys)])
            runs.append([(0.15 * k, key - h) for k, key in enumerate(keys) for h in (0, 12)])
        _exercise(index, label, runs)
    runs = []
    for figure in ((0, 2, 3, 4, 5, 4, 3, 2), (0, 2, 4, 3, 5, 4, 3, 1), (0, 1, 2, 3, 4, 2, 3, 1)):
        for tonic in (48, 50, 53, 55):
            scale = [tonic + 12 * octave + step for octave in range(4) for step in major]
            keys = [scale[start + step] for start in range(14) for step in figure]
            runs.append([(0.14 * k, key - 12 * h) for k, key in enumerate(keys) for h in (0, 1)])
    _exercise(index, "figures moved up the scale", runs)


def _exercise(index: ShelfIndex, label: str, runs: list[list[tuple[float, int]]]) -> None:
    recogniser = Recogniser(index)
    named = notes = every = 0
    for run in runs:
        recogniser.forget()
        found = [recogniser.hear(HeardNote(at, 0.1, key)) is not None for at, key in run]
        named, notes, every = named + any(found), notes + sum(found), every + len(found)
    print(f"{label}: named in {named / len(runs):.3f} of the runs, at {notes / every:.4f} of notes")


def simulated_pianist(index: ShelfIndex, scores: dict[str, object], starts: int) -> None:
    """The sample scores played by the simulated pianist, from random measures."""
    rng = Random(7)
    for label, skill in (("flawless", FLAWLESS), ("first reading", FIRST_READING)):
        right, done = Counter(), 0
        for seed in range(starts // 2):
            name = rng.choice(sorted(scores))
            score = scores[name]
            first = rng.randrange(max(1, len(score.measures) - 6))
            heard = SimulatedPianist(score, seed=seed).play(skill, from_measure_index=first).notes
            if len(heard) < max(AFTER):
                continue
            done += 1
            recogniser = Recogniser(index)
            for number, note in enumerate(heard[: max(AFTER)], 1):
                guess = recogniser.hear(note)
                right[number] += guess is not None and guess.piece_key == name
        cells = (f"{n}: {right[n] / done:.3f}" for n in AFTER)
        print(f"simulated pianist, {label}, named right after", *cells)


def main() -> None:
    """Print everything."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--starts", type=int, default=100)
    parser.add_argument("--kept", type=Path, default=Path(tempfile.gettempdir()) / "notes.pickle")
    asked = parser.parse_args()
    samples = {
        p.stem: read_score(str(p)) for p in sorted(sample_scores_folder().glob("*.musicxml"))
    }
    pieces = {name: list(score.notes) for name, score in samples.items()}
    corpus = corpus_pieces(asked.kept)
    names = sorted(corpus)
    Random(2).shuffle(names)
    names.sort(key=lambda name: name.startswith("trecento"))  # these stay out
    for name in names[: PIECES - len(pieces)]:
        pieces[name] = corpus[name]
    others = {name: notes for name, notes in corpus.items() if name not in pieces}

    began = time.thread_time()
    index = build_index(pieces)
    built = time.thread_time() - began
    began = time.thread_time()
    arrays = index.arrays
    laid_out = time.thread_time() - began
    total = sum(map(len, pieces.values()))
    print(
        f"{len(pieces)} pieces, {total} notes, {arrays.states} places; indexed in {built:.2f} s, "
        f"laid out in {laid_out:.2f} s, {len(pickle.dumps(index)) / 1e6:.1f} MB"
    )
    longest = max(pieces.values(), key=len)
    began = time.thread_time()
    index_piece(longest)
    print(f"one piece of {len(longest)} notes: {1000 * (time.thread_time() - began):.0f} ms")
    known_music(index, pieces, asked.starts)
    practice_takes(index, pieces, asked.starts)
    unknown_music(index, others, asked.starts)
    look_alikes(pieces, asked.starts)
    exercises(index)
    simulated_pianist(index, samples, asked.starts)
    rng, name = Random(8), max(pieces, key=lambda key: len(pieces[key]))
    heard = play(pieces[name], rng, 2_000, Hands.BOTH, 0.03)
    began = time.thread_time()
    guess = recognise_take(index, heard)
    print(
        f"a take of {len(heard)} notes: {time.thread_time() - began:.2f} s, "
        f"{'right' if guess and guess.piece_key == name else 'wrong'}"
    )


if __name__ == "__main__":
    main()
