"""From a form to a section map: what the pianist sees, names and edits."""

from __future__ import annotations

from companion.analysis.form.form import Form, FormSection, Level, propose_form
from companion.analysis.harmony import Harmony
from companion.progress import Report, no_report
from companion.score.model import Position, Score
from companion.score.sections.borders import Border, find_borders
from companion.score.sections.proposal import (
    measures_as_name,
    new_name,
    opening_name,
    proposed_id,
)
from companion.score.sections.section_map import Section, SectionMap, arranged

_LEVELS = (Level.PART, Level.SECTION, Level.PHRASE)
_NUMBER_OF_LEVEL = {level: number for number, level in enumerate(_LEVELS)}


def propose_section_map(
    score: Score, harmony: Harmony | None = None, report: Report = no_report
) -> SectionMap:
    """Propose the section map of a piece; a piece that has one already keeps it (see merging)."""
    return section_map_of(score, propose_form(score, harmony, report))


def section_map_of(score: Score, form: Form) -> SectionMap:
    """Turn a form into a map that keeps a map's promises; empty only for an empty form."""
    sections: list[Section] = []
    for level in _LEVELS:
        upper = list(sections)
        of_level = form.of_level(level)
        names = _names(score, of_level, opens_piece=not upper)
        for each, name in zip(of_level, names, strict=True):
            parent = _parent(upper, each)
            if parent is not None and (parent.start, parent.end) == (each.start, each.end):
                continue
            sections.append(
                Section(
                    section_id=proposed_id(score, _NUMBER_OF_LEVEL[level], each.start),
                    name=name,
                    start=each.start,
                    end=each.end,
                    parent_id=parent.section_id if parent is not None else None,
                    why=each.why,
                    confidence=each.confidence,
                )
            )
    return arranged(sections)


def _parent(upper: list[Section], each: FormSection) -> Section | None:
    """The smallest section above in which another one lies."""
    around = [s for s in upper if s.start <= each.start and each.end <= s.end]
    return around[-1] if around else None


def _names(score: Score, of_level: tuple[FormSection, ...], *, opens_piece: bool) -> list[str]:
    """Printed names where there are any, letters elsewhere, measures for phrases."""
    names: list[str] = []
    printed = [section.name for section in of_level]
    if any(printed[1:]) and opens_piece:
        printed[0] = opening_name(score, _later_borders(score)) or printed[0]
    elif not any(printed[1:]):
        printed = [""] * len(printed)
    for section, name in zip(of_level, printed, strict=True):
        spelled = name or section.letter or measures_as_name(score, section.start, section.end)
        names.append(new_name(spelled, names) if section.level is not Level.PHRASE else spelled)
    return names


def _later_borders(score: Score) -> tuple[Border, ...]:
    return tuple(border for border in find_borders(score) if border.position > Position(0))
