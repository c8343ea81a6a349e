"""The form of a piece as a proposal: parts, sections and phrases, each with its reason.

Conventions
-----------
- Sections of one level tile the piece; each lies wholly inside one of the level above. A level that
  would hold a single section is left out.
- A *part* has a printed heading or follows a Fine (minuet and trio, movements, variations); a
  *section* is what analysts give a letter; a *phrase* ends where the music breathes.
- ``confidence`` says how sure the border at its beginning is, 0 to 1; the piece begins for certain.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from companion.analysis.form.cadences import Cadence, find_cadences
from companion.analysis.form.claims import claims_of_returns
from companion.analysis.form.division import BORDER_COST, best_division, confidence
from companion.analysis.form.evidence import Evidence, position_of, section_evidence
from companion.analysis.form.letters import letters_of
from companion.analysis.form.measure_likeness import Floats, likeness_of, struck_tables
from companion.analysis.form.phrases import divide_into_phrases
from companion.analysis.form.rest_points import RestPoint, rest_points
from companion.analysis.form.returns import Return, find_returns
from companion.analysis.harmony import Harmony, analyse_harmony
from companion.progress import Progress, Report, no_report
from companion.score.model import Position, Score

MOST_MEASURES = 1200
"""Longer pieces are not compared with themselves: the table would take 100 MB and more."""

BEGINNING = "the beginning of the piece"
_PHRASE_LENGTH = "a phrase by its length"
_WITH_SECTION = "begins with the section around it"
_PHRASE_COST = 0.8
_LONG_MEASURES = 40
_COSTS = (BORDER_COST, 2.0, 1.2)


class Level(StrEnum):
    """How large a stretch is in the form."""

    PART = "part"
    SECTION = "section"
    PHRASE = "phrase"


@dataclass(frozen=True, slots=True, kw_only=True)
class FormSection:
    """A stretch of the form.

    Parameters
    ----------
    level
        Part, section or phrase.
    start, end
        First position inside, first position behind.
    letter
        What belongs together has one letter: A, B, A with a prime; none for parts
        and phrases.
    name
        What is printed for it, empty where nothing is.
    why
        Why it begins here, in words.
    confidence
        How sure that is, 0 to 1.
    """

    level: Level
    start: Position
    end: Position
    letter: str
    name: str
    why: str
    confidence: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """What was found out about the form of a piece.

    Parameters
    ----------
    sections
        By level, the largest first, and by place.
    returns
        What comes back in the piece, exact, transposed or varied.
    cadences
        Where the harmony closes.
    """

    sections: tuple[FormSection, ...]
    returns: tuple[Return, ...] = ()
    cadences: tuple[Cadence, ...] = ()

    def of_level(self, level: Level) -> tuple[FormSection, ...]:
        """The sections of one level, in order."""
        return tuple(section for section in self.sections if section.level is level)


def propose_form(score: Score, harmony: Harmony | None = None, report: Report = no_report) -> Form:
    """Work out the form of a piece.

    Parameters
    ----------
    score
        The written music; one without measures has no form.
    harmony
        Key and chord at every moment; worked out here when it is not given.
    report
        Told after each step, and may cancel.
    """
    if not score.measures:
        return Form(sections=())
    steps = ("Following the harmony", "Comparing the measures", "Finding the borders")
    report(Progress(done=0, total=len(steps), doing=steps[0]))
    cadences = find_cadences(score, harmony or analyse_harmony(score))
    report(Progress(done=1, total=len(steps), doing=steps[1]))
    likeness: Floats | None = None
    returns: tuple[Return, ...] = ()
    if len(score.measures) <= MOST_MEASURES:
        likeness = likeness_of(struck_tables(score))
        returns = find_returns(likeness)
    report(Progress(done=2, total=len(steps), doing=steps[2]))
    points = rest_points(score, cadences)
    claims = claims_of_returns(score, points, returns, likeness) if likeness is not None else ()
    evidence = section_evidence(score, points, claims)
    return Form(
        sections=_Divider(score, points, evidence, likeness, returns).sections(),
        returns=returns,
        cadences=cadences,
    )


class _Divider:
    """Divides one piece, level by level; holds what all levels look at."""

    def __init__(
        self,
        score: Score,
        points: Sequence[RestPoint],
        evidence: dict[int, Evidence],
        likeness: Floats | None,
        returns: Sequence[Return],
    ) -> None:
        self._score = score
        self._points = points
        self._evidence = evidence
        self._likeness = likeness
        self._returns = returns
        self._end = len(score.measures)

    def sections(self) -> tuple[FormSection, ...]:
        part_starts = [0, *self._part_borders()]
        parts = list(pairwise([*part_starts, self._end]))
        starts = list(part_starts)
        for low, high in parts:
            starts += self._section_borders(low, high)
        sections = list(pairwise([*sorted(starts), self._end]))
        phrases: list[tuple[int, int]] = []
        for low, high in sections:
            inside = divide_into_phrases(self._points, self._evidence, self._likeness, low, high)
            phrases += pairwise([low, *inside, high])
        found: list[FormSection] = []
        if len(parts) > 1:
            found += [self._section(Level.PART, low, high) for low, high in parts]
        if len(sections) > max(1, len(parts)):
            first = set(part_starts) if len(parts) > 1 else set()
            printed = [self._printed_name(low) for low, _ in sections if low not in first]
            letters = letters_of(
                sections, self._returns, [name for name in printed if name], self._likeness
            )
            found += [
                self._section(Level.SECTION, low, high, letter, opens_upper=low in first)
                for (low, high), letter in zip(sections, letters, strict=True)
            ]
        if len(phrases) > len(sections):
            first = {low for low, _ in sections}
            found += [
                self._section(Level.PHRASE, low, high, opens_upper=low in first)
                for low, high in phrases
            ]
        return tuple(found) or (self._section(Level.SECTION, 0, self._end),)

    def _section_borders(self, low: int, high: int) -> tuple[int, ...]:
        """Where sections begin in a part; a long one is rather divided in doubt than not at all."""
        weights = {measure: each.weight for measure, each in self._evidence.items()}
        borders: tuple[int, ...] = ()
        for cost in _COSTS if high - low >= _LONG_MEASURES else _COSTS[:1]:
            borders = borders or best_division(weights, low, high, cost=cost)
        return borders

    def _part_borders(self) -> list[int]:
        return sorted(
            measure
            for measure, each in self._evidence.items()
            if each.border is not None and each.border.opens_part
        )

    def _printed_name(self, measure: int) -> str:
        evidence = self._evidence.get(measure)
        return evidence.border.name if evidence is not None and evidence.border else ""

    def _section(
        self, level: Level, low: int, high: int, letter: str = "", *, opens_upper: bool = False
    ) -> FormSection:
        evidence = self._evidence.get(low)
        if low == 0:
            why, sure = BEGINNING, 1.0
        elif opens_upper:
            why, sure = _WITH_SECTION, confidence(evidence.weight) if evidence else 0.5
        elif level is Level.PHRASE:
            why, sure = self._phrase_reason(low, evidence)
        else:
            why, sure = (evidence.why, confidence(evidence.weight)) if evidence else ("", 0.5)
        return FormSection(
            level=level,
            start=self._position(low),
            end=self._position(high),
            letter=letter,
            name="" if opens_upper or level is Level.PHRASE else self._printed_name(low),
            why=why,
            confidence=sure,
        )

    def _phrase_reason(self, measure: int, evidence: Evidence | None) -> tuple[str, float]:
        point = self._points[measure]
        reasons = list(point.reasons)
        if evidence is not None and evidence.weight > 1:
            reasons.insert(0, evidence.why)
        weight = point.rest + (max(0.0, evidence.weight) if evidence is not None else 0.0)
        words = ", ".join(dict.fromkeys(", ".join(reasons).split(", "))) if reasons else ""
        return words or _PHRASE_LENGTH, confidence(weight, _PHRASE_COST)

    def _position(self, measure: int) -> Position:
        if measure in (0, self._end):
            return Position(measure)
        return position_of(self._score, measure, self._evidence.get(measure, Evidence()))
