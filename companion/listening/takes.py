"""Where a take begins and ends: with its first note, and with a silence.

Conventions
-----------
- A pure state machine: time comes in with the messages and with :meth:`TakeSegmenter.tick`, as
  seconds on one monotonic clock. Whoever owns it ticks a few times a second.
- A take ends when no key is down and no key has moved for the silence that is set. A held pedal
  keeps nothing open, and a key that seems down for very long is taken for a lost release.
- Inside a take, time counts from its first note. The pedals that were already down stand at 0.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from companion.listening.heard import (
    DRUM_CHANNEL,
    PEDAL_CONTROLLERS,
    SAME_STROKE_SECONDS,
    TimedBytes,
)

DEFAULT_SILENCE_SECONDS = 4.0
"""Long enough to turn a page or think (common practice: a stop is shorter), adjustable."""

LONGEST_HELD_SECONDS = 60.0
"""A key that has not moved for a minute is a lost release, not a held note."""

SHORT_TAKE_NOTES = 3
"""Below this a take is flagged as short: a key touched while dusting. It is kept all the same."""


@dataclass(frozen=True, slots=True)
class TakeBegan:
    """A first note was struck, at this moment of the clock."""

    at_clock_seconds: float


@dataclass(frozen=True, slots=True)
class TakeMessage:
    """A message inside a take: seconds since the take began, and its bytes."""

    at_seconds: float
    message: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeEnded:
    """A take is over.

    Parameters
    ----------
    began_clock_seconds
        When its first note was struck.
    duration_seconds
        From its first note to its last release (to the last key movement, where a key was never
        released).
    note_count
        Keys struck.
    short
        Hardly a take: fewer than :data:`SHORT_TAKE_NOTES` notes.
    """

    began_clock_seconds: float
    duration_seconds: float
    note_count: int
    short: bool


TakeStep = TakeBegan | TakeMessage | TakeEnded


class TakeSegmenter:
    """Cuts the stream of messages into takes.

    Parameters
    ----------
    silence_seconds
        How long nothing must happen for the take to end; may be changed at any time.
    ignore_drum_channel
        False takes channel 10 for a keyboard like any other.
    """

    def __init__(
        self,
        silence_seconds: float = DEFAULT_SILENCE_SECONDS,
        *,
        ignore_drum_channel: bool = True,
    ) -> None:
        self.silence_seconds = silence_seconds
        self._ignored_channel = DRUM_CHANNEL if ignore_drum_channel else -1
        self._began: float | None = None
        self._last_key_seconds = 0.0
        self._last_message_seconds = float("-inf")
        self._note_count = 0
        self._down: dict[int, float] = {}
        self._pedals: dict[tuple[int, int], int] = {}

    @property
    def in_take(self) -> bool:
        """Whether a take is going on."""
        return self._began is not None

    @property
    def note_count(self) -> int:
        """Keys struck in the take that is going on."""
        return self._note_count

    def hear(self, event: TimedBytes) -> list[TakeStep]:
        """Take one message; returns what it means, in order (often just itself)."""
        message = event.message
        # Held against the last message only: a tick may have run ahead of messages that waited.
        now = self._last_message_seconds = max(self._last_message_seconds, event.at_seconds)
        steps: list[TakeStep] = [*self.tick(now)]
        kind, channel = message[0] & 0xF0, message[0] & 0x0F
        strikes = kind == 0x90 and message[2] > 0 and channel != self._ignored_channel
        if self._began is None:
            if strikes:
                steps += self._begin(now)
            else:
                self._remember_pedal(message)
                return steps
        self._remember_pedal(message)
        if strikes:
            self._strike(now, message[1])
        elif kind in (0x80, 0x90) and message[1] in self._down:
            del self._down[message[1]]
            self._last_key_seconds = now
        steps.append(TakeMessage(now - (self._began or 0.0), message))
        return steps

    def tick(self, now_seconds: float) -> list[TakeEnded]:
        """Tell the time; returns the take that has ended by now, if any.

        Hand over all messages that wait before ticking, or a take may be cut in two.
        """
        if self._began is None:
            return []
        limit = LONGEST_HELD_SECONDS if self._down else self.silence_seconds
        if now_seconds - self._last_key_seconds < max(limit, self.silence_seconds):
            return []
        return self.finish()

    def finish(self) -> list[TakeEnded]:
        """End the take that is going on, whatever is down: the window is closed."""
        if self._began is None:
            return []
        ended = TakeEnded(
            began_clock_seconds=self._began,
            duration_seconds=self._last_key_seconds - self._began,
            note_count=self._note_count,
            short=self._note_count < SHORT_TAKE_NOTES,
        )
        self._began = None
        self._note_count = 0
        self._down.clear()
        return [ended]

    def _begin(self, now: float) -> list[TakeStep]:
        self._began = self._last_key_seconds = now
        down = [
            TakeMessage(0.0, bytes((0xB0 | channel, controller, value)))
            for (channel, controller), value in sorted(self._pedals.items())
            if value
        ]
        return [TakeBegan(now), *down]

    def _strike(self, now: float, pitch: int) -> None:
        struck_before = self._down.get(pitch)
        if struck_before is None or now - struck_before >= SAME_STROKE_SECONDS:
            self._note_count += 1  # otherwise the same stroke on another channel of a layer
            self._down[pitch] = now
        self._last_key_seconds = now

    def _remember_pedal(self, message: bytes) -> None:
        if message[0] & 0xF0 == 0xB0 and message[1] in PEDAL_CONTROLLERS:
            self._pedals[message[0] & 0x0F, message[1]] = message[2]


@dataclass(frozen=True, slots=True, kw_only=True)
class CutTake:
    """One take out of a longer recording: where it began there, and its messages."""

    began_seconds: float
    duration_seconds: float
    note_count: int
    messages: tuple[TakeMessage, ...]


def cut_into_takes(
    events: Iterable[TimedBytes], silence_seconds: float = DEFAULT_SILENCE_SECONDS
) -> tuple[CutTake, ...]:
    """Cut a long recording, for instance of a whole hour, at its silences.

    Channel 10 counts as a keyboard when nothing else was played, as in
    :func:`companion.listening.heard.heard_from`.
    """
    events = list(events)
    takes = _cut(events, TakeSegmenter(silence_seconds))
    return takes or _cut(events, TakeSegmenter(silence_seconds, ignore_drum_channel=False))


def _cut(events: Sequence[TimedBytes], segmenter: TakeSegmenter) -> tuple[CutTake, ...]:
    takes: list[CutTake] = []
    messages: list[TakeMessage] = []
    for step in _steps(events, segmenter):
        if isinstance(step, TakeMessage):
            messages.append(step)
        elif isinstance(step, TakeEnded):
            takes.append(
                CutTake(
                    began_seconds=step.began_clock_seconds,
                    duration_seconds=step.duration_seconds,
                    note_count=step.note_count,
                    messages=tuple(messages),
                )
            )
            messages.clear()
    return tuple(takes)


def _steps(events: Sequence[TimedBytes], segmenter: TakeSegmenter) -> Iterator[TakeStep]:
    for event in events:
        yield from segmenter.hear(event)
    yield from segmenter.finish()
