"""How the window looks, and that it looks the same at the next start."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from PySide6.QtCore import QByteArray, QObject, QSize, QTimer

from companion.desktop.action_table import PAGE_ACTIONS
from companion.desktop.main_window import MainWindow
from companion.desktop.palette import Palette
from companion.desktop.score_view.score_palette import ScorePalette
from companion.desktop.score_view.score_view import ScoreView
from companion.desktop.theme import Theme, ThemeChoice
from companion.settings import Settings

THEMES = {
    "theme_system": ("system", ThemeChoice.SYSTEM),
    "theme_day": ("light", ThemeChoice.DAY),
    "theme_night": ("dark", ThemeChoice.NIGHT),
}
_SAVE_AFTER_MS = 800
_ROOM_FOR_FRAME = QSize(16, 48)  # title and edges, which the system adds to the first window


def theme_choice(settings: Settings) -> ThemeChoice:
    """The theme that was chosen last."""
    return dict(THEMES.values())[settings.theme]


class ViewWiring(QObject):
    """Joins theme, zoom, pages and panels with the settings."""

    def __init__(
        self,
        window: MainWindow,
        score_view: ScoreView,
        theme: Theme,
        settings: Settings,
        save: Callable[[Settings], None],
    ) -> None:
        super().__init__(window)
        self._window = window
        self._score_view = score_view
        self._theme = theme
        self._settings = settings
        self._save = save
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(_SAVE_AFTER_MS)
        self._timer.timeout.connect(self.save_now)
        theme.changed.connect(self._colours_changed)
        self._wire_actions()
        self._restore()

    @property
    def settings(self) -> Settings:
        """The settings as they are now."""
        return self._settings

    def change(self, **values: Any) -> None:
        """Change settings; they are written a moment later."""
        self._settings = replace(self._settings, **values)
        self._timer.start()

    def save_now(self) -> None:
        """Write the settings with the place of the window."""
        window = self._window
        state = {
            "page": window.page,
            "splitter": _as_text(window.splitter.saveState()),
            "listener": window.actions_by_id["show_listener"].isChecked(),
            "keyboard": window.actions_by_id["show_keyboard"].isChecked(),
            "lanes": window.actions_by_id["show_lanes"].isChecked(),
            "hidden_lanes": sorted(window.lanes_menu.hidden),
            "groups": window.actions_by_id["show_groups"].isChecked(),
            "harmony": window.actions_by_id["show_harmony"].isChecked(),
            "tasks": window.actions_by_id["show_tasks"].isChecked(),
            "sheet": window.actions_by_id["section_sheet"].isChecked(),
        }
        self._settings = replace(
            self._settings,
            window_geometry=_as_text(window.saveGeometry()),
            window_state=json.dumps(state),
        )
        self._save(self._settings)

    def _wire_actions(self) -> None:
        actions = self._window.actions_by_id
        view = self._score_view
        actions["zoom_in"].triggered.connect(view.zoom_in)
        actions["zoom_out"].triggered.connect(view.zoom_out)
        actions["zoom_fit"].triggered.connect(view.fit_width)
        actions["follow"].setChecked(self._settings.follow_player)
        view.set_following(self._settings.follow_player)
        actions["follow"].toggled.connect(view.set_following)
        actions["follow"].toggled.connect(self._follow_toggled)
        view.following_changed.connect(actions["follow"].setChecked)
        for name, (_, choice) in THEMES.items():
            actions[name].setChecked(choice is self._theme.choice)
            actions[name].triggered.connect(self._theme_triggered)
        for name in (
            "show_listener",
            "show_keyboard",
            "show_lanes",
            "show_harmony",
            "show_groups",
            "show_tasks",
            "section_sheet",
        ):
            actions[name].toggled.connect(self._timer_started)
        self._window.lanes_menu.hidden_changed.connect(self._timer_started)
        self._window.page_shown.connect(self._timer_started)

    def _restore(self) -> None:
        settings, window = self._settings, self._window
        if settings.window_geometry:
            window.restoreGeometry(_as_bytes(settings.window_geometry))
        else:
            screen = window.screen().availableGeometry()
            room = screen.size() - _ROOM_FOR_FRAME
            window.resize(QSize(1440, 900).boundedTo(room))
        try:
            state = json.loads(settings.window_state or "{}")
        except ValueError:
            state = {}
        if not isinstance(state, dict):
            state = {}
        for key, name in (
            ("listener", "show_listener"),
            ("keyboard", "show_keyboard"),
            ("lanes", "show_lanes"),
            ("harmony", "show_harmony"),
            ("groups", "show_groups"),
            ("tasks", "show_tasks"),
            ("sheet", "section_sheet"),
        ):
            if isinstance(state.get(key), bool):
                window.actions_by_id[name].setChecked(state[key])
        if isinstance(state.get("hidden_lanes"), list):
            window.lanes_menu.hide_lanes(frozenset(map(str, state["hidden_lanes"])))
        if isinstance(state.get("splitter"), str):
            window.splitter.restoreState(_as_bytes(state["splitter"]))
        if state.get("page") in PAGE_ACTIONS:
            window.show_page(state["page"])

    def _theme_triggered(self) -> None:
        name = self.sender().objectName()
        word, choice = THEMES[name]
        self.change(theme=word)
        self._theme.choose(choice)

    def _colours_changed(self, palette: Palette) -> None:
        window = self._window
        window.set_colours(palette)
        self._score_view.set_palette(ScorePalette.of_window(palette))

    def _follow_toggled(self, following: bool) -> None:
        self.change(follow_player=following)

    def _timer_started(self) -> None:
        self._timer.start()


def _as_text(data: QByteArray) -> str:
    return bytes(data.toBase64().data()).decode("ascii")


def _as_bytes(text: str) -> QByteArray:
    return QByteArray.fromBase64(QByteArray(text.encode("ascii", "ignore")))
