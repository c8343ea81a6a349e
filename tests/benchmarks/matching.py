"""Quality and speed of the matcher beside parangonar's matchers, in one run, as ratios.

usage: python -m tests.benchmarks.matching [--patient]

With ``--patient`` the other matcher plays the takes of 10,000 notes as well: it takes minutes for
each, because its table grows with the square of their length.

Material: the real performance in the ``parangonar`` package with its expert alignment, whole and
damaged, and takes of invented music: run-throughs, of 10,000 notes too, once of music that comes
back every 48 lines and once of music that never does; and practice with returns and one hand.
Seconds are those of the clock and, in brackets, of the processor: on a busy machine they differ.
"""

from __future__ import annotations

import random
import sys
import time
import warnings
from dataclasses import replace
from fractions import Fraction

import numpy as np
import parangonar
import partitura

from companion.listening.follower import Follower
from companion.listening.matching.match import match_take
from companion.listening.notes import HeardNote, ScoreNote, Verdict
from tests.unit.listening.invented_music import a_note, played, written
from tests.unit.listening.test_matching_against_others import as_alignment, as_values

LONG_NOTES = 10_000


def as_arrays(
    score: list[ScoreNote], take: list[HeardNote]
) -> tuple[np.ndarray, np.ndarray, list[HeardNote]]:
    score_fields = [
        ("onset_beat", "f4"), ("duration_beat", "f4"), ("onset_quarter", "f4"),
        ("duration_quarter", "f4"), ("onset_div", "i4"), ("duration_div", "i4"), ("pitch", "i4"),
        ("voice", "i4"), ("id", "U32"), ("staff", "i4"), ("divs_pq", "i4"), ("is_grace", "?"),
    ]  # fmt: skip
    rows = [
        (
            float(n.onset_quarters), float(n.duration_quarters), float(n.onset_quarters),
            float(n.duration_quarters), int(n.onset_quarters * 480),
            int(n.duration_quarters * 480), n.pitch, n.voice, n.note_id, n.staff, 480, n.grace,
        )
        for n in score
    ]  # fmt: skip
    take_fields = [
        ("onset_sec", "f4"), ("duration_sec", "f4"), ("onset_tick", "i4"), ("duration_tick", "i4"),
        ("pitch", "i4"), ("velocity", "i4"), ("track", "i4"), ("channel", "i4"), ("id", "U32"),
    ]  # fmt: skip
    take_rows = [
        (n.onset_seconds, n.duration_seconds, int(n.onset_seconds * 960),
         int(n.duration_seconds * 960), n.pitch, n.velocity, 0, 0, f"p{i}")
        for i, n in enumerate(take)
    ]  # fmt: skip
    return np.array(rows, score_fields), np.array(take_rows, take_fields), take


def never_the_same(count: int, seed: int = 6) -> list[ScoreNote]:
    """Invented music for two hands that wanders on: no two lines of it are alike."""
    chance = random.Random(seed)
    notes: list[ScoreNote] = []
    onset, right, left = Fraction(0), 74, 50
    while len(notes) < count:
        length = chance.choice([Fraction(1, 4), Fraction(1, 4), Fraction(1, 2), Fraction(1)])
        right = min(96, max(62, right + chance.choice([-4, -2, -1, 1, 2, 3, 5])))
        keys = [(right, 1)] + [(right - chance.choice([3, 4, 5, 8]), 1)] * (chance.random() < 0.3)
        if onset.denominator <= 2:
            left = min(58, max(33, left + chance.choice([-7, -5, -2, 2, 4, 7])))
            keys.append((left, 2))
        notes += [
            a_note(len(notes) + at, onset, length, *key) for at, key in enumerate(sorted(keys))
        ]
        onset += length
    return notes


def damaged(
    take: list[HeardNote], truth: list[int], seed: int
) -> tuple[list[HeardNote], list[int]]:
    """Six in a hundred notes left out, uneven time; ``truth`` follows."""
    chance = random.Random(seed)
    kept = [
        (replace(note, onset_seconds=note.onset_seconds + chance.gauss(0.05, 0.012)), index)
        for note, index in zip(take, truth, strict=True)
        if chance.random() > 0.06
    ]
    kept.sort(key=lambda pair: pair[0].onset_seconds)
    return [note for note, _ in kept], [index for _, index in kept]


def practice(score: list[ScoreNote], seed: int) -> tuple[list[HeardNote], list[int]]:
    """Twelve passages that begin anywhere, some with one hand, at different tempi."""
    chance = random.Random(seed)
    take: list[HeardNote] = []
    truth: list[int] = []
    for _ in range(12):
        first = chance.randrange(0, 120) * 2
        staff = chance.choice([None, None, 1, 2])
        chosen = [
            index
            for index, note in enumerate(score)
            if first <= note.onset_quarters < first + 16 and staff in (None, note.staff)
        ]
        start = (take[-1].onset_seconds if take else 0.0) + 2.0
        quarter = chance.uniform(0.45, 1.2)
        take += [
            replace(note, onset_seconds=note.onset_seconds)
            for note in played(
                [score[index] for index in chosen],
                from_quarters=first,
                start=start,
                quarter=quarter,
            )
        ]
        truth += chosen
    return take, truth


