"""Which tempo is aimed at in a section."""

from __future__ import annotations

from companion.score.model import Position, Score
from companion.score.sections.section_map import Section, SectionMap


def target_of(section: Section, section_map: SectionMap, score: Score) -> float | None:
    """Target tempo of a section in quarters a minute.

    That is its own, else that of the nearest section around it that has one, else what the score
    says where it begins; None where nothing says anything.
    """
    if section.target_quarters_per_minute is not None:
        return section.target_quarters_per_minute
    for around in section_map.ancestors(section.section_id):
        if around.target_quarters_per_minute is not None:
            return around.target_quarters_per_minute
    return written_tempo_at(score, section.start)


def target_at(position: Position, section_map: SectionMap, score: Score) -> float | None:
    """Target tempo at a place: that of the sections around it, else what the score says there."""
    section = section_map.section_at(position)
    if section is not None:
        for around in (section, *section_map.ancestors(section.section_id)):
            if around.target_quarters_per_minute is not None:
                return around.target_quarters_per_minute
    return written_tempo_at(score, position)


def written_tempo_at(score: Score, position: Position) -> float | None:
    """Tempo that the score gives at a place, in quarters a minute; None before any figure."""
    tempo = None
    for mark in score.tempo_marks:
        if mark.position > position:
            break
        if mark.quarters_per_minute is not None:
            tempo = mark.quarters_per_minute
    return tempo
