"""The journal: what is played is on the disk a moment later, written by a thread of its own.

The player's thread only hands events over; it never waits for the disk. The writer wakes at the
first event and commits what has gathered every ``interval_seconds``, so that a killed program
loses at most the last quarter of a second. When the disk fails, everything stays in memory and is
tried again, and whoever asked for it is told once when trouble begins and once when it ends.
"""

from __future__ import annotations

import logging
import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace

from companion.errors import HistoryUnavailable
from companion.history.model import RawEvent, Take
from companion.storage.history_file import HistoryFile

_log = logging.getLogger(__name__)

INTERVAL_SECONDS = 0.1
"""How long events gather before they are written. Well below the promised 250 ms, to leave time
for the write itself."""

RETRY_SECONDS = 2.0
"""How long a failing disk is left alone before the next attempt."""


class OpenTake:
    """A take that is being played. Its methods return at once; the journal writes.

    Parameters
    ----------
    take
        What is known at its beginning: id, piece, moment, source.
    """

    def __init__(self, take: Take, wake: Callable[[], None]) -> None:
        self.take = take
        self._wake = wake
        self._lock = threading.Lock()
        self._events: list[RawEvent] = []
        self._written = 0
        self._final: Take | None = None
        self._begun = False
        self._chunk = 0

    def append(self, events: Sequence[RawEvent]) -> None:
        """Hand over events in the order in which they came."""
        with self._lock:
            self._events.extend(events)
        self._wake()

    def finish(self, take: Take) -> None:
        """End the take; ``take.events`` holds all its events."""
        with self._lock:
            self._final = take
            self._events.clear()
            self._written = 0
        self._wake()

    def start_over(self) -> None:
        """Write everything once more, from the beginning: into another file."""
        with self._lock:
            self._begun, self._chunk, self._written = False, 0, 0
        self._wake()

    def write_to(self, history: HistoryFile) -> bool:
        """Write what is waiting; only the journal calls this.

        Writing again after a failure is harmless, whether or not the failed attempt had reached the
        disk: a chunk carries its number and replaces itself.

        Returns
        -------
        bool
            True when the take is finished and nothing of it is left to write.
        """
        with self._lock:
            final, waiting = self._final, tuple(self._events[self._written :])
        if final is not None:
            history.save_take(final)
            return True
        if not self._begun:
            history.begin_take(self.take)
            self._begun = True
        if waiting:
            history.write_chunk(self.take.take_id, self._chunk, waiting)
            self._chunk += 1
            with self._lock:
                if self._final is None:
                    self._written += len(waiting)
        return False

    @property
    def as_it_stands(self) -> Take:
        """The finished take, or what was handed over of it so far."""
        with self._lock:
            return self._final or replace(self.take, events=tuple(self._events))

    @property
    def final(self) -> Take | None:
        """The finished take, None while it is played."""
        return self._final

    @property
    def is_over(self) -> bool:
        """True once the take was finished."""
        return self._final is not None

    @property
    def is_waiting(self) -> bool:
        """True while something is not on the disk yet."""
        return self._written < len(self._events) or self.is_over or not self._begun


class Journal:
    """Writes takes while they are played.

    Callbacks run on the journal's thread.

    Parameters
    ----------
    history
        The open history file.
    on_saved
        Called with each finished take once it is safe on the disk.
    on_trouble
        Called with one plain sentence when writing begins to fail.
    on_recovered
        Called when everything that waited is written again.
    """

    def __init__(
        self,
        history: HistoryFile,
        *,
        on_saved: Callable[[Take], None] = lambda take: None,
        on_trouble: Callable[[str], None] = lambda sentence: None,
        on_recovered: Callable[[], None] = lambda: None,
        interval_seconds: float = INTERVAL_SECONDS,
        retry_seconds: float = RETRY_SECONDS,
    ) -> None:
        self._history = history
        self._on_saved = on_saved
        self._on_trouble = on_trouble
        self._on_recovered = on_recovered
        self._interval_seconds = interval_seconds
        self._retry_seconds = retry_seconds
        self._open: deque[OpenTake] = deque()
        self._lock = threading.Lock()
        self._writing = threading.Lock()
        self._work = threading.Event()
        self._closing = threading.Event()
        self._idle = threading.Event()
        self._idle.set()
        self._failing = False
        self._thread = threading.Thread(target=self._run, name="journal", daemon=True)
        self._thread.start()

    def begin_take(self, take: Take) -> OpenTake:
        """Begin to keep a take; returns at once."""
        open_take = OpenTake(replace(take, events=()), self._wake)
        with self._lock:
            self._open.append(open_take)
        self._wake()
        return open_take

    @property
    def unsaved_takes(self) -> int:
        """How many finished takes are in memory only."""
        with self._lock:
            return sum(1 for open_take in self._open if open_take.is_over)

    def unsaved(self) -> tuple[Take, ...]:
        """What is not wholly on the disk, with its events; after :meth:`close` for good."""
        with self._lock:
            return tuple(one.as_it_stands for one in self._open if one.is_waiting)

    @contextmanager
    def held(self) -> Iterator[None]:
        """Write nothing meanwhile: the history goes on with another file.

        Afterwards the takes that are being played are written from their beginning.
        """
        with self._writing:
            yield
            with self._lock:
                at_work = tuple(self._open)
            for open_take in at_work:
                open_take.start_over()

    def flush(self, timeout_seconds: float) -> bool:
        """Wait until all is written; False when it took too long or the disk fails."""
        return self._idle.wait(timeout_seconds)

    def close(self, timeout_seconds: float = 5.0) -> bool:
        """Write what is left and end the thread; False when something could not be written."""
        self._closing.set()
        self._work.set()
        self._thread.join(timeout_seconds)
        with self._lock:
            return not any(open_take.is_waiting for open_take in self._open)

    def _wake(self) -> None:
        with self._lock:
            self._idle.clear()
            self._work.set()

    def _run(self) -> None:
        while True:
            self._work.wait()
            # Let events gather; closing cuts the wait short.
            self._closing.wait(self._retry_seconds if self._failing else self._interval_seconds)
            self._work.clear()
            with self._writing:
                self._write_all()
            if self._closing.is_set():
                return

    def _write_all(self) -> None:
        with self._lock:
            at_work = tuple(self._open)
        # One take that cannot be written must not keep back the others.
        troubles = [sentence for one in at_work if (sentence := self._try_to_write(one))]
        if troubles:
            self._work.set()  # try again, even if nothing more is played
            if not self._failing:
                self._failing = True
                self._on_trouble(troubles[0])
            return
        if self._failing:
            self._failing = False
            self._on_recovered()
        with self._lock:
            if not self._work.is_set():
                self._idle.set()

    def _try_to_write(self, open_take: OpenTake) -> str | None:
        """Write what waits of one take; returns a sentence when that fails."""
        try:
            self._write(open_take)
        except HistoryUnavailable as error:
            if not self._failing:  # not at every attempt: a disk may be full for hours
                _log.warning("The journal cannot be written: %s", error)
            return str(error)
        except Exception as error:  # noqa: BLE001 - the edge of the thread: a bug must not end it
            if not self._failing:
                _log.exception("The journal met an error in the program")
            return f"What you play cannot be saved at the moment: {error}."
        return None

    def _write(self, open_take: OpenTake) -> None:
        if not open_take.write_to(self._history):
            return
        with self._lock:
            self._open.remove(open_take)
        if open_take.final is not None:
            self._on_saved(open_take.final)
            self._history.tidy()  # between takes nobody waits for the disk
