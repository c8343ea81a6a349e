"""What the page of the harmony shows, as plain values."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from companion.history.recited import RecitedSection


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyLine:
    """A stretch in one key: where it begins and ends in printed measures, and its name."""

    measure_index: int
    measures: str
    key: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionLine:
    """A section that can be asked about.

    ``start_quarters`` and ``end_quarters`` as printed; ``recited`` what was answered so far.
    """

    section_id: str
    name: str
    level: int
    measures: str
    start_quarters: Fraction
    end_quarters: Fraction
    keys: str
    recited: RecitedSection


@dataclass(frozen=True, slots=True, kw_only=True)
class HarmonyContent:
    """The key plan and the sections; ``waiting`` while the analysis is at work."""

    waiting: bool = False
    keys: tuple[KeyLine, ...] = ()
    sections: tuple[SectionLine, ...] = ()
    chord_count: int = 0
    doubtful_count: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class QuestionShown:
    """A place that is asked: which one of how many, and where it stands."""

    number: int
    count: int
    place: str
    section: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerShown:
    """What became of an answer: a line per part, the right reading, the running score."""

    parts: tuple[tuple[str, bool | None], ...]
    reading: str
    alternatives: tuple[str, ...] = ()
    right: int = 0
    asked: int = 0
    is_last: bool = False
    heard: str = field(default="")
