"""The score with all that was decided about it, as MusicXML for other programs."""

from __future__ import annotations

from pathlib import Path

from companion.analysis.grouping.model import Grouping
from companion.analysis.harmony import Harmony
from companion.errors import CompanionError
from companion.score.model import Position, Score
from companion.score.sections.proposal import measures_as_name
from companion.score.sections.section_map import SectionMap
from companion.score.writing.annotated import (
    Annotations,
    BracketMark,
    NumeralMark,
    SectionMark,
    annotated_score,
)
from companion.whole_file import whole_file


class ScoreNotWritten(CompanionError):
    """The marked score cannot be written to its file."""


def section_marks(section_map: SectionMap) -> tuple[SectionMark, ...]:
    """Sections of every level where they begin, the outermost where several begin together."""
    sections: dict[Position, SectionMark] = {}
    for section in section_map.sections:  # parents come before their children
        sections.setdefault(
            section.start,
            SectionMark(position=section.start, name=section.name, words=section.purpose),
        )
    return tuple(sections.values())


def marks_to_print(section_map: SectionMap, score: Score) -> tuple[SectionMark, ...]:
    """The section marks that tell more than the page does.

    Left out are names that are printed there already and those that only count measures, unless
    the pianist wrote what the section is for.
    """
    printed = {(cue.position, cue.text.strip()) for cue in score.cues}
    counted = {
        (section.start, measures_as_name(score, section.start, section.end))
        for section in section_map.sections
    }
    return tuple(
        mark
        for mark in section_marks(section_map)
        if mark.words or (mark.position, mark.name) not in printed | counted
    )


def annotations_of(
    section_map: SectionMap,
    harmony: Harmony | None = None,
    grouping: Grouping | None = None,
    fingers: dict[str, int] | None = None,
) -> Annotations:
    """Return everything that is known about a piece as marks for its score.

    A purpose stands beside its section.
    """
    numerals: list[NumeralMark] = []
    key = None
    for span in harmony.spans if harmony is not None else ():
        text = span.numeral if span.key == key else f"{span.key.name}: {span.numeral}"
        numerals.append(NumeralMark(position=span.position, text=text))
        key = span.key
    brackets = [
        BracketMark(
            first_id=group.note_ids[0],
            last_id=group.note_ids[-1],
            hand=run.run.hand,
        )
        for run in (grouping.runs if grouping is not None else ())
        for group in run.groups
        if group.end_step - group.first_step > 1
    ]
    return Annotations(
        sections=section_marks(section_map),
        numerals=tuple(numerals),
        brackets=tuple(brackets),
        fingers=fingers,
    )


def export_score(path: Path, score: Score, annotations: Annotations) -> None:
    """Write the marked score, whole or not at all.

    Raises
    ------
    ScoreNotWritten
        The file cannot be written.
    ScoreUnreadable
        The score is not there as MusicXML.
    """
    data = annotated_score(score, annotations)
    try:
        with whole_file(path) as unfinished:
            unfinished.write_bytes(data)
    except OSError as error:
        raise ScoreNotWritten(
            f"“{path.name}” cannot be written: {error.strerror or error}."
        ) from error
