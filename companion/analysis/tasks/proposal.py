"""Finding tasks: stretches of measures inside a section that ask for one and the same thing.

What makes a measure part of a task (our own thresholds, common practice):

- *run*: running notes of one hand fill at least half of it; repeated keys and chords do not run;
- *leaps*: the hand moves by an octave or more at least twice;
- *octaves*: at least half of what the hand strikes are octaves, three or more;
- *chords*: at least half are chords of three keys or more, two or more;
- *two rhythms*: in at least half of the beats the hands divide the beat so that neither division
  fits the other.

Neighbouring measures join, one measure between them included. What fills nearly the whole section
is the section itself and no task; of more than three the largest are proposed.
"""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from companion.analysis.grouping.cuts import in_words
from companion.analysis.grouping.model import Run
from companion.analysis.grouping.proposal import runs_of
from companion.analysis.tasks.model import Task, TaskKind
from companion.analysis.workload.features import beats_against
from companion.analysis.workload.moments import OCTAVE, Moments, moments_of
from companion.progress import Progress, Report, no_report
from companion.score.model import Hand, Position, Score
from companion.score.sections.proposal import measures_as_name
from companion.score.sections.section_map import Section, SectionMap

WHOLE_SECTION = 0.9
LONGEST_GAP = 1
MOST_TASKS = 3
FEWEST = {
    TaskKind.RUN: 16,
    TaskKind.LEAPS: 4,
    TaskKind.OCTAVES: 4,
    TaskKind.CHORDS: 4,
    TaskKind.TWO_RHYTHMS: 3,
}
"""Fewer running notes, leaps, chords or beats are no task."""

_SHORTEST_RUN_STEPS = 8
_MOST_KEYS_OF_A_RUN = 2  # thirds, sixths and octaves run, chords do not
_CHORD_KEYS = 3
_DOING = "Looking for tasks"


@dataclass(frozen=True, slots=True)
class _Mark:
    """That a measure asks for something: how many notes, leaps, chords or beats do."""

    kind: TaskKind
    hand: Hand | None
    measure: int
    count: int


def propose_tasks(
    score: Score, section_map: SectionMap, report: Report = no_report
) -> tuple[Task, ...]:
    """Propose tasks in every section of the finest division, in order of place."""
    report(Progress(done=0, total=2, doing=_DOING))
    marks = _marks(score)
    report(Progress(done=1, total=2, doing=_DOING))
    found: list[Task] = []
    for section in section_map.leaves:
        found.extend(_tasks_of_section(score, section, marks))
    report(Progress(done=2, total=2, doing=_DOING))
    return tuple(sorted(found, key=lambda task: (task.start, task.end, task.task_id)))


def _marks(score: Score) -> dict[tuple[TaskKind, Hand | None], dict[int, int]]:
    """By kind and hand the measures that ask for it, with their counts."""
    moments = {hand: moments_of(score, hand, {}) for hand in Hand}
    marks = list(_run_marks(score, runs_of(score)))
    for hand in Hand:
        marks.extend(_hand_marks(hand, moments[hand]))
    marks.extend(_rhythm_marks(score, moments))
    found: dict[tuple[TaskKind, Hand | None], dict[int, int]] = defaultdict(dict)
    for mark in marks:
        found[mark.kind, mark.hand][mark.measure] = mark.count
    return _both_hands(found)


def _run_marks(score: Score, runs: Iterable[Run]) -> Iterable[_Mark]:
    notes = {note.note_id: note for note in score.notes}
    for run in runs:
        if len(run.steps) < _SHORTEST_RUN_STEPS:
            continue
        steps: dict[int, int] = defaultdict(int)
        before: set[int] = set()
        for step in run.steps:
            keys = {notes[note_id].pitch for note_id in step}
            if len(keys) <= _MOST_KEYS_OF_A_RUN and keys != before:
                steps[notes[step[0]].measure_index] += 1
            before = keys
        for measure, count in steps.items():
            filled = count * run.value_quarters
            if 2 * filled >= score.measures[measure].duration_quarters:
                yield _Mark(TaskKind.RUN, run.hand, measure, count)


def _hand_marks(hand: Hand, moments: Moments) -> Iterable[_Mark]:
    by_measure: dict[int, list[int]] = defaultdict(list)
    for place, measure in enumerate(moments.measures):
        by_measure[measure].append(place)
    weights = [b - a for a, b in pairwise(moments.leaps.tolist())]
    for measure, places in by_measure.items():
        struck = [moments.pitches[place] for place in places]
        leaps = sum(weights[place] >= 2 for place in places)
        octaves = sum(keys[-1] - keys[0] == OCTAVE for keys in struck)
        chords = sum(len(keys) >= _CHORD_KEYS for keys in struck)
        if leaps >= 2:
            yield _Mark(TaskKind.LEAPS, hand, measure, leaps)
        if octaves >= 3 and 2 * octaves >= len(struck):
            yield _Mark(TaskKind.OCTAVES, hand, measure, octaves)
        elif chords >= 2 and 2 * chords >= len(struck):
            yield _Mark(TaskKind.CHORDS, hand, measure, chords)


