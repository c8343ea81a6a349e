"""What of the notes just heard bears on the next one: how loud, how long ago, a trill."""

from __future__ import annotations

from dataclasses import dataclass

from companion.listening.decoding.costs import Costs

PAUSE_SECONDS = 0.4
"""No pause is shorter: time for the hands to move."""

LOUDNESS_LEARNING = 0.1
"""Share of a new velocity in the running one."""

TRILL_SECONDS = 0.4
"""A key of a trill comes back within this time, between keys a tone apart at most."""


@dataclass(frozen=True, slots=True)
class RecentNotes:
    """The notes just heard.

    Parameters
    ----------
    count
        Notes heard so far.
    last_seconds
        When the last one was struck.
    velocity
        Running mean of the velocities.
    last_pitch, pitch_before, seconds_before
        Key of the last note, key and time of the one before it; -1 before there are any.
    """

    count: int = 0
    last_seconds: float = 0.0
    velocity: float = 64.0
    last_pitch: int = -1
    pitch_before: int = -1
    seconds_before: float = 0.0

    def with_one_more(self, seconds: float, pitch: int, velocity: int) -> RecentNotes:
        """The notes after one more."""
        loudness = self.velocity if self.count else float(velocity)
        loudness += LOUDNESS_LEARNING * (velocity - loudness)
        return RecentNotes(
            self.count + 1, seconds, loudness, pitch, self.last_pitch, self.last_seconds
        )

    def is_soft(self, velocity: int, costs: Costs) -> bool:
        """Whether a note is much softer than those before it."""
        return velocity < costs.soft * self.velocity

    def alternates(self, seconds: float, pitch: int) -> bool:
        """Whether this note goes back and forth quickly with a near key: a trill."""
        if self.count < 2 or self.pitch_before != pitch:
            return False
        near = 0 < abs(self.last_pitch - pitch) <= 2
        return near and seconds - self.seconds_before < TRILL_SECONDS


@dataclass(frozen=True, slots=True)
class Wait:
    """The time before a note, and what it says.

    Parameters
    ----------
    seconds
        Since the note before.
    hesitation
        What it costs whoever goes on.
    readiness
        What it says against a new start; the less, the readier.
    pause
        Whether the music stood still.
    """

    seconds: float
    hesitation: float
    readiness: float
    pause: bool
