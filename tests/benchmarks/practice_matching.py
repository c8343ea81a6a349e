"""Our matcher beside those of parangonar on practice takes: F of right notes and time, as ratios.

usage: python -m tests.benchmarks.practice_matching [--takes 4] [--seed 11]

Material: the takes of ``practice_takes.py``, some of each level and some concert-like ones, the
shorter ones first. The matchers of parangonar are the two-stage time warping for whole performances
(``DualDTWNoteMatcher``; Peter et al. 2023, doi:10.5334/tismir.149) and the one that knows jumps
(``SwitchingOuterHMMMatcher``). Each gets what it asks for: note arrays, or the score as MusicXML.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import tempfile
import time
import warnings
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import parangonar
import partitura

from companion.listening.matching.match import match_take
from companion.listening.notes import HeardNote, Verdict
from tests.benchmarks.practice_material import read_piece
from tests.benchmarks.practice_takes import Take, takes

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

Pairs = set[tuple[float, int, int]]
"""Right notes: written onset in quarters, key, index of the played note. Unisons are one key."""

LEVELS = ("concert", "light", "medium", "heavy")


def true_pairs(take: Take) -> Pairs:
    """What was meant."""
    strokes = [stroke for one in take.passes for stroke in one.strokes]
    return {
        _key(take, stroke.written, played)
        for played, stroke in enumerate(strokes)
        if stroke.written >= 0 and not stroke.wrong
    }


def our_pairs(take: Take) -> Pairs:
    """What our matcher says."""
    match = match_take(take.written.notes, heard(take))
    return {
        _key(take, note.score_index, note.played)
        for note in match.notes
        if note.verdict is Verdict.RIGHT and note.score_index is not None
    }


def heard(take: Take) -> list[HeardNote]:
    """The take as our matcher gets it."""
    return [
        HeardNote(s.onset, s.lasts, s.pitch, s.velocity) for one in take.passes for s in one.strokes
    ]


def time_warping_pairs(take: Take) -> Pairs:
    """What the matcher for whole performances says."""
    fields = [
        ("onset_beat", "f4"), ("duration_beat", "f4"), ("onset_quarter", "f4"),
        ("duration_quarter", "f4"), ("onset_div", "i4"), ("duration_div", "i4"), ("pitch", "i4"),
        ("voice", "i4"), ("id", "U32"), ("staff", "i4"), ("divs_pq", "i4"), ("is_grace", "?"),
    ]  # fmt: skip
    rows = [
        (*2 * (float(n.onset_quarters), float(n.duration_quarters)), int(n.onset_quarters * 480),
         int(n.duration_quarters * 480), n.pitch, n.voice, f"s{k}", n.staff, 480, n.grace)
        for k, n in enumerate(take.written.notes)
    ]  # fmt: skip
    played = _performance(take).note_array()
    found = parangonar.DualDTWNoteMatcher()(np.array(rows, fields), played)
    return _named(take, found, {f"s{k}": k for k in range(len(take.written.notes))})


def switching_pairs(take: Take) -> Pairs:
    """What the matcher that knows jumps says."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "score.musicxml"
        file.write_bytes(_as_musicxml(take.written.name))
        score = partitura.load_musicxml(str(file))
    matcher = parangonar.SwitchingOuterHMMMatcher(
        unfold_score=False, consider_parallel_sections=False
    )
    quiet = io.StringIO()
    with contextlib.redirect_stdout(quiet), contextlib.redirect_stderr(quiet):
        found = matcher(score, partitura.performance.Performance(_performance(take)))
    return _named(take, found, {n.note_id: k for k, n in enumerate(take.written.notes)})


@cache
def _as_musicxml(name: str) -> bytes:
    return read_piece(name).musicxml


def _performance(take: Take) -> partitura.performance.PerformedPart:
    return partitura.performance.PerformedPart(
        [
            {
                "id": f"p{k}", "midi_pitch": note.pitch, "note_on": note.onset_seconds,
                "note_off": note.onset_seconds + note.duration_seconds, "velocity": note.velocity,
                "track": 0, "channel": 0,
            }
            for k, note in enumerate(heard(take))
        ]
    )  # fmt: skip


def _named(take: Take, found: Iterable[dict[str, str]], index_of: dict[str, int]) -> Pairs:
    return {
        _key(take, index_of[str(item["score_id"])], int(str(item["performance_id"])[1:]))
        for item in found
        if item["label"] == "match" and str(item["score_id"]) in index_of
    }


def _key(take: Take, written: int, played: int) -> tuple[float, int, int]:
    note = take.written.notes[written]
    return float(note.onset_quarters), note.pitch, played


def f_measure(found: Pairs, true: Pairs) -> float:
    """Share of right notes that both have."""
    return 2 * len(found & true) / max(1, len(found) + len(true))


METHODS: dict[str, Callable[[Take], Pairs]] = {
    "ours": our_pairs,
    "DualDTWNoteMatcher": time_warping_pairs,
    "SwitchingOuterHMMMatcher": switching_pairs,
}


def compare(chosen: list[Take], label: str) -> None:
    """Run every method on the same takes; print F over all their notes, seconds, and ratios."""
    notes = sum(len(one.strokes) for take in chosen for one in take.passes)
    print(f"\n{label}: {len(chosen)} takes, {notes} played notes")
    own_f = own_seconds = 0.0
    for name, method in METHODS.items():
        both = every = 0
        seconds, failed = 0.0, 0
        for take in chosen:
            _as_musicxml(take.written.name)  # read before the clock runs
            true = true_pairs(take)
            began = time.perf_counter()
            try:
                with warnings.catch_warnings():
                    warnings.simplefilter("ignore")
                    found = method(take)
            except Exception:  # noqa: BLE001 - the comparison goes on; the failure is printed
                failed += 1
                found = set()
            seconds += time.perf_counter() - began
            both += 2 * len(found & true)
            every += len(found) + len(true)
        value = both / max(1, every)
        line = f"  {name:<26} F {value:.4f}   {seconds:8.2f} s"
        if failed:
            line += f"   gave up on {failed}"
        if name == "ours":
            own_f, own_seconds = value, seconds
        else:
            line += f"   (ours: F ratio {own_f / max(value, 1e-9):.3f}"
            line += f", {seconds / own_seconds:.1f} x as fast)"
        print(line, flush=True)


def main(takes_per_level: int = 4, seed: int = 11) -> None:
    """Print the comparison per level."""
    found = list(takes(seed).values())
    found.sort(key=lambda take: len(take.written.notes))
    for level in LEVELS:
        of_level = [take for take in found if take.level == level]
        compare(of_level[:takes_per_level], level)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--takes", type=int, default=4)
    parser.add_argument("--seed", type=int, default=11)
    asked = parser.parse_args()
    main(asked.takes, asked.seed)
