"""Keys and pedals of the piano that give commands: chosen, remembered, obeyed."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from companion.desktop.piano_keys_dialog import PianoKeysDialog
from companion.midi.commands import Trigger, is_pressed, trigger_from, trigger_of

if TYPE_CHECKING:
    from companion.desktop.main_window import MainWindow
    from companion.desktop.piano import Piano
    from companion.desktop.wiring.view_wiring import ViewWiring
    from companion.midi.listener import TimedMessage
    from companion.score.model import Position

_SETTINGS = {
    "next_turn": "piano_next_turn",
    "mark_spot": "piano_mark_spot",
    "end_take": "piano_end_take",
}


class CommandingWiring(QObject):
    """Lets the few things that are needed while playing be done from the piano.

    Parameters
    ----------
    place
        Says where the player is.
    mark
        Marks that place.
    """

    def __init__(
        self,
        window: MainWindow,
        view: ViewWiring,
        piano: Piano,
        place: Callable[[], Position | None],
        mark: Callable[[Position | None], None],
    ) -> None:
        super().__init__(window)
        self._window = window
        self._view = view
        self._piano = piano
        self._place = place
        self._mark = mark
        self._dialog: PianoKeysDialog | None = None
        piano.commanded.connect(self._commanded)
        piano.heard_aside.connect(self._heard_aside)
        window.actions_by_id["piano_keys"].triggered.connect(self.ask)
        window.actions_by_id["mark_spot"].triggered.connect(self._mark_here)
        self._choose()

    def ask(self) -> PianoKeysDialog:
        """Show the dialog in which keys are chosen."""
        dialog = PianoKeysDialog(
            {
                "next_turn": self.tr("Next turn of today"),
                "mark_spot": self.tr("Mark this spot"),
                "end_take": self.tr("End the take"),
            },
            self._window,
        )
        self._dialog = dialog
        for command, trigger in self._triggers().items():
            dialog.show_trigger(command, trigger)
        dialog.armed.connect(lambda command: self._piano.set_aside(bool(command)))
        dialog.cleared.connect(lambda command: self._keep(command, None))
        dialog.finished.connect(self._closed)
        dialog.open()
        return dialog

    def _closed(self, _result: int) -> None:
        self._dialog = None

    def _triggers(self) -> dict[str, Trigger | None]:
        settings = self._view.settings
        return {
            command: trigger_from(str(getattr(settings, name)))
            for command, name in _SETTINGS.items()
        }

    def _choose(self) -> None:
        self._piano.command_keys.choose(self._triggers())

    def _heard_aside(self, message: TimedMessage) -> None:
        dialog = self._dialog
        if dialog is None or not dialog.armed_for or not is_pressed(message.message):
            return
        trigger = trigger_of(message.message)
        if trigger is not None:
            command = dialog.armed_for
            for other, chosen in self._triggers().items():
                if chosen == trigger and other != command:
                    self._keep(other, None)  # a key gives one command
            self._keep(command, trigger)
            dialog.chosen()

    def _keep(self, command: str, trigger: Trigger | None) -> None:
        self._view.change(**{_SETTINGS[command]: str(trigger) if trigger is not None else ""})
        if self._dialog is not None:
            self._dialog.show_trigger(command, trigger)
        self._choose()

    def _commanded(self, command: str) -> None:
        self._window.actions_by_id[command].trigger()

    def _mark_here(self) -> None:
        self._mark(self._place())
