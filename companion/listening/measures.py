"""Measuring a take: from the match of played and written notes to figures per section.

Conventions
-----------
- Every figure is taken over a *stretch*: the written notes from a start up to an end, in some of
  the passages of the take. Sections on all levels are stretches, and so is the whole piece.
- A time interval belongs to the stretch in which it begins; a wait belongs to the stretch of the
  note that was waited for (see :mod:`companion.listening.flow`).
- The definitions are in :mod:`companion.listening.definitions`; accuracy is the F measure of right
  notes (as ``mir_eval.util.f_measure``), the rest is common practice in performance studies.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from companion.listening.evenness import RunIntervals, evenness, run_intervals
from companion.listening.flow import Interruption, InterruptionKind, find_interruptions
from companion.listening.notes import Hands, HeardNote, Match, Passage, PedalChange
from companion.listening.pedalling import DamperTime, damper_time
from companion.listening.played import PlayedTake, State, arrange_take
from companion.listening.score_index import Flags, Floats, Ints, ScoreIndex, index_score
from companion.listening.take_measures import MeasureErrors, SectionMeasures, TakeMeasures
from companion.listening.tempo_curve import (
    Intervals,
    beat_intervals,
    onset_intervals,
    running_tempo,
    steadiness,
    tempo_points,
)
from companion.listening.togetherness import Chords, find_chords
from companion.score.model import Score
from companion.score.section_map import SectionMap

LEFT_OUT_NOTES = 2
LEFT_OUT_SHARE = 0.05
"""What a complete playing may leave uncovered: two notes, or one in twenty."""

_Inside = Callable[[Ints, Ints], Flags]
"""Which of some notes, each with its passage, belong to a stretch."""


@dataclass(frozen=True, slots=True, eq=False)
class _Measured:
    """Everything about a take that does not depend on the sections."""

    index: ScoreIndex
    take: PlayedTake
    passages: tuple[Passage, ...]
    onsets: Intervals
    waits: Flags
    beats: Intervals
    interruptions: tuple[Interruption, ...]
    runs: RunIntervals
    chords: Chords
    damper: DamperTime | None


@dataclass(frozen=True, slots=True, eq=False)
class _Stretch:
    """Written notes from ``low`` to ``high`` (not included), in the given passages."""

    section_id: str
    low: int
    high: int
    passages: tuple[Passage, ...]
    hands: Hands


def measure_take(
    score: Score,
    section_map: SectionMap,
    heard: Sequence[HeardNote],
    match: Match,
    pedals: Sequence[PedalChange] = (),
    index: ScoreIndex | None = None,
) -> TakeMeasures:
    """Measure a take in every section that it touched.

    Parameters
    ----------
    heard
        The notes that were given to the matcher.
    match
        What it made of them, with ``score.notes`` as written notes.
    pedals
        Pedal movements of the take, for the share of time with the damper down.
    index
        ``index_score(score)`` when many takes of one score are measured.
    """
    index = index if index is not None else index_score(score)
    measured = _measured(index, heard, match, pedals)
    sections: list[SectionMeasures] = []
    passages: list[SectionMeasures] = []
    for section in section_map.sections:
        low, high = index.notes_between(section.start, section.end)
        for hands, touching in _touching(measured, low, high).items():
            stretch = _Stretch(section.section_id, low, high, touching, hands)
            row = _measure(measured, stretch)
            sections.append(row)
            if len(touching) == 1:
                passages.append(replace(row, passage=touching[0].index))
                continue
            for passage in touching:
                alone = _Stretch(section.section_id, low, high, (passage,), hands)
                passages.append(replace(_measure(measured, alone), passage=passage.index))
    return TakeMeasures(
        whole=_whole(measured),
        sections=tuple(sections),
        passages=tuple(passages),
        measures=_measure_errors(measured),
        interruptions=measured.interruptions,
        tempo=tempo_points(index, measured.beats),
    )


def _measured(
    index: ScoreIndex,
    heard: Sequence[HeardNote],
    match: Match,
    pedals: Sequence[PedalChange],
) -> _Measured:
    take = arrange_take(index, heard, match)
    onsets = onset_intervals(index, take)
    interruptions, waits = find_interruptions(index, take, onsets, match)
    return _Measured(
        index=index,
        take=take,
        passages=match.passages,
        onsets=onsets,
        waits=waits,
        beats=beat_intervals(index, take),
        interruptions=interruptions,
        runs=run_intervals(index, take, onsets, waits),
        chords=find_chords(index, take),
        damper=damper_time(pedals),
    )


def _touching(measured: _Measured, low: int, high: int) -> dict[Hands, tuple[Passage, ...]]:
    """The passages that cover a note between ``low`` and ``high``, by the hands played."""
    found: dict[Hands, list[Passage]] = defaultdict(list)
    take = measured.take
    for number, passage in enumerate(measured.passages):
        if take.passage_low[number] < high and take.passage_high[number] > low:
            found[passage.hands].append(passage)
    return {hands: tuple(passages) for hands, passages in found.items()}


def _whole(measured: _Measured) -> SectionMeasures:
    choices = {passage.hands for passage in measured.passages}
    hands = choices.pop() if len(choices) == 1 else Hands.BOTH
    count = len(measured.index.score.notes)
    return _measure(measured, _Stretch("", 0, count, measured.passages, hands))


def _measure(measured: _Measured, stretch: _Stretch) -> SectionMeasures:
    """Measure one stretch."""
    take, index = measured.take, measured.index
    numbers = np.array([passage.index for passage in stretch.passages], np.int64)
    everything = len(numbers) == len(measured.passages)

    def inside(note: Ints, passage: Ints) -> Flags:
        chosen: Flags = (note >= stretch.low) & (note < stretch.high)
        return chosen if everything else chosen & np.isin(passage, numbers)

    state_inside = inside(take.state_note, take.state_passage)
    counts = np.bincount(take.state[state_inside], minlength=3)
    covered = _coverage(measured, stretch)
    row = SectionMeasures(
        section_id=stretch.section_id,
        hands=stretch.hands,
        passages=len(stretch.passages),
        expected=int(counts.sum()),
        right=int(counts[State.RIGHT]),
        wrong=int(counts[State.WRONG]),
        missed=int(counts[State.MISSED]),
        added=int(np.count_nonzero(inside(take.added_note, take.added_passage))),
        ornament=int(np.count_nonzero(inside(take.ornament_note, take.ornament_passage))),
        coverage=covered.share,
        complete=covered.complete,
        edge_errors=_edge_errors(measured, stretch, state_inside),
    )
    struck = inside(index.onset_first_note[take.struck_onset], take.struck_passage)
    row = _with_tempo(row, measured, inside, struck)
    row = _with_touch(row, measured, inside)
    return _with_flow(row, measured, stretch)


@dataclass(frozen=True, slots=True)
class _Coverage:
    """Share of the written notes that were passed over, and whether that is the whole stretch."""

    share: float
    complete: bool


def _coverage(measured: _Measured, stretch: _Stretch) -> _Coverage:
    """How much of a stretch was passed over.

    Endings that lead back need not be played. Where two endings begin alike nobody can say which
    of the two a note was: either will do.
    """
    index, take = measured.index, measured.take
    part = slice(stretch.low, stretch.high)
    expected = index.note_expected[part]
    if stretch.hands is not Hands.BOTH:
        expected = expected & (index.note_right_hand[part] == (stretch.hands is Hands.RIGHT))
    if (expected & ~index.note_optional[part]).any():
        expected = expected & ~index.note_optional[part]
    passed = np.zeros(len(index.note_expected), np.bool_)
    chosen = {passage.index for passage in stretch.passages}
    for number, passage in enumerate(measured.passages):
        if passage.index not in chosen:
            continue
        low, high = take.passage_low[number], take.passage_high[number]
        if passage.hands is stretch.hands:
            passed[low:high] = True
        else:  # the whole take, played with different choices of hands
            passed[low:high] |= index.note_right_hand[low:high] == (passage.hands is Hands.RIGHT)
    twin = index.note_twin[part]
    passed = passed[part] | ((twin >= 0) & passed[twin])
    wanted = np.flatnonzero(expected)
    if not len(wanted):
        return _Coverage(0.0, complete=False)
    covered = passed[wanted]
    left_out = len(wanted) - int(np.count_nonzero(covered))
    allowed = max(LEFT_OUT_NOTES, LEFT_OUT_SHARE * len(wanted))
    return _Coverage(
        share=1.0 - left_out / len(wanted),
        complete=bool(covered[0] and covered[-1]) and left_out <= allowed,
    )


def _edge_errors(measured: _Measured, stretch: _Stretch, state_inside: Flags) -> int:
    """Wrong or missed top and bottom notes at the first and the last onset of a stretch."""
    index, take = measured.index, measured.take
    notes = index.score.notes
    part = np.arange(stretch.low, stretch.high)
    wanted = index.note_expected[part] & ~index.note_grace[part]
    if stretch.hands is not Hands.BOTH:
        wanted &= index.note_right_hand[part] == (stretch.hands is Hands.RIGHT)
    part = part[wanted]
    if not len(part):
        return 0
    edges: set[int] = set()
    for onset in (index.note_onset[part[0]], index.note_onset[part[-1]]):
        together = part[index.note_onset[part] == onset].tolist()
        edges.add(max(together, key=lambda note: notes[note].pitch))
        edges.add(min(together, key=lambda note: notes[note].pitch))
    failed = take.state_note[state_inside & (take.state != State.RIGHT)]
    return int(np.count_nonzero(np.isin(failed, list(edges))))


def _with_tempo(
    row: SectionMeasures,
    measured: _Measured,
    inside: _Inside,
    struck: Flags,
) -> SectionMeasures:
    """Add running and through tempo, steadiness and evenness."""
    index, take = measured.index, measured.take
    first_note = index.onset_first_note
    onsets, beats = measured.onsets, measured.beats
    chosen = inside(first_note[beats.start_onset], beats.passage)
    intervals = beats
    if not chosen.any():  # nothing is written on two beats: take what there is
        intervals = onsets
        chosen = inside(first_note[onsets.start_onset], onsets.passage)
    quarters, seconds = intervals.quarters[chosen], intervals.seconds[chosen]
    steady = chosen & ~_holds_wait(measured, intervals)
    even_inside = inside(measured.runs.note, measured.runs.passage)
    even = evenness(measured.runs.piece[even_inside], measured.runs.seconds[even_inside])
    times = take.struck_seconds[struck]
    return replace(
        row,
        running_tempo_quarters_per_minute=running_tempo(quarters, seconds),
        through_tempo_quarters_per_minute=_through_tempo(measured, struck),
        tempo_count=len(seconds),
        steadiness=steadiness(intervals.quarters[steady], intervals.seconds[steady]),
        steadiness_count=int(np.count_nonzero(steady)),
        evenness_sd_ms=even.sd_ms if even else None,
        evenness_cv=even.cv if even else None,
        evenness_count=even.count if even else 0,
        first_onset_seconds=float(times.min()) if len(times) else None,
        last_onset_seconds=float(times.max()) if len(times) else None,
    )


def _holds_wait(measured: _Measured, intervals: Intervals) -> Flags:
    """Whether a hesitation, a stop or a fermata lies inside each interval."""
    onsets = measured.onsets
    held = measured.index.held_onsets[onsets.start_onset]
    waits = np.flatnonzero(measured.waits | held)
    holds = np.zeros(len(intervals), np.bool_)
    if not len(intervals):
        return holds
    for wait in waits:
        same = intervals.passage == onsets.passage[wait]
        holds |= (
            same
            & (intervals.start_onset <= onsets.start_onset[wait])
            & (intervals.end_onset >= onsets.end_onset[wait])
        )
    return holds


def _through_tempo(measured: _Measured, struck: Flags) -> float | None:
    """Quarters played per minute of the clock, stops and restarts included.

    The clock runs from the first onset of each passage in the stretch to its last one, and on to
    the next passage when that goes on in the stretch at once.
    """
    take, index = measured.take, measured.index
    rows = np.flatnonzero(struck)
    if len(rows) < 2:
        return None
    quarters = index.onset_quarters[take.struck_onset[rows]]
    seconds, passage = take.struck_seconds[rows], take.struck_passage[rows]
    same = np.diff(passage) == 0
    at_once = np.diff(rows) == 1
    played = float(np.sum(np.diff(quarters)[same]))
    elapsed = float(np.sum(np.diff(seconds)[same | at_once]))
    return 60.0 * played / elapsed if elapsed > 0.0 and played > 0.0 else None


def _with_touch(row: SectionMeasures, measured: _Measured, inside: _Inside) -> SectionMeasures:
    """Add togetherness, dynamics and pedal."""
    index, take, chords = measured.index, measured.take, measured.chords
    chosen = inside(index.onset_first_note[chords.onset], chords.passage)
    spread = chords.spread_ms[chosen]
    lead = chords.lead_ms[chosen]
    lead = lead[~np.isnan(lead)]
    apart = chords.left_right_ms[chosen]
    apart = apart[~np.isnan(apart)]
    loud = inside(take.loud_note, take.loud_passage)
    velocity = take.loud_velocity[loud]
    right = index.note_right_hand[take.loud_note[loud]]
    low, high = np.percentile(velocity, (5, 95)) if len(velocity) else (None, None)
    begun, ended = row.first_onset_seconds, row.last_onset_seconds
    damper = None
    if measured.damper and begun is not None and ended is not None:
        damper = measured.damper.share(begun, ended)
    return replace(
        row,
        chord_spread_ms=float(np.median(spread)) if len(spread) else None,
        chord_count=len(spread),
        melody_lead_ms=float(lead.mean()) if len(lead) else None,
        melody_count=len(lead),
        left_right_offset_ms=float(apart.mean()) if len(apart) else None,
        left_right_count=len(apart),
        velocity_p5=None if low is None else float(low),
        velocity_p95=None if high is None else float(high),
        right_velocity=_mean(velocity[right]),
        left_velocity=_mean(velocity[~right]),
        damper_share=damper,
    )


def _mean(values: Floats) -> float | None:
    return float(values.mean()) if len(values) else None


def _with_flow(row: SectionMeasures, measured: _Measured, stretch: _Stretch) -> SectionMeasures:
    """Add the counts of hesitations, stops, restarts and jumps."""
    chosen = {passage.index for passage in stretch.passages}
    whole = not stretch.section_id
    kinds = [
        found.kind
        for found in measured.interruptions
        if found.passage in chosen and (whole or stretch.low <= found.note < stretch.high)
    ]
    return replace(
        row,
        hesitations=kinds.count(InterruptionKind.HESITATION),
        stops=kinds.count(InterruptionKind.STOP),
        restarts=kinds.count(InterruptionKind.RESTART),
        jumps=kinds.count(InterruptionKind.JUMP),
    )


def _measure_errors(measured: _Measured) -> tuple[MeasureErrors, ...]:
    take, index = measured.take, measured.index
    size = len(index.score.measures)
    if not size:
        return ()
    of_state = index.note_measure[take.state_note]
    states = [np.bincount(of_state[take.state == state], minlength=size) for state in State]
    added = np.bincount(index.note_measure[take.added_note], minlength=size)
    plays = np.zeros(size, np.int64)
    for passage in measured.passages:
        plays[passage.from_measure_index : passage.to_measure_index + 1] += 1
    stops = np.zeros(size + 1, np.int64)
    for found in measured.interruptions:
        if found.kind in (InterruptionKind.HESITATION, InterruptionKind.STOP):
            stops[found.measure_index] += 1
    return tuple(
        MeasureErrors(
            measure_index=measure,
            plays=int(plays[measure]),
            expected=int(sum(state[measure] for state in states)),
            right=int(states[State.RIGHT][measure]),
            wrong=int(states[State.WRONG][measure]),
            missed=int(states[State.MISSED][measure]),
            added=int(added[measure]),
            stops=int(stops[measure]),
        )
        for measure in np.flatnonzero(plays).tolist()
    )
