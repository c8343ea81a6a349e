"""How far apart two fingers can be: the table of the model, and the size of a hand.

The table is that of Parncutt, Sloboda, Clarke, Raekallio and Desain 1997 ("An ergonomic model of
keyboard fingering for melodic fragments", Music Perception 14:341-382): semitones from the first to
the second finger of the right hand, positive upwards. Two transcriptions of it agree but for the
greatest relaxed span of 1-5, which is 10 here: that value gives the published totals.

Sizes of hands: "medium" is the table. A small or large hand has all upper limits (relaxed,
comfortable, practical) of pairs with the thumb 2 semitones and of other pairs 1 semitone lower or
higher, without a limit falling below its lower neighbour. That is our own choice; that hands
differ by about so much is common experience (an octave or a tenth as the comfortable stretch).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

FINGERS = (1, 2, 3, 4, 5)
THUMB = 1


class HandSize(StrEnum):
    """A hand by what it spans."""

    SMALL = "small"
    MEDIUM = "medium"
    LARGE = "large"


@dataclass(frozen=True, slots=True)
class Span:
    """Limits of the interval from one finger to another, in semitones, rising."""

    min_practical: int
    min_comfortable: int
    min_relaxed: int
    max_relaxed: int
    max_comfortable: int
    max_practical: int

    @property
    def reversed(self) -> Span:
        """The limits from the second finger to the first."""
        return Span(
            -self.max_practical,
            -self.max_comfortable,
            -self.max_relaxed,
            -self.min_relaxed,
            -self.min_comfortable,
            -self.min_practical,
        )


MEDIUM_SPANS: dict[tuple[int, int], Span] = {
    (1, 2): Span(-5, -3, 1, 5, 8, 10),
    (1, 3): Span(-4, -2, 3, 7, 10, 12),
    (1, 4): Span(-3, -1, 5, 9, 12, 14),
    (1, 5): Span(-1, 1, 7, 10, 13, 15),
    (2, 3): Span(1, 1, 1, 2, 3, 5),
    (2, 4): Span(1, 1, 3, 4, 5, 7),
    (2, 5): Span(2, 2, 5, 6, 8, 10),
    (3, 4): Span(1, 1, 1, 2, 2, 4),
    (3, 5): Span(1, 1, 3, 4, 5, 7),
    (4, 5): Span(1, 1, 1, 2, 3, 5),
}


@dataclass(frozen=True, slots=True)
class HandSpans:
    """What a hand spans: a change of the table in semitones, for pairs with and without the thumb.

    ``HandSpans()`` is the published table; a custom hand sets its own figures, -4 to 4.
    """

    with_thumb: int = 0
    without_thumb: int = 0

    @classmethod
    def of(cls, size: HandSize) -> HandSpans:
        """The spans of a small, medium or large hand."""
        return {
            HandSize.SMALL: cls(-2, -1),
            HandSize.MEDIUM: cls(),
            HandSize.LARGE: cls(2, 1),
        }[size]

    @classmethod
    def reaching(cls, semitones: int) -> HandSpans:
        """The spans of a hand whose widest stretch from thumb to little finger is known.

        The published table holds for 15 semitones (a tenth).
        """
        change = max(-4, min(4, semitones - MEDIUM_SPANS[1, 5].max_practical))
        return cls(change, round(change / 2))

    def span(self, finger: int, next_finger: int) -> Span:
        """The limits from one finger to another one, in either order."""
        if finger > next_finger:
            return self.span(next_finger, finger).reversed
        return _changed(self, finger, next_finger)


MEDIUM_HAND = HandSpans()


@lru_cache(maxsize=1024)
def _changed(hand: HandSpans, finger: int, next_finger: int) -> Span:
    span = MEDIUM_SPANS[finger, next_finger]
    more = hand.with_thumb if finger == THUMB else hand.without_thumb
    relaxed = max(span.min_relaxed, span.max_relaxed + more)
    comfortable = max(relaxed, span.max_comfortable + more)
    return Span(
        span.min_practical,
        span.min_comfortable,
        span.min_relaxed,
        relaxed,
        comfortable,
        max(comfortable, span.max_practical + more),
    )
