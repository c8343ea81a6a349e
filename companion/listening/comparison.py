"""A recorded take compared with a score: the match, the measures, and both as a JSON document.

The names in the documents are read by other programs: they may be added to, never renamed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from companion.listening.matching.match import match_take
from companion.listening.measuring.measures import measure_take
from companion.listening.measuring.take_measures import SectionMeasures, TakeMeasures
from companion.listening.notes import HeardNote, JudgedNote, Match, MissedNote, PedalChange
from companion.score.model import Score
from companion.score.sections.proposal import measure_range
from companion.score.sections.section_map import SectionMap


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """A take beside the score it was compared with.

    ``heard`` is sorted by onset, so that ``played`` of the match counts it.
    """

    score: Score
    section_map: SectionMap
    heard: tuple[HeardNote, ...]
    match: Match
    measures: TakeMeasures

    @property
    def duration_seconds(self) -> float:
        """From the first onset of the take to its last release; 0 without a note."""
        if not self.heard:
            return 0.0
        ends = (note.onset_seconds + note.duration_seconds for note in self.heard)
        return max(ends) - self.heard[0].onset_seconds


def compare(
    score: Score,
    section_map: SectionMap,
    notes: Sequence[HeardNote],
    pedals: Sequence[PedalChange] = (),
) -> Comparison:
    """Match and measure a take."""
    heard = tuple(sorted(notes, key=lambda note: note.onset_seconds))
    match = match_take(score.notes, heard, playing_order=score.playing_order)
    return Comparison(
        score=score,
        section_map=section_map,
        heard=heard,
        match=match,
        measures=measure_take(score, section_map, heard, match, pedals),
    )


def comparison_document(comparison: Comparison) -> dict[str, Any]:
    """Return a comparison as values that ``json`` can write."""
    score, match = comparison.score, comparison.match
    return {
        "score": {
            "title": score.title,
            "measures": len(score.measures),
            "notes": len(score.notes),
        },
        "take": {
            "notes": len(comparison.heard),
            "duration_seconds": round(comparison.duration_seconds, 6),
        },
        "notes": [_note(score, note) for note in match.notes],
        "missed": [_missed(score, note) for note in match.missed],
        "passages": [
            {
                "first_played": passage.first_played,
                "last_played": passage.last_played,
                "from_measure_index": passage.from_measure_index,
                "to_measure_index": passage.to_measure_index,
                "hands": passage.hands.value,
                "began_with": passage.began_with.value,
            }
            for passage in match.passages
        ],
        "sections": [_section(comparison, row) for row in comparison.measures.sections],
    }


def _note(score: Score, note: JudgedNote) -> dict[str, Any]:
    return {
        "played": note.played,
        "onset_seconds": round(note.onset_seconds, 6),
        "pitch": note.pitch,
        "verdict": note.verdict.value,
        "note_id": note.note_id,
        "measure": _printed(score, note.measure_index),
        "measure_index": note.measure_index,
        "offset_quarters": _exact(note.offset_quarters),
        "expected_pitch": note.expected_pitch,
        "passage": note.passage,
    }


def _missed(score: Score, note: MissedNote) -> dict[str, Any]:
    return {
        "note_id": note.note_id,
        "measure": _printed(score, note.measure_index),
        "measure_index": note.measure_index,
        "offset_quarters": _exact(note.offset_quarters),
        "pitch": note.pitch,
        "before_played": note.before_played,
        "passage": note.passage,
    }


def _section(comparison: Comparison, row: SectionMeasures) -> dict[str, Any]:
    section = comparison.section_map.section(row.section_id)
    from_measure, to_measure = measure_range(comparison.score, section.start, section.end)
    return {
        "name": section.name,
        "level": comparison.section_map.depth(row.section_id),
        "from_measure": from_measure,
        "to_measure": to_measure,
        "hands": row.hands.value,
        "coverage": _rounded(row.coverage),
        "expected": row.expected,
        "right": row.right,
        "wrong": row.wrong,
        "missed": row.missed,
        "added": row.added,
        "accuracy": _rounded(row.accuracy),
        "running_tempo_qpm": _rounded(row.running_tempo_quarters_per_minute),
        "through_tempo_qpm": _rounded(row.through_tempo_quarters_per_minute),
        "steadiness": _rounded(row.steadiness),
        "evenness_sd_ms": _rounded(row.evenness_sd_ms),
        "hesitations": row.hesitations,
        "stops": row.stops,
        "restarts": row.restarts,
    }


def _printed(score: Score, measure_index: int | None) -> str | None:
    if measure_index is None or not 0 <= measure_index < len(score.measures):
        return None
    return score.measures[measure_index].number


def _exact(offset: Fraction | float | None) -> str | None:
    return None if offset is None else str(Fraction(offset))


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 6)
