"""From features to one figure of difficulty, the order of work, and the reasons in words.

How the figure is made
----------------------
Every feature is divided by a *unit*, the amount that makes a clear difference at the piano, and
the features are averaged in four families of equal weight (speed, ways of the hand, texture,
reading). No weights are published; units and families are our own choice. Since the units are the
same for every piece, the figures of two pieces can be compared, a feature that hardly varies in a
piece hardly sways its order, and a faster target never makes a section easier.

The difficulty of a section is the mean of its measures, weighted by notes, averaged with the mean
of its hardest quarter, because a section is as hard as its hard places. ``level`` brings the
sections of a piece on a scale from 1 (easiest) to 5 (hardest). ``work`` is level times the notes
that have to be learnt; material that stood before, exactly or in other keys, counts half.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from companion.analysis.fingering.suggest import Suggestion, finger_score
from companion.analysis.workload.features import StretchFeatures, features_of_stretch
from companion.analysis.workload.model import MeasureWorkload, SectionWorkload, Workload
from companion.analysis.workload.moments import (
    USUAL_QUARTERS_PER_MINUTE,
    Clock,
    Moments,
    clock_of,
    moments_of,
)
from companion.analysis.workload.ranking import MIDDLE_LEVEL, ranked_and_levelled
from companion.analysis.workload.repetition import MeasureMaterial, materials_of
from companion.analysis.workload.shares import Shares, alone, shares_of, typical_shares
from companion.analysis.workload.tempo_words import beats_per_minute_of
from companion.analysis.workload.words import reasons_in_words
from companion.progress import Progress, Report, no_report
from companion.score.model import Hand, Position, Score
from companion.score.sections.section_map import Section, SectionMap
from companion.timebase import beats_per_minute_to_quarters_per_minute

_DOING = "Looking where the work lies"


@dataclass(frozen=True, slots=True)
class _Laid:
    """A score laid out for measuring."""

    score: Score
    moments: Mapping[Hand, Moments]
    clock: Clock
    materials: Mapping[Hand, Sequence[MeasureMaterial]]

    def stretch(self, start: Position, end: Position) -> StretchFeatures:
        return features_of_stretch(self.score, start, end, self.moments, self.clock, self.materials)


def estimate_workload(
    score: Score,
    section_map: SectionMap,
    *,
    quarters_per_minute: Sequence[float] | None = None,
    fingering: Sequence[Suggestion] | None = None,
    report: Report = no_report,
) -> Workload:
    """Estimate the workload of every measure and section.

    Parameters
    ----------
    quarters_per_minute
        Target tempo of each measure; :func:`target_tempi` when left out.
    fingering
        What :func:`companion.analysis.fingering.suggest.finger_score` gave, when it is known.
    """
    if not score.measures:
        return Workload(measures=(), sections=())
    tempi = quarters_per_minute or target_tempi(score, section_map)
    if fingering is None:
        fingering = finger_score(score, report=report)
    points = {note_id: value for hand in fingering for note_id, value in hand.points_of_note}
    laid = _Laid(
        score,
        {hand: moments_of(score, hand, points) for hand in Hand},
        clock_of(score, tempi),
        materials_of(score),
    )
    measures = []
    for measure in score.measures:
        if measure.index % 50 == 0:
            report(Progress(done=measure.index, total=len(score.measures), doing=_DOING))
        measures.append(_measure(laid, measure.index))
    piece = laid.stretch(Position(0), score.end)
    whole = typical_shares([(measure.shares, measure.notes) for measure in measures])
    found = [_section(laid, section, measures, piece, whole) for section in section_map.sections]
    report(Progress(done=len(measures), total=len(measures), doing=_DOING))
    return Workload(
        measures=tuple(measures), sections=ranked_and_levelled(found, section_map), piece=piece
    )


def target_tempi(score: Score, section_map: SectionMap) -> tuple[float, ...]:
    """The tempo aimed at in each measure, in quarters a minute.

    That of the innermost section with a target of its own, else the figure in the score, else what
    its tempo word usually means, else :data:`USUAL_QUARTERS_PER_MINUTE`.
    """
    written: float | None = None
    word: float | None = None  # beats a minute
    found, place = [], 0
    for measure in score.measures:
        # a mark in the middle of a measure holds from the next one on: it is a fine point here
        while place < len(score.tempo_marks) and score.tempo_marks[place].position <= Position(
            measure.index
        ):
            mark = score.tempo_marks[place]
            meant = beats_per_minute_of(mark.text)
            if mark.quarters_per_minute or meant:
                written, word = mark.quarters_per_minute, meant
            place += 1
        if written is None and word is not None:
            found.append(beats_per_minute_to_quarters_per_minute(word, measure.beat_quarters))
        else:
            found.append(written or USUAL_QUARTERS_PER_MINUTE)
    for section in section_map.sections:  # parents first: the innermost has the last word
        target = section.target_quarters_per_minute
        if target is not None:
            last = section.end.measure_index + (1 if section.end.offset_quarters else 0)
            for index in range(section.start.measure_index, min(last, len(found))):
                found[index] = target
    return tuple(found)


def _measure(laid: _Laid, index: int) -> MeasureWorkload:
    features = laid.stretch(Position(index), Position(index + 1))
    shares = shares_of(features)
    one_hand = {
        hand: shares_of(alone(features, hand)).difficulty if features.hand(hand).notes else 0.0
        for hand in Hand
    }
    return MeasureWorkload(
        measure_index=index,
        difficulty=shares.difficulty,
        right=one_hand[Hand.RIGHT],
        left=one_hand[Hand.LEFT],
        notes=features.notes,
        shares=shares,
    )


def _section(
    laid: _Laid,
    section: Section,
    measures: Sequence[MeasureWorkload],
    piece: StretchFeatures,
    whole: Shares,
) -> SectionWorkload:
    features = laid.stretch(section.start, section.end)
    last = section.end.measure_index + (1 if section.end.offset_quarters else 0)
    inside = measures[section.start.measure_index : last]
    shares = typical_shares([(measure.shares, measure.notes) for measure in inside])
    return SectionWorkload(
        section_id=section.section_id,
        difficulty=shares.difficulty,
        level=MIDDLE_LEVEL,
        work=0.0,
        rank=0,
        reasons=reasons_in_words(features, shares, piece, whole),
        features=features,
        shares=shares,
    )
