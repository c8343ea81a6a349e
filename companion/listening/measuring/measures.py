"""Measuring a take: from the match of played and written notes to figures per section.

Conventions
-----------
- Every figure is taken over a *stretch*: the written notes from a start up to an end, in some of
  the passages of the take. Sections on all levels are stretches, and so is the whole piece.
- A time interval belongs to the stretch in which it begins; a wait belongs to the stretch of the
  note that was waited for (see :mod:`companion.listening.measuring.flow`).
- The definitions are in :mod:`companion.listening.definitions`; accuracy is the F measure of right
  notes (as ``mir_eval.util.f_measure``), the rest is common practice in performance studies.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from companion.listening.measuring.flow import InterruptionKind
from companion.listening.measuring.played import State
from companion.listening.measuring.score_index import ScoreIndex, index_score
from companion.listening.measuring.stretch_measures import (
    ArrangedMatch,
    arrange_match,
    measure_stretch,
)
from companion.listening.measuring.stretches import stretch_of
from companion.listening.measuring.take_measures import MeasureErrors, SectionMeasures, TakeMeasures
from companion.listening.measuring.tempo_curve import tempo_points
from companion.listening.notes import Hands, HeardNote, Match, Passage, PedalChange
from companion.score.model import Score
from companion.score.sections.section_map import SectionMap


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
    measured = arrange_match(index, heard, match, pedals)
    sections: list[SectionMeasures] = []
    passages: list[SectionMeasures] = []
    for section in section_map.sections:
        limits = index.notes_between(section.start, section.end)
        for hands, touching in _touching(measured, *limits).items():
            name = section.section_id
            row = measure_stretch(
                measured, stretch_of(name, limits, touching, hands, measured.take)
            )
            sections.append(row)
            if len(touching) == 1:
                passages.append(replace(row, passage=touching[0].index))
                continue
            for passage in touching:
                alone = stretch_of(name, limits, (passage,), hands, measured.take)
                passages.append(replace(measure_stretch(measured, alone), passage=passage.index))
    whole = _whole(measured)
    return TakeMeasures(
        whole=whole,
        sections=tuple(sections),
        passages=tuple(passages),
        measures=_measure_errors(measured),
        interruptions=measured.interruptions,
        tempo=tempo_points(index, measured.beats),
        whole_passages=_whole_passages(measured, whole),
    )


def _touching(measured: ArrangedMatch, low: int, high: int) -> dict[Hands, tuple[Passage, ...]]:
    """The passages that cover a note between ``low`` and ``high``, by the hands played."""
    found: dict[Hands, list[Passage]] = defaultdict(list)
    take = measured.take
    for passage in measured.passages:
        number = passage.index
        if take.passage_low[number] < high and take.passage_high[number] > low:
            found[passage.hands].append(passage)
    return {hands: tuple(passages) for hands, passages in found.items()}


def _whole(measured: ArrangedMatch) -> SectionMeasures:
    choices = {passage.hands for passage in measured.passages}
    hands = choices.pop() if len(choices) == 1 else Hands.BOTH
    count = len(measured.index.score.notes)
    passages = measured.passages
    return measure_stretch(measured, stretch_of("", (0, count), passages, hands, measured.take))


def _whole_passages(measured: ArrangedMatch, whole: SectionMeasures) -> tuple[SectionMeasures, ...]:
    if len(measured.passages) == 1:
        return (replace(whole, passage=measured.passages[0].index),)
    limits = (0, len(measured.index.score.notes))
    alone = (
        (passage, stretch_of("", limits, (passage,), passage.hands, measured.take))
        for passage in measured.passages
    )
    return tuple(
        replace(measure_stretch(measured, stretch), passage=passage.index)
        for passage, stretch in alone
    )


def _measure_errors(measured: ArrangedMatch) -> tuple[MeasureErrors, ...]:
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
