"""How long each written measure really is, and which meter and key hold in it.

The length of a measure is what stands in it, not what the time signature says: upbeats, measures
that a repeat divides, cadenzas. Only a measure that is too short without a reason (the encoder
left out rests) is taken as long as its meter.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from companion.score.model import Measure

if TYPE_CHECKING:
    from collections.abc import Sequence

    from companion.score.reading.written import WrittenMeasure

ROUNDING_QUARTERS = Fraction(1, 12)
"""Files with few divisions write triplets in rounded numbers: so much is no real difference."""


def lay_out(written: Sequence[WrittenMeasure]) -> tuple[Measure, ...]:
    """Give every measure its place, length, meter and key."""
    contexts = _contexts(written)
    nominal = [Fraction(4 * beats, beat_type) for beats, beat_type, _ in contexts]
    result: list[Measure] = []
    start = Fraction(0)
    for place, (measure, (beats, beat_type, fifths)) in enumerate(
        zip(written, contexts, strict=True)
    ):
        duration = _length(written, nominal, place)
        result.append(
            Measure(
                index=measure.index,
                number=measure.number,
                start_quarters=start,
                duration_quarters=duration,
                beats=beats,
                beat_type=beat_type,
                key_fifths=fifths,
            )
        )
        start += duration
    return tuple(result)


def _contexts(written: Sequence[WrittenMeasure]) -> list[tuple[int, int, int]]:
    beats, beat_type, fifths = 4, 4, 0
    contexts = []
    for measure in written:
        # a change in the middle of a measure holds from the next one on
        opening_keys = [key for key in measure.keys if not key.offset_quarters]
        if opening_keys:
            fifths = opening_keys[-1].fifths
        opening_meters = [meter for meter in measure.meters if not meter.offset_quarters]
        if opening_meters and opening_meters[-1].beats:
            beats, beat_type = opening_meters[-1].beats, opening_meters[-1].beat_type
        contexts.append((beats, beat_type, fifths))
        if measure.keys:
            fifths = measure.keys[-1].fifths
        if measure.meters and measure.meters[-1].beats:
            beats, beat_type = measure.meters[-1].beats, measure.meters[-1].beat_type
    return contexts


def _length(written: Sequence[WrittenMeasure], nominal: Sequence[Fraction], place: int) -> Fraction:
    measure, meter_quarters = written[place], nominal[place]
    content = measure.content_quarters
    if measure.rest_quarters and not content:
        # a rest for the whole measure is as long as the measure, whatever duration it claims,
        # except in an upbeat or a cadenza
        return measure.rest_quarters if measure.implicit else meter_quarters
    if measure.rest_quarters and measure.rest_quarters <= meter_quarters:
        content = max(content, measure.rest_quarters)
    if not content:
        return meter_quarters
    if abs(content - meter_quarters) <= ROUNDING_QUARTERS and content != meter_quarters:
        return content if measure.implicit and content < meter_quarters else meter_quarters
    if content > meter_quarters or measure.implicit:
        return content
    return content if _has_reason_to_be_short(written, nominal, place) else meter_quarters


def _has_reason_to_be_short(
    written: Sequence[WrittenMeasure], nominal: Sequence[Fraction], place: int
) -> bool:
    """Tell an upbeat, a last measure or half a measure from one with forgotten rests."""
    if place in (0, len(written) - 1):
        return True
    measure = written[place]
    before, after = written[place - 1], written[place + 1]
    own = measure.content_quarters
    # the two halves of one measure, divided by a repeat, an ending or a change of key
    if own + before.content_quarters == nominal[place]:
        return True
    if own + after.content_quarters == nominal[place]:
        return True
    borders = (
        any(line.repeat or line.ending_type or line.style for line in measure.barlines),
        any(not line.left and (line.repeat or line.style) for line in before.barlines),
        any(line.left and (line.repeat or line.style) for line in after.barlines),
    )
    return any(borders)
