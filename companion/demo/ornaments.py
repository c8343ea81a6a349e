"""Ornament signs as the strokes that a pianist makes of them (common practice)."""

from __future__ import annotations

from dataclasses import dataclass

_MAJOR_STEPS = (0, 2, 4, 5, 7, 9, 11)

TRILL_NOTES_PER_SECOND = 11.0
"""A comfortable trill (common practice: 10 to 14 strokes a second)."""

_SHORT_STROKE_SECONDS = 0.075


@dataclass(frozen=True, slots=True)
class OrnamentStroke:
    """One stroke: seconds after the written onset, length and pitch."""

    after_seconds: float
    lasts_seconds: float
    pitch: int


def scale_of(key_fifths: int) -> frozenset[int]:
    """Pitch classes of the major scale with that key signature."""
    tonic = key_fifths * 7 % 12
    return frozenset((tonic + step) % 12 for step in _MAJOR_STEPS)


def upper_neighbour(pitch: int, key_fifths: int) -> int:
    """The next pitch above in the key."""
    scale = scale_of(key_fifths)
    return next(p for p in range(pitch + 1, pitch + 4) if p % 12 in scale)


def lower_neighbour(pitch: int, key_fifths: int) -> int:
    """The next pitch below in the key."""
    scale = scale_of(key_fifths)
    return next(p for p in range(pitch - 1, pitch - 4, -1) if p % 12 in scale)


def realised(
    ornament: str, pitch: int, key_fifths: int, lasts_seconds: float
) -> tuple[OrnamentStroke, ...]:
    """Strokes of an ornament sign over a note of that length; empty for signs left unplayed."""
    upper, lower = upper_neighbour(pitch, key_fifths), lower_neighbour(pitch, key_fifths)
    if ornament == "trill":
        return _trill(pitch, upper, lasts_seconds)
    short = {
        "mordent": (pitch, lower, pitch),
        "inverted mordent": (pitch, upper, pitch),
        "turn": (upper, pitch, lower, pitch),
        "inverted turn": (lower, pitch, upper, pitch),
        "delayed turn": (pitch, upper, pitch, lower, pitch),
        "delayed inverted turn": (pitch, lower, pitch, upper, pitch),
    }.get(ornament)
    return () if short is None else _quick_then_held(short, lasts_seconds)


def _trill(pitch: int, upper: int, lasts_seconds: float) -> tuple[OrnamentStroke, ...]:
    count = max(3, round(lasts_seconds * TRILL_NOTES_PER_SECOND))
    count += 1 - count % 2  # from the main note, and ending on it
    each = lasts_seconds / count
    return tuple(
        OrnamentStroke(i * each, each * 0.9, upper if i % 2 else pitch) for i in range(count)
    )


def _quick_then_held(pitches: tuple[int, ...], lasts_seconds: float) -> tuple[OrnamentStroke, ...]:
    each = min(_SHORT_STROKE_SECONDS, lasts_seconds * 0.8 / len(pitches))
    quick = [OrnamentStroke(i * each, each * 0.9, p) for i, p in enumerate(pitches[:-1])]
    start = each * len(quick)
    return (*quick, OrnamentStroke(start, lasts_seconds - start, pitches[-1]))
