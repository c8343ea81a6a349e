"""Drills made from groups: small written passages that the listener can judge.

A drill takes its notes from the score and writes them anew from time 0, with a rhythm of its own;
note ids and places in the score are kept, so that marks and figures find their way back.

- *one group*: the group, then a stop on its goal;
- *two groups* and *chain*: as many groups in a row, then the stop;
- *rhythms* (common practice; opinions differ and no controlled study was found): long-short and
  short-long in the ratio 3 to 1, one note long and the others short, stops on every second, fourth
  or eighth note. Long and short keep the length of the group as a whole;
- *added notes*: the first two notes, then one more each time; or backwards from the goal.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise

from companion.analysis.grouping.cuts import in_words
from companion.analysis.grouping.model import Group, Grouping, RunGroups
from companion.errors import EditRefused
from companion.score.model import Hand, Score, ScoreNote

LONG, SHORT = 3, 1
STOP_STEPS = 4
"""A stop lasts as long as four notes of the run."""

LONGEST_CHAIN = 4
STOPS = (2, 4, 8)


class DrillKind(StrEnum):
    """What is done with the groups."""

    ONE = "one group"
    TWO = "two groups"
    CHAIN = "chain of groups"
    RHYTHM = "rhythm"
    ADDED = "added notes"


@dataclass(frozen=True, slots=True)
class Rhythm:
    """A rhythm for the notes of a group: its name and the length of each note.

    Parameters
    ----------
    name
        In words, "long-short".
    lengths
        Relative lengths, taken again and again; their sum is brought to that of even notes.
    stop_every
        Stop on every so-manieth note of the drill instead; 0 for no stops.
    """

    name: str
    lengths: tuple[int, ...] = (1,)
    stop_every: int = 0

    def steps(self, count: int) -> tuple[Fraction, ...]:
        """Length of each of ``count`` notes of a group, in notes of the run; they sum to it."""
        row = [self.lengths[k % len(self.lengths)] for k in range(count)]
        return tuple(Fraction(length * count, sum(row)) for length in row)


EVEN = Rhythm("as written")
LONG_SHORT = Rhythm("long-short", (LONG, SHORT))
SHORT_LONG = Rhythm("short-long", (SHORT, LONG))


def one_long(place: int, count: int) -> Rhythm:
    """One note of a group long, the others short; ``place`` from 0."""
    lengths = tuple(LONG if k == place else SHORT for k in range(count))
    return Rhythm(f"{_ORDINALS[place]} note long", lengths)


def stop_on_every(count: int) -> Rhythm:
    """Stop on every second, fourth or eighth note."""
    return Rhythm(f"stop on every {_ORDINALS[count - 1]} note", stop_every=count)


_ORDINALS = (
    *("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth"),
    *("tenth", "eleventh", "twelfth"),
)
_MOST_LONG_PLACES = 6


@dataclass(frozen=True, slots=True)
class DrillStep:
    """What is struck together in a drill.

    Parameters
    ----------
    group
        Number of the group in the drill, from 0; a goal that stands behind the last group has a
        number of its own.
    held
        Whether the player stops here: the time after it says nothing of evenness.
    """

    note_ids: tuple[str, ...]
    onset_quarters: Fraction
    duration_quarters: Fraction
    group: int
    held: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Drill:
    """A small written passage to practise.

    Parameters
    ----------
    drill_id
        The same for the same notes and rhythm, on every day: history is kept by it.
    run_id, hand
        Where the notes come from.
    title
        What to do, in one line.
    notes
        The notes as the matcher takes them: from time 0, places in the score kept.
    """

    drill_id: str
    run_id: str
    hand: Hand
    kind: DrillKind
    rhythm: Rhythm
    title: str
    steps: tuple[DrillStep, ...]
    notes: tuple[ScoreNote, ...] = field(repr=False)

    @property
    def note_ids(self) -> tuple[str, ...]:
        """Ids of all notes in order."""
        return tuple(note_id for step in self.steps for note_id in step.note_ids)


def drills_of_group(score: Score, grouping: Grouping, group: Group) -> tuple[Drill, ...]:
    """All drills that begin with a group: by itself, in chains, in rhythms, note by note."""
    run = grouping.run(group.run_id)
    notes = _notes_of(score, run)
    place = [one.first_step for one in run.groups].index(group.first_step)
    left = len(run.groups) - place
    drills = [_in_a_row(notes, run, place, 1, DrillKind.ONE)]
    if left >= 2:
        drills.append(_in_a_row(notes, run, place, 2, DrillKind.TWO))
    if left >= 3:
        count = min(left, LONGEST_CHAIN)
        drills.append(_in_a_row(notes, run, place, count, DrillKind.CHAIN))
    drills += [
        _in_a_row(notes, run, place, 1 if left < 2 else 2, DrillKind.RHYTHM, rhythm)
        for rhythm in rhythms_for(group)
    ]
    drills += added_notes(score, grouping, group)
    return tuple(drills)


def chain_of_groups(
    score: Score, grouping: Grouping, group: Group, count: int, rhythm: Rhythm = EVEN
) -> Drill:
    """A drill of ``count`` groups in a row that begins with a group.

    Raises
    ------
    EditRefused
        When the run has not so many groups left.
    """
    run = grouping.run(group.run_id)
    place = [one.first_step for one in run.groups].index(group.first_step)
    if not 0 < count <= len(run.groups) - place:
        raise EditRefused("There are not so many groups left in this run.")
    kind = {1: DrillKind.ONE, 2: DrillKind.TWO}.get(count, DrillKind.CHAIN)
    kind = kind if rhythm == EVEN else DrillKind.RHYTHM
    return _in_a_row(_notes_of(score, run), run, place, count, kind, rhythm)


def rhythms_for(group: Group) -> tuple[Rhythm, ...]:
    """The rhythms that make sense for a group of this size."""
    size = group.end_step - group.first_step
    if size < 2:
        return ()
    rhythms = [LONG_SHORT, SHORT_LONG]
    if 2 < size <= _MOST_LONG_PLACES:
        rhythms += [one_long(place, size) for place in range(size)]
    rhythms += [stop_on_every(every) for every in STOPS if every <= 2 * size]
    return tuple(rhythms)


def added_notes(
    score: Score, grouping: Grouping, group: Group, *, from_goal: bool = False
) -> tuple[Drill, ...]:
    """The first two notes of a group, then one more each time, up to its goal.

    Parameters
    ----------
    from_goal
        Begin with the goal and the note before it, and add notes in front.
    """
    run = grouping.run(group.run_id)
    notes = _notes_of(score, run)
    row = [(step, 0) for step in run.run.steps[group.first_step : group.end_step]]
    if group.goal_ids and not group.goal_inside:
        row.append((group.goal_ids, 1))
    parts = [row[-size:] if from_goal else row[:size] for size in range(2, len(row) + 1)]
    way = "towards the goal" if from_goal else "one more each time"
    return tuple(
        _drill(
            notes,
            run,
            _laid_out(part, run.run.value_quarters, EVEN),
            DrillKind.ADDED,
            Rhythm("from the goal") if from_goal else EVEN,
            f"{in_words(len(part)).capitalize()} notes, stop on the last; {way}",
        )
        for part in parts
    )


def _in_a_row(
    notes: Mapping[str, ScoreNote],
    run: RunGroups,
    place: int,
    count: int,
    kind: DrillKind,
    rhythm: Rhythm = EVEN,
) -> Drill:
    groups = run.groups[place : place + count]
    row = [
        (step, number)
        for number, group in enumerate(groups)
        for step in run.run.steps[group.first_step : group.end_step]
    ]
    last = groups[-1]
    if last.goal_ids and not last.goal_inside:
        row.append((last.goal_ids, count))
    steps = _laid_out(row, run.run.value_quarters, rhythm)
    return _drill(notes, run, steps, kind, rhythm, _title(notes, steps, kind, count, rhythm))


def _laid_out(
    row: Sequence[tuple[tuple[str, ...], int]], value: Fraction, rhythm: Rhythm
) -> tuple[DrillStep, ...]:
    """Write steps from time 0; the last one is held."""
    sizes: dict[int, int] = {}
    for _, group in row:
        sizes[group] = sizes.get(group, 0) + 1
    lengths = {group: rhythm.steps(size) for group, size in sizes.items()}
    placed: dict[int, int] = {}
    found, at = [], Fraction(0)
    for number, (note_ids, group) in enumerate(row):
        place = placed.get(group, 0)
        placed[group] = place + 1
        stops = bool(rhythm.stop_every) and (number + 1) % rhythm.stop_every == 0
        held = stops or number == len(row) - 1
        length = value * (STOP_STEPS if held else lengths[group][place])
        found.append(DrillStep(note_ids, at, length, group, held))
        at += length
    return tuple(found)


def _drill(
    notes: Mapping[str, ScoreNote],
    run: RunGroups,
    steps: tuple[DrillStep, ...],
    kind: DrillKind,
    rhythm: Rhythm,
    title: str,
) -> Drill:
    first, last = steps[0].note_ids[0], steps[-1].note_ids[0]
    borders = "-".join(
        str(number)
        for number, (step, after) in enumerate(pairwise(steps), 1)
        if step.group != after.group
    )
    return Drill(
        drill_id=f"{kind.name.lower()}:{first}:{last}:{borders}:{rhythm.name}",
        run_id=run.run.run_id,
        hand=run.run.hand,
        kind=kind,
        rhythm=rhythm,
        title=title,
        steps=steps,
        notes=tuple(
            replace(
                notes[note_id],
                onset_quarters=step.onset_quarters,
                duration_quarters=step.duration_quarters,
                grace=False,
                ornament="",
            )
            for step in steps
            for note_id in step.note_ids
        ),
    )


def _title(
    notes: Mapping[str, ScoreNote],
    steps: Sequence[DrillStep],
    kind: DrillKind,
    count: int,
    rhythm: Rhythm,
) -> str:
    goal = notes[steps[-1].note_ids[-1]].spelling
    stop = f"stop on {goal}" if goal else "stop on the last note"
    if kind is DrillKind.RHYTHM:
        return f"{rhythm.name.capitalize()}: {in_words(count)} group{'s' if count > 1 else ''}"
    many = "One group" if count == 1 else f"{in_words(count).capitalize()} groups in a row"
    return f"{many}, {stop}"


def _notes_of(score: Score, run: RunGroups) -> dict[str, ScoreNote]:
    wanted = {*run.run.note_ids, *run.run.lands_on}
    return {note.note_id: note for note in score.notes if note.note_id in wanted}
