"""The joins: which of two words is the later one, and what becomes of what was said before."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TypeVar

Text = str | None


@dataclass(frozen=True, slots=True, order=True)
class Word:
    """What was said last about one field; the greater of two is in force.

    Parameters
    ----------
    said_at
        Moment as text, "" when it is not known.
    filled
        Whether anything was said: something wins against nothing of the same moment.
    value
        "" for nothing.
    """

    said_at: str
    filled: bool
    value: str

    @classmethod
    def of(cls, said_at: Text, value: Text) -> Word:
        """Return the word for a value that may be missing, said at a moment that may be."""
        return cls(said_at or "", bool(value), value or "")

    @property
    def or_none(self) -> Text:
        """The value as a column that may be empty."""
        return self.value or None


Choice = TypeVar("Choice")


def latest(*words: Word) -> Word:
    """Return the word in force."""
    return max(words)


@dataclass(frozen=True, slots=True, order=True)
class MapVersion:
    """A saved version of a section map. Of two maps in force the greater one stays in force."""

    worked_on: bool
    saved_at: str
    content: str

    @classmethod
    def of(cls, saved_at: str, content: str) -> MapVersion:
        """Return the version with whether the pianist has worked on it.

        A proposal is put on the shelf with a score by itself. Opening the score on the second
        machine must not take the place of a map that was worked on for weeks on the first.
        """
        return cls(worked_on(content), saved_at, content)


def worked_on(content: str) -> bool:
    """Whether the map has anything that no proposal has: words, a target, an edited border."""
    return any(
        not section.get("why")
        or section.get("purpose")
        or section.get("how_to_play")
        or section.get("target_quarters_per_minute") is not None
        for section in json.loads(content)["sections"]
    )


def in_order(versions: set[MapVersion], in_force: MapVersion) -> list[MapVersion]:
    """Return versions as they are numbered: by when they were saved, the one in force last."""
    earlier = sorted(versions - {in_force}, key=lambda version: (version.saved_at, version.content))
    return [*earlier, in_force]
