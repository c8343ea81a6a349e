"""Our own line icons: one SVG each, drawn in the ink of the theme in force.

An icon is drawn when it is first asked for: most stand in menus that are seldom opened, and to draw
them all takes 30 ms of the start.
"""

from __future__ import annotations

from functools import cache

from PySide6.QtCore import QByteArray, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QIcon, QIconEngine, QPainter, QPixmap
from PySide6.QtSvg import QSvgRenderer

from companion.desktop.palette import Palette
from companion.resources import resource_path

_INK_IN_FILES = "#23211E"
_SIDE_PIXELS = 20


@cache
def icon(name: str, palette: Palette) -> QIcon:
    """Icon ``resources/icons/NAME.svg`` in the ink of ``palette``, paler when disabled."""
    return QIcon(_Drawing(name, palette.ink, palette.hairline))


@cache
def _source(name: str) -> str:
    return resource_path("icons", f"{name}.svg").read_text(encoding="utf-8")


class _Drawing(QIconEngine):
    """Draws an icon at whatever size Qt asks for."""

    def __init__(self, name: str, ink: str, pale: str) -> None:
        super().__init__()
        self._name, self._ink, self._pale = name, ink, pale
        self._pixmaps: dict[tuple[int, int, bool], QPixmap] = {}

    def clone(self) -> QIconEngine:
        """Return another engine that draws the same."""
        return _Drawing(self._name, self._ink, self._pale)

    def paint(self, painter: QPainter, rect: QRect, mode: QIcon.Mode, _state: QIcon.State) -> None:
        """Draw into a rectangle."""
        colour = self._pale if mode is QIcon.Mode.Disabled else self._ink
        source = _source(self._name).replace(_INK_IN_FILES, colour)
        QSvgRenderer(QByteArray(source.encode())).render(painter, QRectF(rect))

    def pixmap(self, size: QSize, mode: QIcon.Mode, state: QIcon.State) -> QPixmap:
        """Return a picture of that many pixels."""
        key = (size.width(), size.height(), mode is QIcon.Mode.Disabled)
        if key not in self._pixmaps:
            pixmap = QPixmap(size)
            pixmap.fill(Qt.GlobalColor.transparent)
            painter = QPainter(pixmap)
            self.paint(painter, pixmap.rect(), mode, state)
            painter.end()
            self._pixmaps[key] = pixmap
        return self._pixmaps[key]


def program_icon() -> QIcon:
    """The sign of the program, for the window and the task bar."""
    source = resource_path("icons", "companion.svg").read_text(encoding="utf-8")
    result = QIcon()
    for scale in (1.6, 3.2, 6.4):
        result.addPixmap(_pixmap(source, scale), QIcon.Mode.Normal)
    return result


def _pixmap(source: str, scale: float) -> QPixmap:
    side = round(_SIDE_PIXELS * scale)
    pixmap = QPixmap(side, side)
    pixmap.fill(Qt.GlobalColor.transparent)
    renderer = QSvgRenderer(QByteArray(source.encode()))
    painter = QPainter(pixmap)
    renderer.render(painter, QRectF(0, 0, side, side))
    painter.end()
    return pixmap
