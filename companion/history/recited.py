"""What was named away from the keyboard: answers about key and chord, and how they add up.

An answer is kept as an :class:`companion.history.model.Entry` with its place in the score, so that
it falls into whatever section holds that place when it is looked at.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from fractions import Fraction

from companion.history.days import DAY_STARTS_AT_HOUR, practice_day
from companion.history.model import Entry

RECITED = "recited"
"""Kind of the entries."""

PARTS = ("key", "root", "quality", "bass")


@dataclass(frozen=True, slots=True, kw_only=True)
class Recited:
    """One answer.

    Parameters
    ----------
    start_quarters
        The place that was asked, as printed.
    parts
        Whether key, root, quality and bass were right; None for what was not named.
    answer
        As it was typed, or the names of the keys that were played.
    with_score
        Whether the notes were in sight.
    """

    entry_id: str
    piece_id: str
    happened_at: datetime
    zone: str
    start_quarters: Fraction
    parts: tuple[bool | None, bool | None, bool | None, bool | None]
    answer: str
    with_score: bool

    @property
    def all_right(self) -> bool:
        """Whether a chord was named, and nothing that was named is wrong."""
        return self.parts[1] is True and False not in self.parts


def entry_of(recited: Recited) -> Entry:
    """Write an answer as an entry; inverse :func:`recited_of`."""
    content = {
        "start": str(recited.start_quarters),
        "parts": list(recited.parts),
        "answer": recited.answer,
        "with_score": recited.with_score,
    }
    return Entry(
        entry_id=recited.entry_id,
        piece_id=recited.piece_id,
        kind=RECITED,
        happened_at=recited.happened_at,
        zone=recited.zone,
        content=json.dumps(content, ensure_ascii=False),
    )


def recited_of(entry: Entry) -> Recited | None:
    """Inverse of :func:`entry_of`; None for an entry that makes no sense."""
    try:
        content = json.loads(entry.content)
        start = Fraction(content["start"])
        key, root, quality, bass = (
            part if part is None else bool(part) for part in content["parts"]
        )
        answer, with_score = str(content["answer"]), bool(content["with_score"])
    except (ValueError, KeyError, TypeError, ZeroDivisionError):
        return None
    return Recited(
        entry_id=entry.entry_id,
        piece_id=entry.piece_id or "",
        happened_at=entry.happened_at,
        zone=entry.zone,
        start_quarters=start,
        parts=(key, root, quality, bass),
        answer=answer,
        with_score=with_score,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class RecitedDay:
    """The answers about one section on one practice day."""

    day: date
    asked: int
    right: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RecitedSection:
    """The answers about one section over all days, in rising order of days.

    ``part_right`` counts, for key, root, quality and bass, how often each was right of how often it
    was named.
    """

    section_id: str
    days: tuple[RecitedDay, ...]
    part_right: tuple[tuple[int, int], ...]

    @property
    def asked(self) -> int:
        """Answers in all."""
        return sum(day.asked for day in self.days)

    @property
    def right(self) -> int:
        """Those that were all right."""
        return sum(day.right for day in self.days)


def recited_by_section(
    answers: Iterable[Recited],
    limits: Mapping[str, tuple[Fraction, Fraction]],
    day_starts_at_hour: int = DAY_STARTS_AT_HOUR,
) -> dict[str, RecitedSection]:
    """Add up answers per section.

    Parameters
    ----------
    limits
        Start and end of each section in quarters as printed, by section id; half-open.
    """
    ordered = sorted(answers, key=lambda each: (each.happened_at, each.entry_id))
    return {
        section_id: _add_up(
            section_id,
            [each for each in ordered if start <= each.start_quarters < end],
            day_starts_at_hour,
        )
        for section_id, (start, end) in limits.items()
    }


def _add_up(section_id: str, answers: Sequence[Recited], hour: int) -> RecitedSection:
    by_day: dict[date, list[Recited]] = defaultdict(list)
    for each in answers:
        by_day[practice_day(each.happened_at, each.zone, hour)].append(each)
    return RecitedSection(
        section_id=section_id,
        days=tuple(
            RecitedDay(day=day, asked=len(of_day), right=sum(each.all_right for each in of_day))
            for day, of_day in sorted(by_day.items())
        ),
        part_right=tuple(
            (
                sum(each.parts[part] is True for each in answers),
                sum(each.parts[part] is not None for each in answers),
            )
            for part in range(len(PARTS))
        ),
    )
