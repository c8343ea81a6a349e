"""A sitting at the piano: what is played becomes takes, without a button.

Conventions
-----------
- One thread owns a :class:`Sitting` and calls it; nothing in it waits for a disk or a port.
- Events carry seconds of a monotonic clock. The wall clock is asked once per take, at its first
  note; when it is set forwards or back, takes keep their lengths.
- Callbacks are plain callables, run in the caller's thread.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Protocol

from companion.history.fingerprints import Fingerprint
from companion.history.model import RawEvent, Take, TakeSource, new_id
from companion.listening.heard import NoteBuilder, TimedBytes
from companion.listening.notes import HeardNote, Place
from companion.listening.takes import (
    DEFAULT_SILENCE_SECONDS,
    TakeBegan,
    TakeEnded,
    TakeMessage,
    TakeSegmenter,
    TakeStep,
)
from companion.storage.journal import Journal, OpenTake

if TYPE_CHECKING:
    from concurrent.futures import Future


MOST_NOTES_BEHIND = 256
"""When following is so many notes behind (an instrument that floods, a computer that stood still),
it begins anew with the newest note instead of catching up."""


class Follows(Protocol):
    """What says where the player is: :class:`companion.listening.follower.Follower`."""

    def forget(self) -> None:
        """Begin a new take: nothing is known of where the player is."""

    def hear(self, note: HeardNote) -> Place | None:
        """Take one more note of the take and say where it stands in the score."""


@dataclass(frozen=True, slots=True)
class SittingEvents:
    """Who wants to know what happens; nobody by default.

    Parameters
    ----------
    on_take_begun
        Called with the take as far as it is known: id, piece, moment, source.
    on_note
        Called with each key struck and the place of it, None when the player is lost or no piece
        is on the stand.
    on_take_finished
        Called with the whole take, its events included.
    """

    on_take_begun: Callable[[Take], None] = lambda take: None
    on_note: Callable[[Place | None, HeardNote], None] = lambda place, note: None
    on_take_finished: Callable[[Take], None] = lambda take: None


@dataclass(slots=True)
class _Playing:
    """The take that is going on."""

    take: Take
    events: list[RawEvent]
    notes: NoteBuilder
    open_take: OpenTake | None
    heard: list[HeardNote]
    fingerprint: Fingerprint
    from_memory: bool
    looked: bool = False
    followed: int = 0


class Sitting:
    """Hears the piano and makes takes of it.

    Parameters
    ----------
    events
        Who is told.
    journal
        Where takes are kept while they are played; None while the history cannot be used. Takes
        then wait in memory, see :meth:`keep_in`.
    zone
        IANA name of the player's time zone.
    silence_seconds
        After how much silence a take ends.
    now
        Gives the present moment (UTC), replaced in tests.
    follow_after_seconds
        How long to wait before a follower is made: to make it takes Python's lock from the window
        just when that paints a new piece.
    """

    def __init__(
        self,
        events: SittingEvents,
        *,
        journal: Journal | None,
        zone: str,
        silence_seconds: float = DEFAULT_SILENCE_SECONDS,
        now: Callable[[], datetime] = lambda: datetime.now(UTC),
        follow_after_seconds: float = 0.0,
    ) -> None:
        self.instrument = ""
        self._events = events
        self._journal = journal
        self._zone = zone
        self._now = now
        self._follow_after_seconds = follow_after_seconds
        self._segmenter = TakeSegmenter(silence_seconds)
        self._playing: _Playing | None = None
        self._piece_id: str | None = None
        self._follower: Future[Follows] | None = None
        self._in_memory: list[Take] = []
        self._from_memory = False
        self._follow_until_seconds = math.inf

    @property
    def in_take(self) -> bool:
        """Whether a take is going on."""
        return self._playing is not None

    @property
    def takes_in_memory(self) -> tuple[Take, ...]:
        """Finished takes that wait for a history."""
        return tuple(self._in_memory)

    def set_silence_seconds(self, silence_seconds: float) -> None:
        """Change after how much silence a take ends."""
        self._segmenter.silence_seconds = silence_seconds

    def set_zone(self, zone: str) -> None:
        """Note this time zone (its IANA name) with the takes that begin from now on."""
        self._zone = zone

    def set_from_memory(self, from_memory: bool) -> None:
        """Note takes as played from memory from now on, or no longer.

        A take is one from memory when this held from its first key to its last. Who looks at the
        score in the silence that ends it has played from memory all the same.
        """
        self._from_memory = from_memory
        if self._playing is not None and not from_memory:
            self._playing.looked = True

    def put_on_stand(
        self, piece_id: str | None, make_follower: Callable[[], Follows] | None = None
    ) -> None:
        """Put another piece on the stand, or none; a take that is going on ends and keeps its own.

        Parameters
        ----------
        make_follower
            Makes what follows the player through the score of that piece. It takes a moment for a
            long score, so it is called once, in a thread of its own; until it has come, notes have
            no place, and then it hears them all.
        """
        self.finish()
        self._piece_id = piece_id
        self._follower = (
            _made_apart(make_follower, self._follow_after_seconds) if make_follower else None
        )

    def wait_for_follower(self, timeout_seconds: float) -> None:
        """Wait until the follower has been made: for tests and for playing without a window."""
        if self._follower is not None:
            self._follower.result(timeout_seconds)

    def keep_in(self, journal: Journal | None) -> None:
        """Use this journal from now on, and write what waited in memory; None: the disk is gone."""
        self._journal = journal
        if journal is None:
            return
        waiting, self._in_memory = self._in_memory, []
        for take in waiting:
            journal.begin_take(take).finish(take)
        playing = self._playing
        if playing is not None and playing.open_take is None:
            playing.open_take = journal.begin_take(playing.take)
            playing.open_take.append(playing.events)

    def hear(
        self,
        event: TimedBytes,
        source: TakeSource = TakeSource.PIANO,
        *,
        follow_until_seconds: float = math.inf,
    ) -> None:
        """Take one channel message with its seconds on the monotonic clock.

        Parameters
        ----------
        follow_until_seconds
            Moment of ``time.perf_counter`` after which no further note is followed now. Everything
            is kept all the same; the place is caught up with the next messages.
        """
        self._follow_until_seconds = follow_until_seconds
        for step in self._segmenter.hear(event):
            self._go_on(step, source)

    def tick(self, now_seconds: float) -> None:
        """Tell the time on the monotonic clock, a few times a second: a silence ends the take."""
        for step in self._segmenter.tick(now_seconds):
            self._end(step)

    def finish(self) -> None:
        """End the take that is going on: the window closes or another piece is opened."""
        for step in self._segmenter.finish():
            self._end(step)

    def _go_on(self, step: TakeStep, source: TakeSource) -> None:
        if isinstance(step, TakeBegan):
            self._begin(source)
        elif isinstance(step, TakeEnded):
            self._end(step)
        else:
            self._hear(step)

    def _begin(self, source: TakeSource) -> None:
        take = Take(
            take_id=new_id(),
            piece_id=self._piece_id,
            started_at=self._now(),
            zone=self._zone,
            source=source,
            duration_seconds=0.0,
            note_count=0,
            instrument=self.instrument,
        )
        self._playing = _Playing(
            take=take,
            events=[],
            notes=NoteBuilder(),
            open_take=self._journal.begin_take(take) if self._journal else None,
            heard=[],
            fingerprint=Fingerprint(),
            from_memory=self._from_memory,
        )
        self._events.on_take_begun(take)

    def _hear(self, step: TakeMessage) -> None:
        playing = self._playing
        if playing is None:
            return
        event = RawEvent(step.at_seconds, step.message)
        playing.events.append(event)
        if playing.open_take is not None:
            playing.open_take.append((event,))  # before all else: kept first, shown second
        playing.fingerprint.hear(step.message)
        heard = playing.notes.hear(event)
        if isinstance(heard, HeardNote):
            playing.from_memory = playing.from_memory and not playing.looked
            playing.heard.append(heard)
            self._events.on_note(self._place(playing), heard)

    def _place(self, playing: _Playing) -> Place | None:
        """Let the follower hear what it has not heard yet; the place of the last note."""
        if self._follower is None or not self._follower.done():
            return None
        follower = self._follower.result()
        if not playing.followed:
            follower.forget()
        if len(playing.heard) - playing.followed > MOST_NOTES_BEHIND:
            follower.forget()
            playing.followed = len(playing.heard) - 1
        place = None
        for note in playing.heard[playing.followed :]:
            if time.perf_counter() >= self._follow_until_seconds:
                return None
            place = follower.hear(note)
            playing.followed += 1
        return place

    def _end(self, ended: TakeEnded) -> None:
        playing, self._playing = self._playing, None
        if playing is None:
            return
        take = replace(
            playing.take,
            duration_seconds=ended.duration_seconds,
            note_count=ended.note_count,
            events=tuple(playing.events),
            content_hash=str(playing.fingerprint),
            from_memory=playing.from_memory,
        )
        if playing.open_take is not None:
            playing.open_take.finish(take)
        else:
            self._in_memory.append(take)
        self._events.on_take_finished(take)


def _made_apart(make: Callable[[], Follows], after_seconds: float) -> Future[Follows]:
    """Call a function in a thread of its own, a little later."""
    from concurrent.futures import Future  # here: the window opens earlier without it

    made: Future[Follows] = Future()

    def work() -> None:
        try:
            time.sleep(after_seconds)
            made.set_result(make())
        except BaseException as error:  # noqa: BLE001 - raised again where the follower is needed
            made.set_exception(error)

    threading.Thread(target=work, name="follower", daemon=True).start()
    return made
