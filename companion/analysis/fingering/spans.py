"""How far apart two fingers can be: the table of the model, and the size of a hand.

The table is that of Parncutt, Sloboda, Clarke, Raekallio and Desain 1997 ("An ergonomic model of
keyboard fingering for melodic fragments", Music Perception 14:341-382): semitones from the first to
the second finger of the right hand, positive upwards. Two transcriptions of it agree but for the
greatest relaxed span of 1-5, which is 10 here: that value gives the published totals.

Sizes of hands: "medium" is the table. A small or large hand has all upper limits (relaxed,
comfortable, practical) of pairs with the thumb 2 semitones and of other pairs 1 semitone lower or
higher, without a limit falling below its lower neighbour. That tables for small, medium and large
hands are kept apart is from Balliauw, Herremans, Palhazi Cuervo and Soerensen 2017; the figures
are our own choice; that hands differ by about so much is common experience (an octave or a tenth
as the comfortable stretch). A pianist may give the widest stretch of each pair instead: its other
upper limits move along with it.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

from companion.errors import EditRefused

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

PAIRS = tuple(MEDIUM_SPANS)
LARGEST_CHANGE = 5
"""Semitones by which an own stretch may differ from the table: an octave less two to an octave
and a sixth for thumb and little finger."""


@dataclass(frozen=True, slots=True)
class HandSpans:
    """What a hand spans: a change of the table in semitones, for pairs with and without the thumb.

    ``HandSpans()`` is the published table.

    Parameters
    ----------
    widest
        Instead: the widest stretch of each of :data:`PAIRS` in semitones, see :func:`own_spans`.
    """

    with_thumb: int = 0
    without_thumb: int = 0
    widest: tuple[int, ...] = ()

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

    @property
    def size(self) -> HandSize | None:
        """The size that these spans are; None for spans of the pianist's own."""
        return next((size for size in HandSize if HandSpans.of(size) == self), None)

    def span(self, finger: int, next_finger: int) -> Span:
        """The limits from one finger to another one, in either order."""
        if finger > next_finger:
            return self.span(next_finger, finger).reversed
        return _changed(self, finger, next_finger)


MEDIUM_HAND = HandSpans()


def widest_stretches(hand: HandSpans) -> tuple[int, ...]:
    """The widest stretch of each of :data:`PAIRS`, in semitones."""
    return tuple(hand.span(*pair).max_practical for pair in PAIRS)


def stretch_range(pair: tuple[int, int]) -> tuple[int, int]:
    """The least and the most that a pianist can give as the widest stretch of a pair."""
    usual = MEDIUM_SPANS[pair].max_practical
    return max(1, usual - LARGEST_CHANGE), usual + LARGEST_CHANGE


def own_spans(widest: tuple[int, ...]) -> HandSpans:
    """The spans of a hand by the widest stretch of each of :data:`PAIRS`, in semitones.

    Raises
    ------
    EditRefused
        When a stretch is out of the range of a hand, or two fingers reach further than two others
        that enclose them.
    """
    if len(widest) != len(PAIRS):
        raise EditRefused("A hand has ten pairs of fingers, each with its widest stretch.")
    by_pair = dict(zip(PAIRS, widest, strict=True))
    for pair, stretch in by_pair.items():
        least, most = stretch_range(pair)
        if not least <= stretch <= most:
            raise EditRefused(
                f"Fingers {pair[0]} and {pair[1]} stretch {least} to {most} semitones."
            )
    for (low, high), inner in by_pair.items():
        for (lower, higher), outer in by_pair.items():
            if lower <= low and high <= higher and inner > outer:
                raise EditRefused(
                    f"Fingers {low} and {high} cannot reach further than {lower} and {higher}, "
                    "which enclose them."
                )
    for size in HandSize:
        if widest == widest_stretches(HandSpans.of(size)):
            return HandSpans.of(size)
    return HandSpans(widest=widest)


def spans_to_text(hand: HandSpans) -> str:
    """Write spans: the name of a size, or the widest stretches; inverse of the function below."""
    return hand.size.value if hand.size else " ".join(map(str, widest_stretches(hand)))


def spans_from_text(text: str) -> HandSpans:
    """Read spans; inverse of the function above.

    Raises
    ------
    EditRefused
        When the text names no size and holds no stretches of a hand.
    """
    if text in tuple(HandSize):
        return HandSpans.of(HandSize(text))
    try:
        widest = tuple(int(number) for number in text.split())
    except ValueError as error:
        raise EditRefused(f"“{text}” does not say what a hand spans.") from error
    return own_spans(widest)


@lru_cache(maxsize=1024)
def _changed(hand: HandSpans, finger: int, next_finger: int) -> Span:
    span = MEDIUM_SPANS[finger, next_finger]
    if hand.widest:
        more = hand.widest[PAIRS.index((finger, next_finger))] - span.max_practical
    else:
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
