"""The units of time and the only conversions between them.

- *quarters*: score time in quarter notes, an exact ``Fraction`` in the score, a float in analysis
- *beats*: what the meter counts; a beat is ``beat_quarters`` quarters long (3/2 in fast 6/8)
- *seconds*: clock time, float; *ms*: thousandths of a second, only for display and small spans
- *ticks*: time in a standard MIDI file, int
- *quarters_per_minute*: tempo in code. On screen it is beats per minute with the beat unit named.

Functions are named from_to; each has its formula and its inverse.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field
from fractions import Fraction

MICROSECONDS_PER_MINUTE = 60_000_000
DEFAULT_MICROSECONDS_PER_QUARTER = 500_000  # MIDI 1.0: 120 quarters a minute until told otherwise


def quarters_per_minute_to_microseconds_per_quarter(quarters_per_minute: float) -> int:
    """``60e6 / quarters_per_minute``, rounded; inverse of the function below."""
    return round(MICROSECONDS_PER_MINUTE / quarters_per_minute)


def microseconds_per_quarter_to_quarters_per_minute(microseconds_per_quarter: int) -> float:
    """``60e6 / microseconds_per_quarter``; inverse of the function above."""
    return MICROSECONDS_PER_MINUTE / microseconds_per_quarter


def quarters_to_seconds(quarters: Fraction | float, quarters_per_minute: float) -> float:
    """``60 * quarters / quarters_per_minute``; inverse :func:`seconds_to_quarters`."""
    return 60.0 * float(quarters) / quarters_per_minute


def seconds_to_quarters(seconds: float, quarters_per_minute: float) -> float:
    """``seconds * quarters_per_minute / 60``; inverse :func:`quarters_to_seconds`."""
    return seconds * quarters_per_minute / 60.0


def beats_per_minute_to_quarters_per_minute(
    beats_per_minute: float, beat_quarters: Fraction | float
) -> float:
    """``beats_per_minute * beat_quarters``: a dotted quarter at 60 is 90 quarters a minute."""
    return beats_per_minute * float(beat_quarters)


def quarters_per_minute_to_beats_per_minute(
    quarters_per_minute: float, beat_quarters: Fraction | float
) -> float:
    """``quarters_per_minute / beat_quarters``; inverse of the function above."""
    return quarters_per_minute / float(beat_quarters)


@dataclass(frozen=True, slots=True)
class TempoMap:
    """Ticks to seconds for one standard MIDI file.

    Parameters
    ----------
    ticks_per_quarter
        Division of the file.
    changes
        ``(tick, microseconds_per_quarter)`` in rising order of tick; before the first one the
        default of MIDI 1.0 holds.
    """

    ticks_per_quarter: int
    changes: tuple[tuple[int, int], ...] = ()
    _from_tick: tuple[int, ...] = field(init=False, repr=False, compare=False)
    _from_seconds: tuple[float, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Add up the seconds to each change once: a file may have thousands of them."""
        ticks, seconds = [0], [0.0]
        tempo = DEFAULT_MICROSECONDS_PER_QUARTER
        for tick, new_tempo in self.changes:
            seconds.append(seconds[-1] + self._span_seconds(tick - ticks[-1], tempo))
            ticks.append(tick)
            tempo = new_tempo
        object.__setattr__(self, "_from_tick", tuple(ticks))
        object.__setattr__(self, "_from_seconds", tuple(seconds))

    def ticks_to_seconds(self, ticks: int) -> float:
        """Seconds from the start of the file to ``ticks``."""
        place = bisect_right(self._from_tick, ticks) - 1
        tempo = self.changes[place - 1][1] if place > 0 else DEFAULT_MICROSECONDS_PER_QUARTER
        return self._from_seconds[place] + self._span_seconds(ticks - self._from_tick[place], tempo)

    def _span_seconds(self, ticks: int, microseconds_per_quarter: int) -> float:
        return ticks * microseconds_per_quarter / self.ticks_per_quarter / 1e6


METRONOME_MARKS: tuple[int, ...] = (
    *range(40, 60, 2),
    *range(60, 72, 3),
    *range(72, 120, 4),
    *range(120, 144, 6),
    *range(144, 209, 8),
)
"""The 39 marks of the traditional metronome, 40 to 208: a tempo ladder (common practice)."""


def next_metronome_mark(beats_per_minute: float) -> int:
    """Return the next faster mark of the traditional metronome, at most 208."""
    place = bisect_right(METRONOME_MARKS, beats_per_minute)
    return METRONOME_MARKS[min(place, len(METRONOME_MARKS) - 1)]
