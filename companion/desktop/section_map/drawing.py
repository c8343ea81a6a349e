"""The kept drawing of the map: painted whole, or anew in slices while the old one is still shown.

With eighty sections one drawing takes 30 ms and more; while a score is being loaded it is made anew
several times, and the window must answer in between.
"""

from __future__ import annotations

import time
from collections.abc import Iterator

from PySide6.QtCore import QObject, QSize, QTimer, Signal
from PySide6.QtGui import QColor, QPainter, QPixmap

from companion.desktop.section_map.painting import map_steps
from companion.desktop.section_map.picture import MapPicture

_SLICE_SECONDS = 0.004


class MapDrawing(QObject):
    """Holds one drawing, and makes the next.

    Signals
    -------
    renewed()
        A drawing that was made in slices is there.
    """

    renewed = Signal()

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._shown: QPixmap | None = None
        self._coming: QPixmap | None = None
        self._painter: QPainter | None = None
        self._steps: Iterator[None] = iter(())
        self._timer = QTimer(self)
        self._timer.setInterval(0)
        self._timer.timeout.connect(self._slice)

    @property
    def shown(self) -> QPixmap | None:
        """The drawing as it is; None when there is none."""
        return self._shown

    @property
    def is_being_renewed(self) -> bool:
        """Whether the next one is being made."""
        return self._painter is not None

    def forget(self) -> None:
        """Throw the drawing away."""
        self._stop()
        self._shown = None

    def draw(self, picture: MapPicture, size: QSize, ratio: float) -> QPixmap:
        """Make a drawing at once."""
        self.renew(picture, size, ratio)
        self._timer.stop()
        for _ in self._steps:
            pass
        return self._take()

    def renew(self, picture: MapPicture, size: QSize, ratio: float) -> None:
        """Begin the next drawing; one that is being made is given up."""
        self._stop()
        pixmap = QPixmap(size * ratio)
        pixmap.setDevicePixelRatio(ratio)
        pixmap.fill(QColor(picture.palette.paper))
        self._coming, self._painter = pixmap, QPainter(pixmap)
        self._steps = map_steps(self._painter, picture)
        self._timer.start()

    def _slice(self) -> None:
        end = time.perf_counter() + _SLICE_SECONDS
        while time.perf_counter() < end:
            if next(self._steps, "done") == "done":
                self._take()
                self.renewed.emit()
                return

    def _take(self) -> QPixmap:
        coming = self._coming
        self._stop()
        if coming is None:
            raise ValueError("no drawing was begun")
        self._shown = coming
        return coming

    def _stop(self) -> None:
        self._timer.stop()
        self._steps = iter(())
        if self._painter is not None:
            self._painter.end()
        self._painter = self._coming = None
