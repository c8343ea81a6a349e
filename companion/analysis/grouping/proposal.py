"""The grouping that is proposed for a score, before the pianist has said anything.

A beat that groups lead to is the counted beat of the meter; where fewer than three notes of a run
fill it, twice as much or the whole measure, where more than six do, a half or a third of it, so
that a group holds about three to six notes (common practice; about what is grasped at once).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from fractions import Fraction

from companion.analysis.grouping.cuts import (
    FIVE_FINGER_SPAN,
    Cuts,
    cut_by_beat,
    cut_by_fingers,
    cut_by_pattern,
    cut_by_position,
    cut_leading,
)
from companion.analysis.grouping.model import Grouping, Run, RunGroups, Way
from companion.analysis.grouping.runs import Step, find_runs_to_group
from companion.progress import Progress, Report, no_report
from companion.score.model import Hand, Measure, Position, Score, ScoreNote

FEWEST_IN_A_BEAT, MOST_IN_A_BEAT = 3, 6
_LETTERS = "CDEFGAB"
_DOING = "Grouping the running notes"


def propose_grouping(
    score: Score,
    way: Way = Way.LEADING,
    *,
    span_semitones: int = FIVE_FINGER_SPAN,
    fingers: Mapping[str, int] | None = None,
    report: Report = no_report,
) -> Grouping:
    """Find the runs of a score and divide each of them.

    Parameters
    ----------
    span_semitones
        What the hand holds without moving, for :attr:`Way.POSITION`.
    fingers
        Fingers by note id; a run that has them is divided by hand position at thumb passes and
        jumps instead of by span.
    """
    runs = runs_of(score)
    notes = {note.note_id: note for note in score.notes} if runs else {}
    found = []
    for number, run in enumerate(runs):
        if number % 50 == 0:
            report(Progress(done=number, total=len(runs), doing=_DOING))
        cuts = cut_run(notes, run, way, span_semitones=span_semitones, fingers=fingers)
        found.append(RunGroups(run, way, cuts.begins, cuts.reasons))
    report(Progress(done=len(runs), total=len(runs), doing=_DOING))
    return Grouping(tuple(found))


def runs_of(score: Score) -> tuple[Run, ...]:
    """The runs of a score as values, sorted by their first note."""
    beginning: dict[tuple[Hand, Fraction], list[ScoreNote]] = defaultdict(list)
    for note in score.notes:
        if not note.grace and note.expected:
            beginning[note.playing_hand, Fraction(note.onset_quarters)].append(note)
    return tuple(_run(score, steps, beginning) for steps in find_runs_to_group(score.notes))


def cut_run(
    notes: Mapping[str, ScoreNote],
    run: Run,
    way: Way,
    *,
    span_semitones: int = FIVE_FINGER_SPAN,
    fingers: Mapping[str, int] | None = None,
) -> Cuts:
    """Divide one run.

    Parameters
    ----------
    notes
        The notes of the score by id.
    """
    if way is Way.LEADING:
        return cut_leading(run.on_beat, bool(run.lands_on))
    if way is Way.BEAT:
        return cut_by_beat(run.on_beat)
    pitches = [[notes[note_id].pitch for note_id in step] for step in run.steps]
    if way is Way.PATTERN:
        heights = [_height(notes[step[-1]]) for step in run.steps]
        return cut_by_pattern(pitches, heights, run.on_beat)
    if fingers and all(note_id in fingers for note_id in run.note_ids):
        played = [[fingers[note_id] for note_id in step] for step in run.steps]
        return cut_by_fingers(pitches, played, left=run.hand is Hand.LEFT)
    return cut_by_position(pitches, span_semitones)


def group_beat_quarters(measure: Measure, value_quarters: Fraction) -> Fraction:
    """Distance of the beats that groups of a note value lead to, in quarters."""
    beat = measure.beat_quarters
    whole = Fraction(4 * measure.beats, measure.beat_type)
    if beat < FEWEST_IN_A_BEAT * value_quarters:
        return 2 * beat if (whole / (2 * beat)).denominator == 1 else whole
    dotted = beat * measure.beat_type == 12
    for parts in (3, 6, 2) if dotted else (2, 4, 3):
        smaller = beat / parts
        whole_notes = (smaller / value_quarters).denominator == 1
        if whole_notes and smaller <= MOST_IN_A_BEAT * value_quarters < beat:
            return smaller
    return beat


def beat_offset(score: Score, measure_index: int, offset_quarters: Fraction | float) -> Fraction:
    """Distance from the bar line; before an upbeat from the bar line that is missing."""
    measure = score.measures[measure_index]
    missing = Fraction(4 * measure.beats, measure.beat_type) - measure.duration_quarters
    if missing > 0 and (measure_index == 0 or _completes(score, measure_index, missing)):
        return Fraction(offset_quarters) + missing
    return Fraction(offset_quarters)


def _completes(score: Score, index: int, missing: Fraction) -> bool:
    """Whether a short measure is the second part of one that was cut in two."""
    return score.measures[index - 1].duration_quarters == missing


def _run(
    score: Score,
    steps: Sequence[Step],
    beginning: Mapping[tuple[Hand, Fraction], Sequence[ScoreNote]],
) -> Run:
    notes = score.notes
    first, last = notes[steps[0][0]], notes[steps[-1][0]]
    value = Fraction(first.duration_quarters)
    end = Fraction(last.onset_quarters) + value
    landing = beginning.get((first.playing_hand, end), ())
    same_voice = [note for note in landing if note.voice == first.voice]
    return Run(
        run_id=first.note_id,
        hand=first.playing_hand,
        voice=first.voice,
        value_quarters=value,
        start=_position(first),
        end=score.position_at(end),
        steps=tuple(tuple(notes[index].note_id for index in step) for step in steps),
        on_beat=tuple(_on_beat(score, notes[step[0]], value) for step in steps),
        lands_on=tuple(note.note_id for note in same_voice or landing),
    )


def _on_beat(score: Score, note: ScoreNote, value: Fraction) -> bool:
    offset = beat_offset(score, note.measure_index, note.measure_offset_quarters)
    beat = group_beat_quarters(score.measures[note.measure_index], value)
    return (offset / beat).denominator == 1


def _position(note: ScoreNote) -> Position:
    return Position(note.measure_index, Fraction(note.measure_offset_quarters))


def _height(note: ScoreNote) -> int:
    """Height on the staff in lines and spaces, by the spelling; by the key where there is none."""
    letter, octave = note.spelling[:1].upper(), note.spelling[-1:]
    if letter and letter in _LETTERS and octave.isdecimal():
        return 7 * int(octave) + _LETTERS.index(letter)
    octaves, degree = divmod(note.pitch, 12)
    return 7 * octaves + (0, 0, 1, 1, 2, 3, 3, 4, 4, 5, 5, 6)[degree]
