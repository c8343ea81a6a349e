"""How well proposed sections agree with those of analysts, beside simpler ways to divide a piece.

    python -m tests.benchmarks.form [CASES]

Prints precision, recall and F in percent: borders within one measure, the beginning of the piece
not counted. Without an argument: three movements in sonata form from music21's corpus, whose
divisions stand in every guide to them (measure numbers from memory, common practice; where the
second theme begins is left out, for there the guides differ). CASES is a folder of analysed pieces:
``cases/*.json`` with ``musicxml``, ``measures`` (their ``start`` in quarters) and ``sections``
(quarters, or documents with ``start``), scores beside it. Nothing is asserted.
"""

from __future__ import annotations

import json
import sys
import time
from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from statistics import mean

import music21

from companion.analysis.form import Level, propose_form, propose_section_map
from companion.analysis.form.measure_likeness import likeness_of, struck_tables
from companion.analysis.form.returns import find_returns
from companion.score.model import CueKind, Position, PrintedCue, Score
from companion.score.reading.reader import read_score
from companion.score.sections.proposal import propose_sections
from tests.benchmarks.harmony import score_of

NAIVE_MEASURES = 8
MOVEMENTS = {
    "beethoven/opus18no1/movement1": (114, 178, 273),
    "beethoven/opus18no4": (78, 136, 202),
    "mozart/k458/movement1": (91, 138, 231),
}
"""First measure, counted from 0, of development, recapitulation and coda."""
FIRST_MOVEMENT_MEASURES = {"beethoven/opus18no4": 221}


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    name: str
    score: Score
    borders: tuple[int, ...]


def agreement(
    theirs: Sequence[int], ours: Sequence[int], within: int = 1
) -> tuple[float, float, float]:
    """Precision, recall and F of borders, one to one in order."""
    theirs = sorted({border for border in theirs if border > within})
    ours = sorted({border for border in ours if border > within})
    i = j = hits = 0
    while i < len(theirs) and j < len(ours):
        if abs(theirs[i] - ours[j]) <= within:
            i, j, hits = i + 1, j + 1, hits + 1
        elif theirs[i] < ours[j]:
            i += 1
        else:
            j += 1
    precision, recall = hits / len(ours) if ours else 0.0, hits / len(theirs)
    return precision, recall, 2 * hits / (len(theirs) + len(ours))


def by_form(score: Score) -> list[int]:
    return [s.start.measure_index for s in propose_section_map(score).top_level]


def by_signs(score: Score) -> list[int]:
    return [section.start.measure_index for section in propose_sections(score).top_level]


def by_returns(score: Score) -> list[int]:
    returns = find_returns(likeness_of(struck_tables(score)))
    return [each.start for each in returns if each.length >= NAIVE_MEASURES]


def every_eight(score: Score) -> list[int]:
    return list(range(0, len(score.measures), NAIVE_MEASURES))


def in_four(score: Score) -> list[int]:
    return [len(score.measures) * part // 4 for part in range(4)]


WAYS: dict[str, Callable[[Score], list[int]]] = {
    "form": by_form,
    "printed signs alone": by_signs,
    "long returns alone": by_returns,
    "every eight measures": every_eight,
    "four equal parts": in_four,
}


def movements() -> list[Piece]:
    pieces = []
    for name, borders in MOVEMENTS.items():
        stream = music21.corpus.parse(name)
        score = replace(score_of(stream), cues=_repeat_signs(stream))
        count = FIRST_MOVEMENT_MEASURES.get(name, len(score.measures))
        score = replace(
            score,
            measures=score.measures[:count],
            notes=tuple(note for note in score.notes if note.measure_index < count),
            cues=tuple(cue for cue in score.cues if cue.position.measure_index < count),
        )
        pieces.append(Piece(name=name, score=score, borders=borders))
    return pieces


def _repeat_signs(stream: music21.stream.Score) -> tuple[PrintedCue, ...]:
    cues = []
    for index, measure in enumerate(stream.parts[0].getElementsByClass("Measure")):
        if isinstance(measure.leftBarline, music21.bar.Repeat):
            cues.append(PrintedCue(kind=CueKind.REPEAT_START, position=Position(index)))
        if isinstance(measure.rightBarline, music21.bar.Repeat):
            cues.append(PrintedCue(kind=CueKind.REPEAT_END, position=Position(index + 1)))
    return tuple(cues)


def cases(folder: Path) -> list[Piece]:
    pieces = []
    for path in sorted((folder / "cases").glob("*.json")):
        case = json.loads(path.read_text(encoding="utf-8"))
        if not case.get("sections"):
            continue
        starts = [measure["start"] for measure in case["measures"]]
        quarters = [
            section["start"] if isinstance(section, dict) else section
            for section in case["sections"]
        ]
        pieces.append(
            Piece(
                name=case["id"],
                score=read_score(folder / case["musicxml"]),
                borders=tuple(bisect_right(starts, place + 1e-6) - 1 for place in quarters),
            )
        )
    return pieces


def main() -> None:
    """Print the figures."""
    pieces = cases(Path(sys.argv[1])) if len(sys.argv) > 1 else movements()
    for piece in pieces:
        begun = time.process_time()
        form = propose_form(piece.score)
        took = time.process_time() - begun
        level = form.of_level(Level.PART) or form.of_level(Level.SECTION)
        found = [f"{s.letter or s.name} {s.start.measure_index}" for s in level]
        print(f"  {piece.name}: {', '.join(found)}; analysts {piece.borders}; {took:.2f} s")
    print(f"{len(pieces)} pieces, borders within one measure, mean of pieces")
    for name, way in WAYS.items():
        values = [agreement(piece.borders, way(piece.score)) for piece in pieces]
        told = "  ".join(
            f"{word} {100 * mean(value[k] for value in values):.1f}"
            for k, word in enumerate(("precision", "recall", "F"))
        )
        print(f"  {name:<22} {told}")


if __name__ == "__main__":
    main()
