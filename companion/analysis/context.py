"""What lies around a frame: the same tables averaged over shorter and longer surroundings.

A chord is heard by what sounds now and shortly before and after, a key by what sounds over many
measures. Each surrounding is one more channel, so that the network itself needs no memory.
"""

from __future__ import annotations

import numpy as np

from companion.analysis.frames import (
    ATTACK,
    HIGHEST,
    LOWEST,
    METER_CHANNELS,
    NO_PITCH,
    PLACES,
    REGISTER_CHANNELS,
    SIGNATURE,
    SIGNATURE_TONIC,
    Floats,
    Frames,
)

# first and last frame of each surrounding, counted from the frame itself
SOUNDING_WINDOWS = ((-1, -1), (1, 1), (-4, -2), (2, 4), (-10, -5), (5, 10), (-24, 24), (-80, 80))
BASS_WINDOWS = ((-4, -1), (1, 4))
LOWEST_WINDOWS = ((-1, 1), (-4, 0), (0, 4))
CONTEXT_CHANNELS = 7 + len(SOUNDING_WINDOWS) + len(BASS_WINDOWS) + len(LOWEST_WINDOWS)

_LONG_WINDOW, _LONG_WEIGHT = 10, 3.0  # averages over long windows are small numbers


def context_of(frames: Frames) -> tuple[Floats, Floats]:
    """The channels by place, shape (frames, PLACES, CONTEXT_CHANNELS), and those of the meter."""
    table = frames.table
    registers = table[:, :, :REGISTER_CHANNELS]
    sounding = np.minimum(registers.sum(2), 1.5)
    channels = [
        sounding,
        registers[:, :, 0] + 0.5 * registers[:, :, 1],
        table[:, :, ATTACK],
        table[:, :, LOWEST],
        table[:, :, HIGHEST],
        table[:, :, SIGNATURE],
        table[:, :, SIGNATURE_TONIC],
    ]
    for first, last in SOUNDING_WINDOWS:
        weight = _LONG_WEIGHT if last - first > _LONG_WINDOW else 1.0
        channels.append(weight * averaged(sounding, first, last))
    channels += [averaged(table[:, :, LOWEST], *window) for window in BASS_WINDOWS]
    channels += [_lowest_around(frames, *window) for window in LOWEST_WINDOWS]
    return np.stack(channels, axis=2), table[:, 0, METER_CHANNELS:]


def averaged(values: Floats, first: int, last: int) -> Floats:
    """Means over the frames from ``first`` to ``last``, counted from each frame itself."""
    count = len(values)
    sums = np.concatenate([np.zeros_like(values[:1]), np.cumsum(values, axis=0)])
    begin = np.clip(np.arange(count) + first, 0, count)
    end = np.clip(np.arange(count) + last + 1, 0, count)
    result: Floats = ((sums[end] - sums[begin]) / (last - first + 1)).astype(np.float32)
    return result


def _lowest_around(frames: Frames, first: int, last: int) -> Floats:
    """Marks the place of the lowest note in a surrounding: the bass of a broken chord."""
    count = len(frames)
    lowest = np.full(count, NO_PITCH)
    place = np.zeros(count, dtype=np.int64)
    for shift in range(first, last + 1):
        source = np.clip(np.arange(count) + shift, 0, max(0, count - 1))
        lower = frames.lowest_pitches[source] < lowest
        lowest = np.where(lower, frames.lowest_pitches[source], lowest)
        place = np.where(lower, frames.lowest_places[source], place)
    marks = np.zeros((count, PLACES), dtype=np.float32)
    marks[np.arange(count), place] = lowest < NO_PITCH
    return marks
