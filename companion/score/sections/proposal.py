"""A first section map, from what is printed in the score. It is a proposal: the pianist edits it.

Conventions
-----------
- Headings and a Fine make the top level, or else rehearsal marks, or else changes of key, meter or
  tempo at a double bar or repeat; the other cues divide these. Without two ranks of cues there is
  one level.
- Stretches of more than 24 measures are divided into phrases.
- The ids of proposed sections follow from the score and the place, so that proposing again gives
  the same map.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Sequence
from itertools import pairwise

from companion.score.model import CueKind, Position, Score
from companion.score.sections.borders import (
    Border,
    find_borders,
    measures_into,
    tempo_word,
    tidy_name,
)
from companion.score.sections.phrases import divide_into_phrases
from companion.score.sections.section_map import Section, SectionMap, arranged

LONGEST_UNDIVIDED_MEASURES = 24
SAME_OPENING_SHARE = 0.9
_BEGINNING = "the beginning of the piece"
_PHRASE = "a phrase by its length; no sign is printed here"
PRIME = "\N{PRIME}"


def propose_sections(score: Score) -> SectionMap:
    """Propose the section map of a score.

    Returns
    -------
    SectionMap
        Empty only for a score without measures.
    """
    if not score.measures:
        return SectionMap(sections=())
    borders = find_borders(score)
    top = _top_borders(borders)
    inner = [border for border in borders if border not in top]
    whole = score.end
    sections: list[Section] = []
    if not top:
        sections.extend(_phrases(score, None, Position(0), whole))
    names = _top_names(score, top)
    for number, (start, end) in enumerate(_stretches(score, [b.position for b in top])):
        if not top:
            break
        section = Section(
            section_id=proposed_id(score, 0, start),
            name=names[number],
            start=start,
            end=end,
            why=top[number - 1].why if number else _BEGINNING,
        )
        sections.append(section)
        inside = [border for border in inner if start < border.position < end]
        sections.extend(_children(score, section, inside))
    return arranged(sections)


def measure_range(score: Score, start: Position, end: Position) -> tuple[str, str]:
    """Return the printed numbers of the first and the last measure of a stretch."""
    last = end.measure_index if end.offset_quarters else end.measure_index - 1
    last = min(max(last, start.measure_index), len(score.measures) - 1)
    return score.measures[start.measure_index].number, score.measures[last].number


def measures_as_name(score: Score, start: Position, end: Position) -> str:
    """Name a stretch by the measures that it touches: "mm. 9–16", or "m. 8" for one of them.

    An upbeat counts to the measure in which it stands; a pickup before the first is measure 0.
    """
    return measures_in_short(*measure_range(score, start, end))


def measures_in_short(first: str, last: str) -> str:
    """Printed numbers of measures as editors write them: "m. 8", "mm. 9–16"."""
    return f"m. {first}" if first == last else f"mm. {first}–{last}"


def _top_borders(borders: Sequence[Border]) -> list[Border]:
    """The borders of the highest rank that there is."""
    parts = [border for border in borders if border.opens_part]
    if parts:
        return parts
    if any(CueKind.REHEARSAL_MARK in border.kinds for border in borders):
        marks = {CueKind.REHEARSAL_MARK, CueKind.CODA}
        return [border for border in borders if border.kinds & marks]
    changed = [border for border in borders if border.changes_at_bar_line]
    return changed or list(borders)


def _stretches(score: Score, starts: Sequence[Position]) -> Iterator[tuple[Position, Position]]:
    places = [Position(0), *starts, score.end]
    yield from pairwise(places)


def _children(score: Score, section: Section, borders: Sequence[Border]) -> list[Section]:
    """Divide a section at the borders inside it, and long parts into phrases."""
    if not borders:
        return _phrases(score, section, section.start, section.end)
    places = [section.start, *(border.position for border in borders), section.end]
    found: list[Section] = []
    names: list[str] = []
    for number, (start, end) in enumerate(pairwise(places)):
        border = borders[number - 1] if number else None
        names.append(
            new_name(border.name if border else "", names) or _numbered(section.name, number + 1)
        )
        child = Section(
            section_id=proposed_id(score, 1, start),
            name=names[-1],
            start=start,
            end=end,
            parent_id=section.section_id,
            why=border.why if border else f"“{section.name}” begins here",
        )
        found.append(child)
        found.extend(_phrases(score, child, start, end))
    return found


def _phrases(score: Score, parent: Section | None, start: Position, end: Position) -> list[Section]:
    """Divide a long stretch into phrases; without a parent they are the whole map."""
    length = measures_into(score, end) - measures_into(score, start)
    if parent is not None and length <= LONGEST_UNDIVIDED_MEASURES:
        return []
    inside = divide_into_phrases(score, start, end)
    if parent is not None and not inside:
        return []
    places = [start, *inside, end]
    level = 2 if parent is not None else 0
    return [
        Section(
            section_id=proposed_id(score, level, low),
            name=measures_as_name(score, low, high),
            start=low,
            end=high,
            parent_id=parent.section_id if parent else None,
            why=_PHRASE if low != Position(0) else _BEGINNING,
        )
        for low, high in pairwise(places)
    ]


def _numbered(name: str, number: int) -> str:
    return f"{name}{number}" if len(name) == 1 else f"{name} {number}"


def _top_names(score: Score, top: Sequence[Border]) -> list[str]:
    """Names of the top level: printed ones, and letters where nothing is printed."""
    printed = [opening_name(score, top), *(border.name for border in top)]
    taken = {name for name in printed if name}
    letters = (letter for letter in _letters() if letter not in taken)
    starts = [Position(0), *(border.position for border in top)]
    names: list[str] = []
    lettered: list[tuple[str, Position]] = []
    for name, start in zip(printed, starts, strict=True):
        if not name:
            again = next((n for n, place in lettered if _same_opening(score, place, start)), None)
            name = f"{again}{PRIME}" if again else next(letters)
            if not again:
                lettered.append((name, start))
        names.append(new_name(name, names))
    return names


def new_name(name: str, taken: Sequence[str]) -> str:
    """A name that a section before has already gets a prime (letters) or "again" (words)."""
    while name and name in taken:
        name += PRIME if len(name) < 3 or name.endswith(PRIME) else " again"
    return name


def _letters() -> Iterator[str]:
    for round_ in ("", *"ABCDEFGHIJKLMNOPQRSTUVWXYZ"):
        for letter in "ABCDEFGHIJKLMNOPQRSTUVWXYZ":
            yield round_ + letter


def opening_name(score: Score, top: Sequence[Border]) -> str:
    """Name of the first section, where something is printed for it; ``top`` begin its siblings."""
    at_start = Border(
        position=Position(0),
        cues=tuple(cue for cue in score.cues if measures_into(score, cue.position) < 1.0),
    )
    if at_start.cues and at_start.name:
        return at_start.name
    if any(border.name.lower().startswith("trio") for border in top):
        found = re.match(
            r"(.+?)\s+(and|with|et|und|mit|e|con)\s+trio\b", score.title, re.IGNORECASE
        )
        return tidy_name(found.group(1)) if found else "First part"
    if any(CueKind.TEMPO_CHANGE in border.kinds for border in top) and score.tempo_marks:
        return tidy_name(tempo_word(score.tempo_marks[0].text))
    return ""


def _same_opening(score: Score, first: Position, second: Position) -> bool:
    """Whether two stretches begin with the same two measures of music."""
    one, two = _opening(score, first), _opening(score, second)
    return bool(one) and len(one & two) >= SAME_OPENING_SHARE * max(len(one), len(two))


def _opening(score: Score, start: Position) -> frozenset[tuple[float, int]]:
    begin = score.quarters_at(start)
    end = score.quarters_at(Position(start.measure_index + 2, start.offset_quarters))
    return frozenset(
        (float(note.onset_quarters - begin), note.pitch)
        for note in score.notes
        if begin <= note.onset_quarters < end and not note.grace
    )


def proposed_id(score: Score, level: int, start: Position) -> str:
    """The id of a proposed section: the same each time the score is analysed."""
    text = f"{score.content_hash}/{level}/{start.measure_index}/{start.offset_quarters}"
    return hashlib.sha256(text.encode()).hexdigest()[:16]
