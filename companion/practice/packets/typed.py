"""Values from JSON that anybody may have written: every type, range and length is checked.

A :class:`Found` is a value with the place where it stands, so that the sentence can name it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from fractions import Fraction

from companion.practice.packets.model import PacketUnreadable

LONGEST_NAME = 500
LONGEST_TEXT = 20_000
LONGEST_ID = 200
MOST_ITEMS = 20_000
_LAST_YEAR = 2999
_LONGEST_FRACTION = 24


@dataclass(frozen=True, slots=True)
class Found:
    """A value of a packet and the place where it stands, for instance "report.sections[3].name"."""

    value: object
    place: str

    def wrong(self, expected: str) -> PacketUnreadable:
        """Return the error for a value that is not what stands there."""
        return PacketUnreadable(
            f"The packet is damaged: {expected} was expected at “{self.place[:120]}”."
        )

    def fields(self) -> dict[str, object]:
        """The value as an object."""
        if not isinstance(self.value, dict):
            raise self.wrong("an object")
        return self.value

    def get(self, name: str) -> Found:
        """A field of an object; None where it is missing."""
        return Found(self.fields().get(name), f"{self.place}.{name}" if self.place else name)

    def items(self, most: int = MOST_ITEMS) -> Iterator[Found]:
        """The items of a list; a missing one has none."""
        if self.value is None:
            return
        if not isinstance(self.value, list) or len(self.value) > most:
            raise self.wrong(f"a list of at most {most} items")
        for number, item in enumerate(self.value):
            yield Found(item, f"{self.place}[{number}]")

    def entries(self, most: int = MOST_ITEMS) -> Iterator[tuple[str, Found]]:
        """The fields of an object by name; a missing one has none."""
        if self.value is None:
            return
        fields = self.fields()
        if len(fields) > most:
            raise self.wrong(f"an object of at most {most} fields")
        for name, value in fields.items():
            if len(name) > LONGEST_ID:
                raise self.wrong("a shorter name")
            yield name, Found(value, f"{self.place}.{name}")

    def text(self, longest: int = LONGEST_NAME, *, needed: bool = False) -> str:
        """A text; empty where it is missing and not needed."""
        if self.value is None and not needed:
            return ""
        if not isinstance(self.value, str) or len(self.value) > longest or "\0" in self.value:
            raise self.wrong(f"a text of at most {longest} letters")
        try:
            self.value.encode()
        except UnicodeEncodeError:  # half of a surrogate pair, which JSON allows
            raise self.wrong("a text that can be written") from None
        if needed and not self.value.strip():
            raise self.wrong("a text")
        return self.value

    def identity(self) -> str:
        """An id: a text of letters, digits and signs without spaces."""
        text = self.text(LONGEST_ID, needed=True)
        if not text.isprintable() or " " in text:
            raise self.wrong("an id")
        return text

    def whole(self, least: int = 0, most: int = 1_000_000) -> int:
        """A whole number."""
        value = self.value
        if not isinstance(value, int) or isinstance(value, bool) or not least <= value <= most:
            raise self.wrong(f"a whole number from {least} to {most}")
        return value

    def number(self, least: float = 0.0, most: float = 1e6) -> float:
        """A number."""
        value = self.value
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise self.wrong("a number")
        if not math.isfinite(value) or not least <= value <= most:
            raise self.wrong(f"a number from {least:g} to {most:g}")
        return float(value)

    def optional_number(self, least: float = 0.0, most: float = 1e6) -> float | None:
        """A number that may be missing."""
        return None if self.value is None else self.number(least, most)

    def truth(self) -> bool:
        """True or false."""
        if not isinstance(self.value, bool):
            raise self.wrong("true or false")
        return self.value

    def optional_truth(self) -> bool:
        """True or false; false where it is missing."""
        return self.value is not None and self.truth()

    def fraction(self) -> Fraction:
        """An exact fraction as text, "3/2"."""
        text = self.text(_LONGEST_FRACTION, needed=True)
        try:
            found = Fraction(text)
        except (ValueError, ZeroDivisionError):
            raise self.wrong("a fraction") from None
        if not 0 < found <= 1_000 or found.denominator > 100_000:
            raise self.wrong("a fraction")
        return found

    def day(self) -> date:
        """A day, ISO 8601."""
        text = self.text(10, needed=True)
        try:
            found = date.fromisoformat(text)
        except ValueError:
            raise self.wrong("a day") from None
        if found.year > _LAST_YEAR or found.year < 1900 or text != found.isoformat():
            raise self.wrong("a day")
        return found

    def optional_day(self) -> date | None:
        """A day that may be missing."""
        return None if self.value is None else self.day()

    def moment(self) -> datetime:
        """A moment, ISO 8601 with its offset from UTC."""
        text = self.text(40, needed=True)
        try:
            found = datetime.fromisoformat(text)
            in_utc = found.astimezone(UTC)
        except (ValueError, OverflowError):
            raise self.wrong("a moment") from None
        if found.tzinfo is None or not 1900 <= in_utc.year <= _LAST_YEAR:
            raise self.wrong("a moment")
        return in_utc
