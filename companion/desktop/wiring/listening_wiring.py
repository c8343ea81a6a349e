"""What the piano plays is shown: names, place, take; in the panel, on the map and in the score."""

from __future__ import annotations

from fractions import Fraction

from PySide6.QtCore import QObject, Signal

from companion.desktop.listener_panel.note_names import names_of
from companion.desktop.listener_panel.panel import PortLine
from companion.desktop.main_window import MainWindow
from companion.desktop.piano import Piano
from companion.desktop.score_view.marks import MarkKind
from companion.desktop.score_view.score_view import ScoreView
from companion.desktop.section_map import wording
from companion.desktop.stand import Stand
from companion.history.model import Take
from companion.listening.notes import Hands, HeardNote, Place, Verdict
from companion.midi.listener import ListenerState
from companion.practice.opening import OpenPiece
from companion.practice.sitting import Follows
from companion.score.model import Position, ScoreNote
from companion.timebase import quarters_per_minute_to_beats_per_minute

_SYSTEM = "system:"


class ListeningWiring(QObject):
    """Joins the piano with everything that shows what it plays.

    Signals
    -------
    system_chosen(str)
        Key of the only MIDI system to listen on, empty for all.
    """

    system_chosen = Signal(str)

    def __init__(
        self, window: MainWindow, stand: Stand, piano: Piano, score_view: ScoreView
    ) -> None:
        super().__init__(window)
        self._window = window
        self._stand = stand
        self._piano = piano
        self._score_view = score_view
        self._notes_in_take = 0
        self._chosen_port = ""
        self._place_measure = 0
        self._notes_by_measure: dict[int, list[ScoreNote]] = {}
        piano.state_changed.connect(self._show_state)
        piano.keys_changed.connect(self._show_keys)
        piano.note_heard.connect(self._show_note)
        piano.take_begun.connect(self._begun)
        piano.take_finished.connect(self._finished)
        piano.ticked.connect(self._ticked)
        window.keyboard.played.connect(piano.play_on_screen)
        window.listener.port_chosen.connect(self._choose_port)
        window.listener.end_asked.connect(piano.end_take)
        window.actions_by_id["end_take"].triggered.connect(piano.end_take)
        window.actions_by_id["end_take"].setEnabled(False)
        stand.piece_laid.connect(self._piece_laid)

    @property
    def hands_names(self) -> dict[Hands, str]:
        """Names of the choices of hands for the eye."""
        return {
            Hands.BOTH: self.tr("both hands"),
            Hands.RIGHT: self.tr("right hand"),
            Hands.LEFT: self.tr("left hand"),
        }

    def _piece_laid(self, opened: OpenPiece) -> None:
        notes = opened.score.notes

        def make_follower() -> Follows:
            from companion.listening.follower import Follower

            return Follower(notes)

        self._piano.put_on_stand(opened.piece.piece_id, make_follower)
        self._place_measure = 0
        self._window.map_view.show_place(None)
        self._score_view.hide_place()
        self._notes_by_measure = {}
        for note in notes:
            self._notes_by_measure.setdefault(note.measure_index, []).append(note)
        pitches = [note.pitch for note in notes]
        if pitches:
            self._window.keyboard.show_piece_range(min(pitches), max(pitches))

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
        self._window.listener.show_notes("  ".join(self._names(sorted(down))))
        if self._window.keyboard.isVisible():
            self._window.keyboard.keys.show_down(down)

    def _names(self, pitches: list[int]) -> list[str]:
        score = self._stand.score
        if score is None or not score.measures:
            return names_of(pitches, (), 0)
        here = min(self._place_measure, len(score.measures) - 1)
        return names_of(
            pitches, self._notes_by_measure.get(here, ()), score.measures[here].key_fifths
        )

    def _show_note(self, place: Place | None, _note: HeardNote) -> None:
        self._notes_in_take += 1
        score = self._stand.score
        if score is None:
            return
        if place is None:
            self._window.listener.show_place(self.tr("Looking for the place…"))
            return
        offset = Fraction(place.measure_offset_quarters)
        self._place_measure = place.measure_index
        self._window.map_view.show_place(Position(place.measure_index, offset))
        written = score.notes[place.score_index] if place.score_index is not None else None
        self._score_view.show_place(
            place.measure_index,
            float(offset),
            (written.note_id,) if written is not None else (),
            place.confidence,
        )
        if written is not None and place.verdict is Verdict.RIGHT:
            self._score_view.mark_note(written.note_id, MarkKind.RIGHT)
        self._window.listener.show_place(self._place_text(place))

    def _place_text(self, place: Place) -> str:
        score = self._stand.score
        if score is None:
            return ""
        measure = score.measures[min(place.measure_index, len(score.measures) - 1)]
        parts = [
            self.tr("measure {number}").format(number=measure.number),
            self.hands_names[place.hands],
        ]
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
            parts.append(self.tr("the same music stands elsewhere too"))
        return ", ".join(parts)

    def _begun(self, _take: Take) -> None:
        self._notes_in_take = 0
        self._score_view.set_marks([])
        self._window.actions_by_id["end_take"].setEnabled(True)
        self._ticked(0.0)

    def _ticked(self, seconds: float) -> None:
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
        self._window.listener.show_place("")
        self._window.listener.show_finished(self.tr("The take is over and is being compared."), "")
