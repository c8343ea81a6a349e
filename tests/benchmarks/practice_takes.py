"""Write a bench of practice takes and concert-like takes of pieces that nothing was tuned on.

usage: python -m tests.benchmarks.practice_takes FOLDER [--seed 11]

FOLDER then has ``index.json``, ``cases/<id>.json`` (all that a program may see) and
``truth/<id>.json``, in the form that ``tests/benchmarks/answer_bench.py`` answers: columns of
written notes and of played notes; per played note the written one that was meant or -1, whether the
key was wrong, why it was added, the place in quarters, the pass, the tempo; the missed notes with
their pass and the index of the next note that was played.

The music is that of music21's corpus, the player that of ``practice_player.py``: same seed, same
bench. Demo data: nobody played these takes.
"""

from __future__ import annotations

import argparse
import json
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from random import Random

import numpy as np

from tests.benchmarks.practice_material import (
    KEYBOARD_PIECES,
    Written,
    as_printed,
    read_piece,
    unfolded,
)
from tests.benchmarks.practice_player import (
    BOTH,
    CONCERT,
    HEAVY,
    LEFT,
    LIGHT,
    MEDIUM,
    RIGHT,
    Level,
    Pass,
    Player,
)

PLANS = ("through", "loop", "jumpy")
CONCERT_PIECES = 8
TEMPO_SPAN_QUARTERS = 4.0


@dataclass(frozen=True, kw_only=True)
class Take:
    """A simulated take with the truth about it: its passes, in order of time."""

    written: Written
    level: str
    plan: str
    passes: tuple[Pass, ...]

    def case(self, name: str) -> dict[str, object]:
        """What a program may see."""
        strokes = [stroke for one in self.passes for stroke in one.strokes]
        began = strokes[0].onset
        return {
            "id": name,
            "family": "concert" if self.level == "concert" else "practice",
            "dataset": "corpus",
            "level": "" if self.level == "concert" else self.level,
            "score": self.written.columns(),
            "perf": {
                "onset": [round(s.onset - began, 4) for s in strokes],
                "dur": [round(s.lasts, 4) for s in strokes],
                "pitch": [s.pitch for s in strokes],
                "vel": [s.velocity for s in strokes],
            },
            "pedal": [],
        }

    def truth(self, name: str) -> dict[str, object]:
        """What was meant."""
        numbered = [(k, s) for k, one in enumerate(self.passes) for s in one.strokes]
        strokes = [stroke for _, stroke in numbered]
        firsts = [0, *np.cumsum([len(one.strokes) for one in self.passes]).tolist()]
        missed: list[list[int]] = []
        for number, one in enumerate(self.passes):
            for index in one.missed:
                onset = float(self.written.notes[index].onset_quarters)
                later = (k for k, s in enumerate(one.strokes) if s.quarters > onset + 1e-4)
                missed.append([index, number, firsts[number] + next(later, len(one.strokes))])
        concert = self.level == "concert"
        if concert:  # the convention of alignments: a wrong key is an addition and an omission
            missed += [[s.written, k, at] for at, (k, s) in enumerate(numbered) if s.wrong]
        return {
            "id": name,
            "score_idx": [-1 if concert and s.wrong else s.written for s in strokes],
            "wrong": [int(s.wrong and not concert) for s in strokes],
            "extra_kind": [s.extra for s in strokes],
            "pos_q": [s.quarters for s in strokes],
            "passes": [number for number, _ in numbered],
            "jumps": firsts[:-1],
            "jump_kind": [one.kind for one in self.passes],
            "missed": missed,
            "tempo": _tempi(numbered),
            "pass_info": [
                {"kind": one.kind, "hand": one.hand, "start_onset": one.first_onset}
                for one in self.passes
            ],
        }


def _tempi(numbered: list[tuple[int, object]]) -> list[float | None]:
    """Slope of the last four quarters of a pass, by least squares, as quarters per minute."""
    tempi: list[float | None] = []
    window: list[tuple[float, float]] = []
    before = -1
    for number, stroke in numbered:
        if number != before:
            window = []
        before = number
        if not stroke.extra:
            window.append((stroke.onset, stroke.quarters))
            while window[-1][1] - window[0][1] > TEMPO_SPAN_QUARTERS:
                window.pop(0)
        places = np.array(window).reshape(-1, 2)
        if len(set(places[:, 1])) < 3 or np.ptp(places[:, 1]) < 1:
            tempi.append(None)
            continue
        away = places[:, 1] - places[:, 1].mean()
        slope = float(away @ (places[:, 0] - places[:, 0].mean()) / (away @ away))
        tempi.append(round(60 / slope, 2) if slope > 1e-3 else None)
    return tempi


