"""Lay the palette over the whole program: colours, fonts, style sheet; by day and at night."""

from __future__ import annotations

import os
from dataclasses import asdict
from enum import StrEnum

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QColor, QPalette
from PySide6.QtWidgets import QApplication

from companion.desktop import typography
from companion.desktop.palette import DAY, NIGHT, Palette
from companion.resources import resource_path

_STYLE = "Fusion"
_STYLE_VARIABLE = "QT_STYLE_OVERRIDE"
"""Qt reads it when the application begins (Qt documentation of ``QApplication``)."""


def ask_for_style() -> None:
    """Have the application begin with our style.

    To set it later makes Qt for Python prepare its class of styles with all its 570 names, which
    takes 8 ms of the start.
    """
    os.environ[_STYLE_VARIABLE] = _STYLE


class ThemeChoice(StrEnum):
    """What the pianist asked for."""

    SYSTEM = "system"
    DAY = "day"
    NIGHT = "night"


def qt_palette(palette: Palette) -> QPalette:
    """Our colours in the roles that Qt's own widgets ask for."""
    roles = {
        QPalette.ColorRole.Window: palette.paper,
        QPalette.ColorRole.WindowText: palette.ink,
        QPalette.ColorRole.Base: palette.sheet,
        QPalette.ColorRole.AlternateBase: palette.paper,
        QPalette.ColorRole.Text: palette.ink,
        QPalette.ColorRole.Button: palette.sheet,
        QPalette.ColorRole.ButtonText: palette.ink,
        QPalette.ColorRole.BrightText: palette.wrong,
        QPalette.ColorRole.Highlight: palette.place,
        QPalette.ColorRole.HighlightedText: palette.sheet,
        QPalette.ColorRole.Link: palette.place,
        QPalette.ColorRole.LinkVisited: palette.place,
        QPalette.ColorRole.ToolTipBase: palette.sheet,
        QPalette.ColorRole.ToolTipText: palette.ink,
        QPalette.ColorRole.PlaceholderText: palette.graphite,
        QPalette.ColorRole.Mid: palette.hairline,
        QPalette.ColorRole.Midlight: palette.hairline,
        QPalette.ColorRole.Dark: palette.graphite,
        QPalette.ColorRole.Light: palette.sheet,
        QPalette.ColorRole.Shadow: palette.hairline,
    }
    result = QPalette()
    for role, colour in roles.items():
        result.setColor(role, QColor(colour))
    for role in (QPalette.ColorRole.Text, QPalette.ColorRole.ButtonText):
        result.setColor(QPalette.ColorGroup.Disabled, role, QColor(palette.graphite))
    return result


def style_sheet(palette: Palette) -> str:
    """Return ``resources/styles/page.qss`` with the names of colours and arrows filled in."""
    text = resource_path("styles", "page.qss").read_text(encoding="utf-8")
    shade = "night" if palette.dark else "day"
    values = {name: str(value) for name, value in asdict(palette).items()}
    for arrow in ("up", "down", "left", "right"):
        path = resource_path("icons", f"arrow-{arrow}-{shade}.svg")
        values[f"arrow_{arrow}"] = path.as_posix()
    values["tick"] = resource_path("icons", f"tick-{shade}.svg").as_posix()
    # longest first: @attention_text must not be read as @attention
    for name in sorted(values, key=len, reverse=True):
        text = text.replace(f"@{name}", values[name])
    return text


class Theme(QObject):
    """The theme in force.

    Signals
    -------
    changed(Palette)
        The palette that custom-painted widgets should now draw with.
    """

    changed = Signal(object)

    def __init__(self, application: QApplication, choice: ThemeChoice = ThemeChoice.SYSTEM) -> None:
        super().__init__(application)
        self._application = application
        self._choice = choice
        self._palette = self._wanted()
        if os.environ.get(_STYLE_VARIABLE) != _STYLE:
            application.setStyle(_STYLE)
        application.setFont(typography.sans())
        application.setPalette(qt_palette(self._palette))
        self._dressed = False
        application.styleHints().colorSchemeChanged.connect(self._system_changed)

    @property
    def palette(self) -> Palette:
        """Colours to draw with now."""
        return self._palette

    @property
    def choice(self) -> ThemeChoice:
        """What was chosen, by day or night or as the system has it."""
        return self._choice

    def dress(self) -> None:
        """Lay the style sheet over the program, once its window is built.

        Before, Qt would look through it anew for each widget that is put into another.
        """
        self._dressed = True
        self._application.setStyleSheet(style_sheet(self._palette))

    def choose(self, choice: ThemeChoice) -> None:
        """Change the theme and tell everyone who draws."""
        self._choice = choice
        wanted = self._wanted()
        if wanted is self._palette:
            return
        self._palette = wanted
        self._application.setPalette(qt_palette(wanted))
        if self._dressed:
            self.dress()
        self.changed.emit(wanted)

    def _wanted(self) -> Palette:
        if self._choice is ThemeChoice.SYSTEM:
            scheme = self._application.styleHints().colorScheme()
            return NIGHT if scheme is Qt.ColorScheme.Dark else DAY
        return NIGHT if self._choice is ThemeChoice.NIGHT else DAY

    def _system_changed(self) -> None:
        self.choose(self._choice)