def _rhythm_marks(score: Score, moments: Mapping[Hand, Moments]) -> Iterable[_Mark]:
    against: dict[int, int] = defaultdict(int)
    for measure, _ in beats_against(score, moments):
        against[measure] += 1
    for index, count in against.items():
        written = score.measures[index]
        if 2 * count * written.beat_quarters >= written.duration_quarters:
            yield _Mark(TaskKind.TWO_RHYTHMS, None, index, count)


def _both_hands(
    marks: Mapping[tuple[TaskKind, Hand | None], Mapping[int, int]],
) -> dict[tuple[TaskKind, Hand | None], dict[int, int]]:
    """Where both hands run or leap in the same measures it is one task for both."""
    found = {key: dict(measures) for key, measures in marks.items()}
    for kind in (TaskKind.RUN, TaskKind.LEAPS, TaskKind.OCTAVES, TaskKind.CHORDS):
        right, left = found.get((kind, Hand.RIGHT), {}), found.get((kind, Hand.LEFT), {})
        shared = sorted(right.keys() & left.keys())
        if shared:
            found[kind, None] = {index: right.pop(index) + left.pop(index) for index in shared}
    return found


def _tasks_of_section(
    score: Score,
    section: Section,
    marks: Mapping[tuple[TaskKind, Hand | None], Mapping[int, int]],
) -> list[Task]:
    first = section.start.measure_index
    last = section.end.measure_index - (0 if section.end.offset_quarters else 1)
    size = last - first + 1
    found: list[tuple[int, Task]] = []
    for (kind, hand), counts in marks.items():
        inside = sorted(index for index in counts if first <= index <= last)
        for low, high in _stretches(inside):
            if high - low + 1 >= WHOLE_SECTION * size:
                continue
            start = max(section.start, Position(low))
            end = min(section.end, Position(high + 1))
            count = sum(counts.get(index, 0) for index in range(low, high + 1))
            if count < FEWEST[kind]:
                continue
            found.append((count, _task(score, kind, hand, start, end, count)))
    # the most work first when there are too many; a hand's task inside one for both is left out
    found.sort(key=lambda item: -item[0])
    kept: list[Task] = []
    for _, task in found:
        covered = any(
            other.kind is task.kind
            and other.hand is None
            and other.start <= task.start
            and task.end <= other.end
            for other in kept
        )
        if not covered and len(kept) < MOST_TASKS:
            kept.append(task)
    return kept


def _stretches(indices: Sequence[int]) -> list[tuple[int, int]]:
    """Neighbouring measures as (first, last), short gaps included."""
    found: list[tuple[int, int]] = []
    for index in indices:
        if found and index - found[-1][1] <= LONGEST_GAP + 1:
            found[-1] = (found[-1][0], index)
        else:
            found.append((index, index))
    return found


_NAMES = {
    TaskKind.RUN: "Run",
    TaskKind.LEAPS: "Leaps",
    TaskKind.OCTAVES: "Octaves",
    TaskKind.CHORDS: "Chords",
    TaskKind.TWO_RHYTHMS: "Two rhythms",
}


def _task(
    score: Score,
    kind: TaskKind,
    hand: Hand | None,
    start: Position,
    end: Position,
    count: int,
) -> Task:
    whose = f", {hand.value} hand" if hand else ""
    text = f"{score.content_hash}/{kind}/{hand}/{start}/{end}"
    return Task(
        task_id=hashlib.sha256(text.encode()).hexdigest()[:16],
        name=f"{_NAMES[kind]}{whose}, {measures_as_name(score, start, end)}",
        kind=kind,
        start=start,
        end=end,
        hand=hand,
        reason=_reason(kind, hand, count),
    )


def _reason(kind: TaskKind, hand: Hand | None, count: int) -> str:
    whose = f"in the {hand.value} hand" if hand else "in both hands"
    number = in_words(count)
    if kind is TaskKind.RUN:
        return f"{number} running notes {whose}"
    if kind is TaskKind.LEAPS:
        return f"{number} leaps of an octave or more {whose}"
    if kind is TaskKind.OCTAVES:
        return f"{number} octaves {whose}"
    if kind is TaskKind.CHORDS:
        return f"{number} chords of three keys or more {whose}"
    beats = "beat" if count == 1 else "beats"
    return f"{number} {beats} with two rhythms against each other"
