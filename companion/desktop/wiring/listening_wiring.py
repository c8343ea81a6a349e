"""What the piano plays is shown: names, place, take; in the panel, on the map and in the score."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal

from companion.desktop.listener_panel.note_names import key_name, names_of
from companion.desktop.listener_panel.panel import PortLine
from companion.desktop.main_window import MainWindow
from companion.desktop.piano import Piano
from companion.desktop.score_view.marks import MarkKind
from companion.desktop.score_view.score_view import ScoreView
from companion.desktop.section_map import wording
from companion.desktop.section_map.overlay import Leap
from companion.desktop.stand import Stand
from companion.desktop.wiring.steady_place import (
    CERTAIN_FROM,
    PlaceState,
    Steady,
    SteadyPlace,
    position_of,
)
from companion.history.model import Take
from companion.listening.notes import Hands, HeardNote, Place, Verdict
from companion.midi.listener import ListenerState
from companion.practice.opening import OpenPiece
from companion.practice.sitting import Follows
from companion.score.model import Position
from companion.timebase import quarters_per_minute_to_beats_per_minute

if TYPE_CHECKING:
    from companion.desktop.keyboard.keyboard_panel import KeyboardPanel

_SYSTEM = "system:"
_SAY_AFTER_MS = 25  # words can wait; to lay them out before the mark is painted takes milliseconds


class ListeningWiring(QObject):
    """Joins the piano with everything that shows what it plays.

    Signals
    -------
    system_chosen(str)
        Key of the only MIDI system to listen on, empty for all.
    begun()
        A take has begun: what is shown of earlier takes goes away.
    """

    system_chosen = Signal(str)
    begun = Signal()

    def __init__(
        self, window: MainWindow, stand: Stand, piano: Piano, score_view: ScoreView
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._piano = piano
        self._score_view = score_view
        self.name_harmony: Callable[[Fraction | float], str] | None = None
        self._hidden = False
        self._notes_in_take = 0
        self._chosen_port = ""
        self._place_measure = 0
        self._steady: SteadyPlace | None = None
        self._leaps: tuple[Leap, ...] = ()
        self._leaps_on_map: tuple[Leap, ...] = ()
        self._down: set[int] = set()
        self._to_say: tuple[Steady, Place | None] | None = None
        self._say_timer = QTimer(self)
        self._say_timer.setSingleShot(True)
        self._say_timer.setInterval(_SAY_AFTER_MS)
        self._say_timer.timeout.connect(self._say)
        piano.state_changed.connect(self._show_state)
        piano.keys_changed.connect(self._show_keys)
        piano.note_heard.connect(self._show_note)
        piano.take_begun.connect(self._begun)
        piano.take_finished.connect(self._finished)
        piano.ticked.connect(self._ticked)
        self._range: tuple[int, int] | None = None
        window.late_keyboard.when_built(self._wire_keyboard)
        window.listener.port_chosen.connect(self._choose_port)
        window.listener.end_asked.connect(piano.end_take)
        window.actions_by_id["end_take"].triggered.connect(piano.end_take)
        window.actions_by_id["end_take"].setEnabled(False)
        stand.with_piece(self._piece_laid)
        stand.hands_changed.connect(self._piece_laid)

    @property
    def place(self) -> Position | None:
        """Where the player stands, or stood last; None before anything was found."""
        shown = self._steady.shown if self._steady is not None else None
        return position_of(shown) if shown is not None else None

    def hide_while_playing(self, hidden: bool) -> None:
        """Show nothing of what is played until a take is over, as on the night."""
        self._hidden = hidden
        if hidden:
            self._to_say = None
            self._window.map_view.show_place(None)
            self._score_view.hide_place()
            self._window.listener.show_notes("")
            self._window.listener.show_place("")

    def _wire_keyboard(self, keyboard: KeyboardPanel) -> None:
        keyboard.played.connect(self._piano.play_on_screen)
        if self._range is not None:
            keyboard.show_piece_range(*self._range)

    @property
    def hands_names(self) -> dict[Hands, str]:
        """Names of the choices of hands for the eye."""
        return {
            Hands.BOTH: self.tr("both hands"),
            Hands.RIGHT: self.tr("right hand"),
            Hands.LEFT: self.tr("left hand"),
        }

    def _piece_laid(self, opened: OpenPiece) -> None:
        notes, order = opened.score.notes, opened.score.playing_order

        def make_follower() -> Follows:
            from companion.listening.follower import Follower

            return Follower(notes, playing_order=order)

        self._piano.put_on_stand(opened.piece.piece_id, make_follower)
        self._place_measure = 0
        self._steady = SteadyPlace(opened.score)
        self._window.map_view.show_place(None)
        self._score_view.hide_place()
        pitches = [note.pitch for note in notes]
        if pitches:
            lowest, highest = self._range = (min(pitches), max(pitches))
            self._window.late_keyboard.if_built(
                lambda keyboard: keyboard.show_piece_range(lowest, highest)
            )

    def _show_state(self, state: ListenerState) -> None:
        found = self._piano.listener.ports
        several = len(found.systems) > 1 or state.system is not None
        ports = [
            PortLine(
                identity=port.identity,
                text=f"{port.label} ({port.system_name})" if several else port.label,
            )
            for port in found.ports
        ]
        if several:
            ports += [
                PortLine(
                    identity=_SYSTEM + key,
                    text=self.tr("Only the MIDI system {key}").format(key=key),
                )
                for key in found.systems
            ]
        sentence = state.sentence
        if state.flood:
            sentence += " " + self.tr("Far more arrives than can be played: check the instrument.")
        self._window.listener.show_state(sentence, connected=state.connected)
        self._window.listener.show_ports(ports, self._chosen_port)

    def _choose_port(self, identity: str) -> None:
        self._chosen_port = identity
        if identity.startswith(_SYSTEM):
            key = identity.removeprefix(_SYSTEM)
            self._piano.choose_system(key)
            self.system_chosen.emit(key)
            return
        if not identity:
            self._piano.choose_system(None)
            self.system_chosen.emit("")
        self._piano.choose_port(identity)

    def _show_keys(self, down: set[int]) -> None:
        self._down = down
        if self._window.late_keyboard.built and self._window.keyboard.isVisible():
            self._window.keyboard.keys.show_down(down)
        self._say_soon()

    def _names(self, pitches: list[int]) -> list[str]:
        score = self._stand.score
        if score is None or not score.measures:
            return names_of(pitches, (), 0)
        here = min(self._place_measure, len(score.measures) - 1)
        written = self._score_view.notes_in(here)
        return names_of(pitches, written, score.measures[here].key_fifths)

    def _show_note(self, place: Place | None, note: HeardNote) -> None:
        self._notes_in_take += 1
        if self._hidden:
            return
        score, steady = self._stand.score, self._steady
        if score is None or steady is None:
            return
        stands = steady.hear(place)
        self._show_marker(stands, place)
        if place is not None:
            self._mark_live(place, note)
        self._to_say = (stands, place)
        self._say_soon()

    def _say_soon(self) -> None:
        if not self._hidden and not self._say_timer.isActive():
            self._say_timer.start()

    def _say(self) -> None:
        """Show all that is not the score, after the mark and the marker there were painted.

        Only the score is looked at while playing; painting map and words together with it would
        make each mark some milliseconds later.
        """
        self._window.listener.show_notes("  ".join(self._names(sorted(self._down))))
        if self._to_say is None:
            return
        stands, place = self._to_say
        self._to_say = None
        self._show_on_map(stands)
        self._window.listener.show_place(
            self._place_text(stands, place), certain=stands.state is PlaceState.CERTAIN
        )

    def _show_marker(self, stands: Steady, newest: Place | None) -> None:
        """Put the marker in the score where the steady place says."""
        shown, sure = stands.shown, stands.state is PlaceState.CERTAIN
        if shown is None:
            self._score_view.hide_place()
            return
        self._place_measure = shown.measure_index
        position = position_of(shown)
        if stands.leap is not None:
            self._leaps = (*self._leaps, stands.leap)
        note_ids: tuple[str, ...] = ()
        if shown is newest and shown.score_index is not None and self._stand.score is not None:
            note_ids = (self._stand.score.notes[shown.score_index].note_id,)
        self._score_view.show_place(
            shown.measure_index,
            float(position.offset_quarters),
            note_ids,
            shown.confidence if sure else 0.0,
        )

    def _show_on_map(self, stands: Steady) -> None:
        shown = stands.shown
        if shown is None:
            self._window.map_view.show_place(None)
            return
        sure = stands.state is PlaceState.CERTAIN
        self._window.map_view.show_place(position_of(shown), sure=sure)
        if self._leaps_on_map != self._leaps:
            self._leaps_on_map = self._leaps
            self._window.map_view.show_leaps(self._leaps)

    def _mark_live(self, place: Place, note: HeardNote) -> None:
        """The first judgement of a note; the careful match after the take replaces it."""
        score = self._stand.score
        if score is None or place.score_index is None:
            return
        written = score.notes[place.score_index]
        if place.verdict is Verdict.RIGHT:
            self._score_view.mark_note(written.note_id, MarkKind.RIGHT)
        elif place.verdict is Verdict.WRONG and place.confidence >= CERTAIN_FROM:
            fifths = score.measures[written.measure_index].key_fifths
            self._score_view.mark_note(
                written.note_id, MarkKind.WRONG, key_name(note.pitch, fifths)
            )

    def _place_text(self, stands: Steady, place: Place | None) -> str:
        score = self._stand.score
        if score is None:
            return ""
        if place is None:
            return self.tr("Finding the place…")
        measure = score.measures[min(place.measure_index, len(score.measures) - 1)]
        where = self.tr("measure {number}").format(number=measure.number)
        if stands.state is not PlaceState.CERTAIN:
            where = self.tr("perhaps measure {number}").format(number=measure.number)
        parts = [where, self.hands_names[place.hands]]
        if stands.state is PlaceState.CERTAIN and self.name_harmony is not None:
            parts.insert(1, self.name_harmony(place.onset_quarters))
        if place.quarters_per_minute is not None:
            beats = quarters_per_minute_to_beats_per_minute(
                place.quarters_per_minute, measure.beat_quarters
            )
            parts.append(
                self.tr("{beat} = {beats}").format(
                    beat=wording.beat_name(measure.beat_quarters), beats=round(beats)
                )
            )
        if place.verdict is Verdict.WRONG:
            parts.append(self.tr("another key is written"))
        if place.ambiguous_with:
            parts.append(self._same_music(place))
        text = ", ".join(part for part in parts if part)
        return text[:1].upper() + text[1:]

    def _same_music(self, place: Place) -> str:
        score = self._stand.score
        if score is None:
            return ""
        indexes = {score.position_at(there).measure_index for there in place.ambiguous_with}
        numbers = [
            score.measures[index].number
            for index in sorted(indexes - {place.measure_index})
            if index < len(score.measures)
        ]
        if not numbers:
            return self.tr("the same music stands twice here")
        return self.tr("the same music stands in measure {numbers}").format(
            numbers=", ".join(numbers[:3])
        )

    def _begun(self, _take: Take) -> None:
        self._notes_in_take = 0
        self.begun.emit()
        self._leaps = self._leaps_on_map = ()
        if self._steady is not None:
            self._steady.forget()
        self._window.actions_by_id["end_take"].setEnabled(True)
        self._ticked(0.0)

    def _ticked(self, seconds: float) -> None:
        if self._hidden:
            self._window.listener.show_running(self.tr("A take is running."))
            return
        minutes, rest = divmod(int(seconds), 60)
        self._window.listener.show_running(
            self.tr("A take is running: {minutes}:{seconds:02d}, {notes} notes").format(
                minutes=minutes, seconds=rest, notes=self._notes_in_take
            )
        )

    def _finished(self, _take: Take) -> None:
        self._window.actions_by_id["end_take"].setEnabled(False)
        self._window.map_view.show_place(None)
        self._score_view.hide_place()
        self._to_say = None
        self._window.listener.show_place("")
        self._window.listener.show_finished(self.tr("The take is over and is being compared."))