def f_measure(pairs: set[tuple[str, int]], truth: set[tuple[str, int]]) -> float:
    return 2 * len(pairs & truth) / max(1, len(pairs) + len(truth))


def ours(score: list[ScoreNote], take: list[HeardNote]) -> set[tuple[str, int]]:
    match = match_take(score, take)
    return {(str(n.note_id), n.played) for n in match.notes if n.verdict is Verdict.RIGHT}


def theirs(
    matcher: object, score_array: np.ndarray, take_array: np.ndarray
) -> set[tuple[str, int]]:
    place = {str(name): index for index, name in enumerate(take_array["id"])}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = matcher(score_array, take_array)  # type: ignore[operator]
    return {
        (str(item["score_id"]), place[str(item["performance_id"])])
        for item in found
        if item["label"] == "match"
    }


def compare(
    name: str,
    score: list[ScoreNote],
    take: list[HeardNote],
    truth: list[int],
    arrays: tuple[np.ndarray, np.ndarray],
    matchers: dict[str, object],
) -> None:
    right = {(score[index].note_id, at) for at, index in enumerate(truth) if index >= 0}
    began, worked = time.perf_counter(), time.process_time()
    found = ours(score, take)
    own_seconds, own_work = time.perf_counter() - began, time.process_time() - worked
    own_f = f_measure(found, right)
    print(f"{name}: {len(score)} written, {len(take)} played notes")
    print(f"  ours                       F {own_f:.4f}   {own_seconds:7.2f} s ({own_work:.2f})")
    for label, matcher in matchers.items():
        began = time.perf_counter()
        try:
            found = theirs(matcher, *arrays)
        except Exception as problem:  # noqa: BLE001 - a benchmark goes on without this figure
            print(f"  {label:<26} {type(problem).__name__}: {problem}")
            continue
        seconds = time.perf_counter() - began
        value = f_measure(found, right)
        print(
            f"  {label:<26} F {value:.4f}   {seconds:7.2f} s   "
            f"(ours: F ratio {own_f / max(value, 1e-9):.3f}, {seconds / own_seconds:.1f} x as fast)"
        )


def main() -> None:
    patient = "--patient" in sys.argv[1:]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        performance, alignment, example = partitura.load_match(
            parangonar.EXAMPLE, create_score=True
        )
        score_array = example.note_array(include_grace_notes=True, include_staff=True)
        take_array = performance.note_array()
    take_array = take_array[np.argsort(take_array["onset_sec"], kind="stable")]
    score, take = as_values(score_array, take_array)
    index_of = {str(name): index for index, name in enumerate(score_array["id"])}
    partner = {
        item["performance_id"]: index_of[item["score_id"]]
        for item in alignment
        if item["label"] == "match"
    }
    truth = [partner.get(str(name), -1) for name in take_array["id"]]
    assert as_alignment(match_take(score, take), take_array)
    matchers = {
        "DualDTWNoteMatcher": parangonar.DualDTWNoteMatcher(),
        "AutomaticNoteMatcher": parangonar.AutomaticNoteMatcher(),
    }
    compare("real performance", score, take, truth, (score_array, take_array), matchers)
    harmed, harmed_truth = damaged(take, truth, 1)
    arrays = as_arrays(score, harmed)[:2]
    compare("real performance, damaged", score, harmed, harmed_truth, arrays, matchers)

    only_dual = {"DualDTWNoteMatcher": matchers["DualDTWNoteMatcher"]}
    long_score = written(60)
    run, run_truth = damaged(played(long_score), list(range(len(long_score))), 2)
    arrays = as_arrays(long_score, run)[:2]
    compare("invented run-through", long_score, run, run_truth, arrays, only_dual)
    working, working_truth = practice(long_score, 3)
    arrays = as_arrays(long_score, working)[:2]
    compare("invented practice", long_score, working, working_truth, arrays, only_dual)

    for name, longest in (
        ("10,000 notes that come back", written(417)),
        ("10,000 notes that never come back", never_the_same(LONG_NOTES)),
    ):
        run, run_truth = damaged(played(longest, to_quarters=10**6), list(range(len(longest))), 4)
        arrays = as_arrays(longest, run)[:2]
        compare(name, longest, run, run_truth, arrays, only_dual if patient else {})
        follow(f"follower, {name}", longest, run)
        follow("  with twelve new starts", longest, practice(longest, 5)[0])


def follow(name: str, score: list[ScoreNote], take: list[HeardNote]) -> None:
    """Time of each note: on the clock, and of this thread."""
    follower = Follower(score)
    seconds, work = [], []
    for note in take:
        began, worked = time.perf_counter(), time.thread_time()
        follower.hear(note)
        seconds.append(time.perf_counter() - began)
        work.append(time.thread_time() - worked)
    figures = [
        1000 * np.percentile(values, share) for share in (50, 99) for values in (seconds, work)
    ]
    print(
        f"{name}: {len(score)} written, {len(take)} played notes; ms per note "
        "median {:.2f} ({:.2f}), p99 {:.2f} ({:.2f})".format(*figures)
    )


if __name__ == "__main__":
    main()