def practise(written: Written, level: Level, plan: str, rng: Random) -> Take:
    """One practice take: passes joined by going back, looping and jumping."""
    player = Player(written, level, rng, wanders=rng.random() < 0.12)
    wanted, end = rng.randint(130, 600), len(written.onsets) - 1
    starts = written.measure_starts
    hand = _hand(level, rng)
    first = rng.choice(starts) if rng.random() < 0.6 else rng.randrange(end)
    loop = (first, min(end, first + rng.randint(8, 50)))
    last = _planned_end(plan, loop, first, end, rng)
    kind, passes, now, retries = "start", [], 0.0, 0
    while sum(len(one.strokes) for one in passes) < wanted and len(passes) < 60:
        one = player.play(kind, first, last, hand, now)
        if one is not None and one.strokes:
            _close_up(one, now)
            passes.append(one)
            now = max(s.onset for s in one.strokes)
        if one is not None and one.broke_off and retries < 3:
            retries += 1
            kind, first = _goes_back(one, starts, rng)
            now += rng.uniform(0.12, 0.9) if kind == "repair" else rng.uniform(0.3, 2.5)
            continue
        now, retries = now + rng.uniform(0.3, 3.0), 0
        if plan == "loop" and rng.random() < 0.9:
            kind, first = "loop", loop[0]
            if rng.random() < 0.25:
                hand = _hand(level, rng)
        else:
            before = first
            first = rng.choice(starts) if rng.random() < 0.6 else rng.randrange(end)
            kind = "jump_back" if first <= before else "jump_forward"
            hand = _hand(level, rng)
            loop = (first, min(end, first + rng.randint(8, 50)))
        last = _planned_end(plan, loop, first, end, rng)
    return Take(written=written, level=level.name, plan=plan, passes=tuple(passes))


def perform(written: Written, rng: Random) -> Take:
    """One concert-like take: the whole piece once, professionally."""
    one = Player(written, CONCERT, rng).play("start", 0, len(written.onsets) - 1, BOTH, 0.0)
    assert one is not None
    _close_up(one, 0.0)
    return Take(written=written, level="concert", plan="", passes=(one,))


def _hand(level: Level, rng: Random) -> int:
    return rng.choice((RIGHT, LEFT)) if rng.random() < level.one_hand else BOTH


def _planned_end(plan: str, loop: tuple[int, int], first: int, end: int, rng: Random) -> int:
    if plan == "loop":
        return max(loop[1], first)
    length = rng.randint(5, 45) if plan == "jumpy" else rng.randint(60, 260)
    return min(end, first + length)


def _goes_back(one: Pass, starts: list[int], rng: Random) -> tuple[str, int]:
    """Where the player begins again after breaking off, and how that is called."""
    chance, here = rng.random(), one.last_onset
    if chance < 0.22:
        return "repair", max(0, here - rng.choice((0, 0, 1)))
    if chance < 0.6:
        return "goback_beats", max(0, here - rng.randint(1, 7))
    before = [start for start in starts if start <= here]
    return "goback_bar", before[-min(len(before), rng.choice((1, 1, 2)))]


def _close_up(one: Pass, start: float) -> None:
    """Begin after the pass before, and let a key come up before it is struck again."""
    early = min(s.onset for s in one.strokes) - start
    for stroke in one.strokes:
        stroke.onset -= min(0.0, early)
    down: dict[int, float] = {}
    for stroke in sorted(one.strokes, key=lambda s: s.onset):
        stroke.onset = max(stroke.onset, down.get(stroke.pitch, -1.0) + 0.05)
        down[stroke.pitch] = stroke.onset
    one.strokes.sort(key=lambda s: s.onset)
    following: dict[int, float] = {}
    for stroke in reversed(one.strokes):
        room = following.get(stroke.pitch, stroke.onset + 60.0) - stroke.onset
        stroke.lasts = max(0.02, min(stroke.lasts, room - 0.02))
        following[stroke.pitch] = stroke.onset
    for before, stroke in zip(one.strokes, one.strokes[1:], strict=False):
        if stroke.extra == "real":  # the ornament goes on while the music does
            stroke.quarters = max(stroke.quarters, before.quarters)


def takes(seed: int) -> dict[str, Take]:
    """All takes of the bench by their ids."""
    found: dict[str, Take] = {}
    scores = {name: read_piece(name) for name in KEYBOARD_PIECES}
    for number, (name, score) in enumerate(list(scores.items())[:CONCERT_PIECES]):
        played = perform(unfolded(name, score), Random(f"{seed} concert {name}"))
        found[f"concert_{number:02d}_corpus"] = played
    number = 0
    for level in (LIGHT, MEDIUM, HEAVY):
        for place, (name, score) in enumerate(scores.items()):
            rng = Random(f"{seed} {level.name} {name}")
            plan = PLANS[(place + number // len(scores)) % len(PLANS)]
            found[f"practice_{level.name}_{number:02d}"] = practise(
                as_printed(name, score), level, plan, rng
            )
            number += 1
    return found


def write(folder: Path, seed: int) -> None:
    """Write the bench into a folder."""
    index = []
    for part in ("cases", "truth"):
        (folder / part).mkdir(parents=True, exist_ok=True)
    for name, take in takes(seed).items():
        case = take.case(name)
        (folder / "cases" / f"{name}.json").write_text(json.dumps(case))
        (folder / "truth" / f"{name}.json").write_text(json.dumps(take.truth(name)))
        entry = {key: case[key] for key in ("id", "family", "dataset", "level")}
        entry |= {
            "score_notes": len(take.written.notes),
            "perf_notes": len(case["perf"]["onset"]),
            "plan": take.plan,
            "piece": take.written.name,
        }
        index.append(entry)
    (folder / "index.json").write_text(json.dumps(index, indent=1))
    print(Counter((e["family"], e["level"]) for e in index), sum(e["perf_notes"] for e in index))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--seed", type=int, default=11)
    asked = parser.parse_args()
    write(asked.folder, asked.seed)


if __name__ == "__main__":
    main()
