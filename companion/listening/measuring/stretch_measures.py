"""Measuring one stretch of a take: a row of figures, from arrays that are made once per take."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from companion.listening.measuring.evenness import RunIntervals, evenness, run_intervals
from companion.listening.measuring.flow import Interruption, InterruptionKind, find_interruptions
from companion.listening.measuring.order_statistics import mean, median, percentiles
from companion.listening.measuring.pedalling import DamperTime, damper_time
from companion.listening.measuring.played import PlayedTake, State, arrange_take
from companion.listening.measuring.score_index import Flags, ScoreIndex
from companion.listening.measuring.stretches import Stretch, coverage, edge_errors
from companion.listening.measuring.take_measures import SectionMeasures
from companion.listening.measuring.tempo_curve import (
    Intervals,
    beat_intervals,
    onset_intervals,
    running_tempo,
    steadiness,
)
from companion.listening.measuring.togetherness import Chords, find_chords
from companion.listening.measuring.written_leaps import written_leaps
from companion.listening.notes import HeardNote, Match, Passage, PedalChange


@dataclass(frozen=True, slots=True, eq=False)
class ArrangedMatch:
    """Everything about a take that does not depend on the sections."""

    index: ScoreIndex
    take: PlayedTake
    passages: tuple[Passage, ...]
    onsets: Intervals
    beats: Intervals
    onsets_waited: Flags
    beats_waited: Flags
    leaps: dict[int, float]
    interruptions: tuple[Interruption, ...]
    runs: RunIntervals
    chords: Chords
    damper: DamperTime | None


def arrange_match(
    index: ScoreIndex,
    heard: Sequence[HeardNote],
    match: Match,
    pedals: Sequence[PedalChange],
) -> ArrangedMatch:
    """Work out everything about a take that does not depend on the sections."""
    take = arrange_take(index, heard, match)
    onsets, beats = onset_intervals(index, take), beat_intervals(index, take)
    leaps = written_leaps(index, take, match)
    interruptions, waits = find_interruptions(index, take, onsets, match, leaps)
    waited = waits | index.held_onsets[onsets.start_onset]
    return ArrangedMatch(
        index=index,
        take=take,
        passages=match.passages,
        onsets=onsets,
        beats=beats,
        onsets_waited=waited,
        beats_waited=_hold_waits(beats, onsets, waited),
        leaps=leaps,
        interruptions=interruptions,
        runs=run_intervals(index, take, onsets, waits),
        chords=find_chords(index, take),
        damper=damper_time(pedals),
    )


def measure_stretch(measured: ArrangedMatch, stretch: Stretch) -> SectionMeasures:
    """Measure one stretch."""
    take, index, inside = measured.take, measured.index, stretch.inside
    state_inside = inside(take.state_note, take.state_passage)
    counts = np.bincount(take.state[state_inside], minlength=3)
    covered = coverage(index, take, stretch)
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
        edge_errors=edge_errors(index, take, stretch, state_inside),
    )
    row = _with_tempo(row, measured, stretch)
    row = _with_touch(row, measured, stretch)
    return _with_flow(row, measured, stretch)


def _with_tempo(row: SectionMeasures, measured: ArrangedMatch, stretch: Stretch) -> SectionMeasures:
    """Add running and through tempo, steadiness and evenness."""
    take, inside, first_note = measured.take, stretch.inside, measured.index.onset_first_note
    intervals, waited = measured.beats, measured.beats_waited
    chosen = inside(first_note[intervals.start_onset], intervals.passage)
    if not chosen.any():  # nothing is written on two beats: take what there is
        intervals, waited = measured.onsets, measured.onsets_waited
        chosen = inside(first_note[intervals.start_onset], intervals.passage)
    quarters, seconds = intervals.quarters[chosen], intervals.seconds[chosen]
    steady = chosen & ~waited
    even_inside = inside(measured.runs.note, measured.runs.passage)
    even = evenness(measured.runs.piece[even_inside], measured.runs.seconds[even_inside])
    struck = inside(first_note[take.struck_onset], take.struck_passage)
    times = take.struck_seconds[struck]
    return replace(
        row,
        running_tempo_quarters_per_minute=running_tempo(quarters, seconds),
        through_tempo_quarters_per_minute=_through_tempo(measured, struck),
        tempo_count=len(seconds),
        steadiness=steadiness(
            intervals.nominal[steady], intervals.seconds[steady], intervals.passage[steady]
        ),
        steadiness_count=int(np.count_nonzero(steady)),
        evenness_sd_ms=even.sd_ms if even else None,
        evenness_cv=even.cv if even else None,
        evenness_count=even.count if even else 0,
        first_onset_seconds=float(times.min()) if len(times) else None,
        last_onset_seconds=float(times.max()) if len(times) else None,
    )


def _hold_waits(intervals: Intervals, onsets: Intervals, waits: Flags) -> Flags:
    """Whether a wait, given per interval of ``onsets``, lies inside each interval."""
    holds = np.zeros(len(intervals), np.bool_)
    for wait in np.flatnonzero(waits):
        holds |= (
            (intervals.passage == onsets.passage[wait])
            & (intervals.start_onset <= onsets.start_onset[wait])
            & (intervals.end_onset >= onsets.end_onset[wait])
        )
    return holds


def _through_tempo(measured: ArrangedMatch, struck: Flags) -> float | None:
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
    for row in np.flatnonzero(at_once & ~same):
        played += measured.leaps.get(int(passage[row]), 0.0)
    elapsed = float(np.sum(np.diff(seconds)[same | at_once]))
    return 60.0 * played / elapsed if elapsed > 0.0 and played > 0.0 else None


def _with_touch(row: SectionMeasures, measured: ArrangedMatch, stretch: Stretch) -> SectionMeasures:
    """Add togetherness, dynamics and pedal."""
    index, take, chords = measured.index, measured.take, measured.chords
    inside = stretch.inside
    chosen = inside(index.onset_first_note[chords.onset], chords.passage)
    spread = chords.spread_ms[chosen]
    lead = chords.lead_ms[chosen]
    lead = lead[~np.isnan(lead)]
    apart = chords.left_right_ms[chosen]
    apart = apart[~np.isnan(apart)]
    loud = inside(take.loud_note, take.loud_passage)
    velocity = take.loud_velocity[loud]
    right = index.note_right_hand[take.loud_note[loud]]
    softest, loudest = percentiles(velocity, 5.0, 95.0)
    begun, ended = row.first_onset_seconds, row.last_onset_seconds
    damper = None
    if measured.damper and begun is not None and ended is not None:
        damper = measured.damper.share(begun, ended)
    return replace(
        row,
        chord_spread_ms=median(spread),
        chord_count=len(spread),
        melody_lead_ms=mean(lead),
        melody_count=len(lead),
        left_right_offset_ms=mean(apart),
        left_right_count=len(apart),
        velocity_p5=softest,
        velocity_p95=loudest,
        right_velocity=mean(velocity[right]),
        left_velocity=mean(velocity[~right]),
        damper_share=damper,
    )


def _with_flow(row: SectionMeasures, measured: ArrangedMatch, stretch: Stretch) -> SectionMeasures:
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
