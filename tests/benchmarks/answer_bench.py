"""Answer a folder of matching cases: BENCH/index.json, BENCH/cases/<id>.json -> ANSWERS/<id>.json.

usage: answer_bench.py BENCH ANSWERS [ids that begin with ...]

A case holds columns: ``score`` (id, onset_q, dur_q, pitch, staff, voice, measure, measure_offset_q,
grace, ornament) and ``perf`` (onset, dur, pitch, vel). The answer holds per played note the score
index or -1, 0 or 1 for a wrong key, the place in quarters and the tempo right after the note, the
milliseconds that took, and the missed notes with the index of the next note that was played.
"""

from __future__ import annotations

import json
import sys
import time
from pathlib import Path

from companion.listening.follower import Follower
from companion.listening.matching.match import match_take
from companion.listening.notes import HeardNote, ScoreNote, Verdict


def notes_of(case: dict) -> tuple[list[ScoreNote], list[HeardNote]]:
    score, take = case["score"], case["perf"]
    written = [
        ScoreNote(
            str(score["id"][i]),
            score["onset_q"][i],
            score["dur_q"][i],
            int(score["pitch"][i]),
            int(score["staff"][i]),
            int(score["voice"][i]),
            int(score["measure"][i]),
            score["measure_offset_q"][i],
            bool(score["grace"][i]),
            "ornament" if score["ornament"][i] else "",
        )
        for i in range(len(score["pitch"]))
    ]
    columns = (take["onset"], take["dur"], take["pitch"], take["vel"])
    return written, [HeardNote(*values) for values in zip(*columns, strict=True)]


def answer(case: dict) -> dict:
    written, heard = notes_of(case)
    began = time.perf_counter()
    match = match_take(written, heard)
    total_seconds = time.perf_counter() - began
    stood_for = (Verdict.RIGHT, Verdict.WRONG)
    places, tempi, milliseconds = [], [], []
    follower = Follower(written)
    for note in heard:
        began = time.perf_counter()
        place = follower.hear(note)
        milliseconds.append(round(1000 * (time.perf_counter() - began), 3))
        places.append(None if place is None else float(place.onset_quarters))
        tempi.append(None if place is None else place.quarters_per_minute)
    return {
        "match": [n.score_index if n.verdict in stood_for else -1 for n in match.notes],
        "wrong": [int(n.verdict is Verdict.WRONG) for n in match.notes],
        "missed": [[n.score_index, n.before_played] for n in match.missed],
        "pos_q": places,
        "tempo": tempi,
        "ms": milliseconds,
        "total_s": total_seconds,
    }


def main() -> None:
    bench, answers = Path(sys.argv[1]), Path(sys.argv[2])
    wanted = sys.argv[3] if len(sys.argv) > 3 else ""
    answers.mkdir(parents=True, exist_ok=True)
    for entry in json.loads((bench / "index.json").read_text()):
        if entry["id"].startswith(wanted):
            case = json.loads((bench / "cases" / f"{entry['id']}.json").read_text())
            (answers / f"{entry['id']}.json").write_text(json.dumps(answer(case)))
            print(entry["id"], flush=True)


if __name__ == "__main__":
    main()
