"""The place being played: a tint on its measure and a thin pencil rule with a wedge on top.

Each is one item per score that moves; a step of the rule repaints two narrow strips.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPen, QPolygonF
from PySide6.QtWidgets import QGraphicsItem, QGraphicsRectItem

if TYPE_CHECKING:
    from PySide6.QtGui import QPainter
    from PySide6.QtWidgets import QStyleOptionGraphicsItem, QWidget

    from companion.desktop.score_view.score_palette import ScorePalette

_OVERHANG = 1.6  # how far the rule reaches beyond the outer staff lines
_WEDGE = 0.75
_RULE_WIDTH = 0.14
_UNSURE_BELOW = 0.5


class BandItem(QGraphicsRectItem):
    """A flat tint below the print."""

    def __init__(self, colour: str, z: float, parent: QGraphicsItem | None = None) -> None:
        super().__init__(parent)
        self.setPen(QPen(Qt.PenStyle.NoPen))
        self.setBrush(QColor(colour))
        self.setZValue(z)

    def set_colour(self, colour: str) -> None:
        """Change the tint."""
        self.setBrush(QColor(colour))


class PlaceRule(QGraphicsRectItem):
    """The rule. It is dashed while the program is not sure of the place."""

    def __init__(self, palette: ScorePalette, parent: QGraphicsItem | None = None) -> None:
        super().__init__(parent)
        self._height = -1.0
        self._sure = True
        self.setPen(QPen(Qt.PenStyle.NoPen))
        self.setZValue(5.0)
        self.set_palette(palette)

    def set_palette(self, palette: ScorePalette) -> None:
        """Change the colour."""
        self._colour = QColor(palette.place)
        self.update()

    def stand(self, x: float, top: float, height: float, confidence: float) -> None:
        """Stand at ``x`` across staves that begin at ``top``; confidence is 0 to 1."""
        if height != self._height:
            self._height = height
            whole = height + 2 * _OVERHANG + _WEDGE
            self.setRect(QRectF(-_WEDGE, -_OVERHANG - _WEDGE, 2 * _WEDGE, whole))
        sure = confidence >= _UNSURE_BELOW
        if sure != self._sure:
            self._sure = sure
            self.update()
        self.setPos(x, top)

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionGraphicsItem,
        widget: QWidget | None = None,
    ) -> None:
        """Rule and wedge."""
        pen = QPen(self._colour, _RULE_WIDTH)
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        if not self._sure:
            pen.setDashPattern([6.0, 5.0])
        painter.setPen(pen)
        painter.drawLine(QPointF(0.0, -_OVERHANG), QPointF(0.0, self._height + _OVERHANG))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(self._colour if self._sure else Qt.BrushStyle.NoBrush)
        if not self._sure:
            painter.setPen(QPen(self._colour, _RULE_WIDTH))
        painter.drawPolygon(
            QPolygonF(
                [
                    QPointF(-0.55, -_OVERHANG - 0.65),
                    QPointF(0.55, -_OVERHANG - 0.65),
                    QPointF(0.0, -_OVERHANG + 0.35),
                ]
            )
        )
