"""Our own line icons: one SVG each, drawn in the ink of the theme in force."""

from __future__ import annotations

from functools import cache

from PySide6.QtCore import QByteArray, QRectF, Qt
from PySide6.QtGui import QIcon, QPainter, QPixmap
from PySide6.QtSvg import QSvgRenderer

from companion.desktop.palette import Palette
from companion.resources import resource_path

_INK_IN_FILES = "#23211E"
_SIDE_PIXELS = 20
_SCALES = (1.0, 2.0)


@cache
def icon(name: str, palette: Palette) -> QIcon:
    """Icon ``resources/icons/NAME.svg`` in the ink of ``palette``, paler when disabled."""
    source = resource_path("icons", f"{name}.svg").read_text(encoding="utf-8")
    result = QIcon()
    for colour, mode in (
        (palette.ink, QIcon.Mode.Normal),
        (palette.ink, QIcon.Mode.Active),
        (palette.hairline, QIcon.Mode.Disabled),
    ):
        for scale in _SCALES:
            result.addPixmap(_pixmap(source.replace(_INK_IN_FILES, colour), scale), mode)
    return result


def program_icon() -> QIcon:
    """The sign of the program, for the window and the task bar."""
    source = resource_path("icons", "companion.svg").read_text(encoding="utf-8")
    result = QIcon()
    for scale in (1.6, 3.2, 6.4):
        result.addPixmap(_pixmap(source, scale, device_ratio=1.0), QIcon.Mode.Normal)
    return result


def _pixmap(source: str, scale: float, device_ratio: float | None = None) -> QPixmap:
    side = round(_SIDE_PIXELS * scale)
    pixmap = QPixmap(side, side)
    pixmap.fill(Qt.GlobalColor.transparent)
    renderer = QSvgRenderer(QByteArray(source.encode()))
    painter = QPainter(pixmap)
    renderer.render(painter, QRectF(0, 0, side, side))
    painter.end()
    pixmap.setDevicePixelRatio(scale if device_ratio is None else device_ratio)
    return pixmap
