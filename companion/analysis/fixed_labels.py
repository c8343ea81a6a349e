"""Labels that are known beforehand: the analysis of everything else is made to agree with them.

A label that the pianist wrote is no longer in question. The frames that it covers are held to its
key, chord and bass while keys and chords are looked for, so that what lies before and behind is
heard in its light; that is all that changes, and far from it nothing does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Protocol

import numpy as np

from companion.analysis.chords import Chord
from companion.analysis.decoder import member_places
from companion.analysis.frames import Frames, Whole, folded_place
from companion.analysis.network import Evidence, Model
from companion.analysis.spelling import Key

_CERTAIN, _IMPOSSIBLE = 60.0, -1e4
_CHANGES, _STAYS = 1.0, 0.0


class FixedLabel(Protocol):
    """What a stretch is, without doubt; half-open, in quarters as printed."""

    @property
    def start_quarters(self) -> Fraction:
        """Where it begins."""

    @property
    def end_quarters(self) -> Fraction:
        """Where it ends."""

    @property
    def key(self) -> Key:
        """Its key."""

    @property
    def chord(self) -> Chord:
        """Its chord, counted in that key."""

    @property
    def inversion(self) -> int:
        """Which member is its bass."""


def held_to(
    evidence: Evidence, frames: Frames, model: Model, labels: Sequence[FixedLabel]
) -> Evidence:
    """The evidence with the frames of some labels held to their key and chord.

    A chord that the vocabulary does not know leaves the chord open and holds the key alone.
    """
    if not labels or not len(frames):
        return evidence
    states, bass = evidence.states.copy(), evidence.bass.copy()
    change = evidence.change.copy()
    for label in labels:
        inside = covered_frames(frames, label)
        if not len(inside):
            continue
        tonic = folded_place(label.key.tonic_fifths, frames.reference_fifths)
        items = np.array(_items(model, label))
        held = states[inside[:, None], tonic, items[None]] + _CERTAIN
        states[inside] = _IMPOSSIBLE
        states[inside[:, None], tonic, items[None]] = held
        members = member_places(tonic, label.chord)
        bass[inside] = _IMPOSSIBLE
        bass[inside, members[min(label.inversion, len(members) - 1)]] = 0.0
        change[inside] = _STAYS
        for border in (inside[0], inside[-1] + 1):
            if 0 < border < len(change):
                change[border] = _CHANGES
    return replace(evidence, states=states, bass=bass, change=change)


def covered_frames(frames: Frames, label: FixedLabel) -> Whole:
    """The frames whose middle lies under a label."""
    return np.array(
        [
            index
            for index, (start, end) in enumerate(
                zip(frames.starts_quarters, frames.ends_quarters, strict=True)
            )
            if label.start_quarters <= (start + end) / 2 < label.end_quarters
        ],
        dtype=np.int64,
    )


def _items(model: Model, label: FixedLabel) -> list[int]:
    of_mode = [item for item, mode in enumerate(model.modes) if mode is label.key.mode]
    same = [item for item in of_mode if model.chords[item] == label.chord]
    return same or of_mode
