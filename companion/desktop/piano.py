"""The piano in the event loop: messages from the port and the screen become takes and signals.

A precise timer drains the listener every two milliseconds (a callback of rtmidi would lose notes
while another thread holds the interpreter lock, and a coarse timer would be late).
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable

from PySide6.QtCore import QObject, Qt, QTimer, Signal

from companion.history.model import Take, TakeSource
from companion.midi.commands import CommandKeys
from companion.midi.listener import Listener, ListenerState, TimedMessage
from companion.midi.ports import MidiPort
from companion.practice.sitting import Follows, Sitting, SittingEvents
from companion.storage.journal import Journal

_DRAIN_EVERY_MS = 2
_TICK_EVERY_MS = 100
_FOLLOW_AFTER_SECONDS = 0.3
_FOLLOW_SECONDS = 0.008  # of one draining: half of a picture at 60 a second
_NOTE_ON, _NOTE_OFF, _KIND = 0x90, 0x80, 0xF0


class Piano(QObject):
    """Listens, and tells in signals what was heard.

    Signals
    -------
    state_changed(ListenerState)
        The connection stands otherwise now.
    keys_changed(object)
        Set of the pitches that are down.
    note_heard(object, HeardNote)
        :class:`Place` or None, and the key that was struck.
    take_begun(Take)
        The first note of a take was heard.
    take_finished(Take)
        A take is over; its events are in it.
    ticked(float)
        Seconds that the running take lasts so far, a few times a second.
    heard_aside(TimedMessage)
        A message that is taken for no playing of the piece, see :meth:`set_aside`.
    commanded(str)
        Name of the command whose key or pedal was pressed, see :attr:`command_keys`.
    """

    state_changed = Signal(object)
    keys_changed = Signal(object)
    note_heard = Signal(object, object)
    take_begun = Signal(object)
    take_finished = Signal(object)
    ticked = Signal(float)
    heard_aside = Signal(object)
    commanded = Signal(str)

    def __init__(
        self,
        listener: Listener,
        *,
        journal: Journal | None,
        zone: str,
        silence_seconds: float,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self.listener = listener
        self.command_keys = CommandKeys()
        self._state: ListenerState | None = None
        self._down: set[int] = set()
        self._began_at: float | None = None
        self._started = False
        self._aside = False
        self._on_stand: tuple[str | None, Callable[[], Follows] | None] = (None, None)
        self.sitting = Sitting(
            SittingEvents(
                on_take_begun=self._begun,
                on_note=self.note_heard.emit,
                on_take_finished=self._finished,
            ),
            journal=journal,
            zone=zone,
            silence_seconds=silence_seconds,
            follow_after_seconds=_FOLLOW_AFTER_SECONDS,
        )
        self._drain_timer = QTimer(self)
        self._drain_timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._drain_timer.setInterval(_DRAIN_EVERY_MS)
        self._drain_timer.timeout.connect(self._drain)
        self._tick_timer = QTimer(self)
        self._tick_timer.setInterval(_TICK_EVERY_MS)
        self._tick_timer.timeout.connect(self._tick)

    def start(self) -> None:
        """Begin to listen, and to follow through the piece that is on the stand."""
        self._started = True
        self.sitting.put_on_stand(*self._on_stand)
        self._drain_timer.start()
        self._tick_timer.start()

    def stop(self) -> None:
        """End the running take and let the piano go."""
        self._drain_timer.stop()
        self._tick_timer.stop()
        for message in self.listener.close():
            self._hear(message, TakeSource.PIANO)
        self.sitting.finish()

    def put_on_stand(
        self, piece_id: str | None, make_follower: Callable[[], Follows] | None
    ) -> None:
        """Listen for this piece from now on; the follower is made once listening has begun."""
        self._on_stand = (piece_id, make_follower)
        self.sitting.put_on_stand(piece_id, make_follower if self._started else None)

    def play_on_screen(self, message: bytes) -> None:
        """Take a message from the keyboard on the screen."""
        self._hear(TimedMessage(time.perf_counter(), message), TakeSource.SCREEN)

    def choose_port(self, identity: str) -> None:
        """Listen to the port of this identity, to the most likely piano for an empty one."""
        chosen: MidiPort | None = None
        for port in self.listener.ports.ports:
            if port.identity == identity:
                chosen = port
        for message in self.listener.choose_port(chosen):
            self._hear(message, TakeSource.PIANO)

    def choose_system(self, key: str | None) -> None:
        """Listen on one MIDI system only, on all of them for None."""
        for message in self.listener.choose_system(key):
            self._hear(message, TakeSource.PIANO)

    def end_take(self) -> None:
        """End the running take now."""
        self.sitting.finish()

    def set_aside(self, aside: bool) -> None:
        """While aside, keys are told of and nothing is taken for playing: a chord as an answer."""
        if aside:
            self.sitting.finish()
        self._aside = aside

    def _drain(self) -> None:
        messages = self.listener.drain()
        if messages:
            # An instrument that floods must not hold the window up: all is kept, following waits.
            until = time.perf_counter() + _FOLLOW_SECONDS
            for message in messages:
                self._hear(message, TakeSource.PIANO, until)
        if self.listener.state != self._state:
            self._state = self.listener.state
            port = self._state.port
            self.sitting.instrument = port.label if port is not None else ""
            self.state_changed.emit(self._state)

    def _hear(
        self, message: TimedMessage, source: TakeSource, follow_until_seconds: float = math.inf
    ) -> None:
        if self._aside:
            self._watch_keys(message.message)
            self.heard_aside.emit(message)
            return
        is_command, command = self.command_keys.hear(message.message)
        if command:
            self.commanded.emit(command)
        if not is_command:
            self._watch_keys(message.message)
            self.sitting.hear(message, source, follow_until_seconds=follow_until_seconds)

    def _watch_keys(self, message: bytes) -> None:
        kind = message[0] & _KIND
        if kind == _NOTE_ON and message[2]:
            self._down.add(message[1])
        elif kind in (_NOTE_ON, _NOTE_OFF):
            self._down.discard(message[1])
        else:
            return
        self.keys_changed.emit(set(self._down))

    def _tick(self) -> None:
        # first what waits at the port: a window that was held up would take the notes played
        # meanwhile for a silence, and cut the take in two
        self._drain()
        now = time.perf_counter()
        self.sitting.tick(now)
        if self._began_at is not None:
            self.ticked.emit(now - self._began_at)

    def _begun(self, take: Take) -> None:
        self._began_at = time.perf_counter()
        self.take_begun.emit(take)

    def _finished(self, take: Take) -> None:
        self._began_at = None
        self.take_finished.emit(take)
