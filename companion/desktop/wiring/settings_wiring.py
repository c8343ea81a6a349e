"""The settings dialog, and what each setting does when it is changed; versions and licences."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from companion.desktop.dialogs import versions
from companion.desktop.message_strip import Tone
from companion.desktop.settings_dialog import SettingsDialog
from companion.desktop.wiring.view_wiring import THEMES

if TYPE_CHECKING:
    from companion.desktop.main_window import MainWindow
    from companion.desktop.piano import Piano
    from companion.desktop.score_view.score_view import ScoreView
    from companion.desktop.wiring.view_wiring import ViewWiring


class SettingsWiring(QObject):
    """Joins the dialog with everything that a setting changes.

    Parameters
    ----------
    count_days_from
        Called with the hour at which a practice day begins.
    """

    def __init__(
        self,
        window: MainWindow,
        view: ViewWiring,
        score_view: ScoreView,
        piano: Piano,
        count_days_from: Callable[[int], None],
    ) -> None:
        super().__init__(window)
        self._window = window
        self._view = view
        self._score_view = score_view
        self._piano = piano
        self._count_days_from = count_days_from
        score_view.set_animated(not view.settings.reduced_motion)
        window.actions_by_id["settings"].triggered.connect(self.open)
        window.actions_by_id["about"].triggered.connect(self._about)

    def open(self) -> SettingsDialog:
        """Show the dialog."""
        dialog = SettingsDialog(self._view.settings, self._window)
        dialog.changed.connect(self.change)
        dialog.finished.connect(dialog.deleteLater)
        dialog.open()
        return dialog

    def _about(self) -> None:
        self._window.messages.show_message(
            versions() + ". " + self.tr("MIT licence; fonts under the SIL Open Font License."),
            Tone.CALM,
        )

    def change(self, name: str, value: object) -> None:
        """Keep a setting and do what it says."""
        self._view.change(**{name: value})
        actions = self._window.actions_by_id
        match name, value:
            case "theme", str(word):
                shown = next(action for action, (key, _) in THEMES.items() if key == word)
                actions[shown].trigger()
            case "follow_player", bool(following):
                actions["follow"].setChecked(following)
            case "reduced_motion", bool(reduced):
                self._score_view.set_animated(not reduced)
            case "take_ends_after_seconds", float(seconds):
                self._piano.sitting.set_silence_seconds(seconds)
            case "day_starts_at_hour", int(hour):
                self._count_days_from(hour)
