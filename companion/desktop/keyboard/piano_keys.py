"""The keys themselves: painted, pressed by mouse and by letters, and shown when the piano plays."""

from __future__ import annotations

import sys

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from companion.desktop import typography
from companion.desktop.keyboard import key_layout
from companion.desktop.keyboard.key_layout import KeyRect
from companion.desktop.palette import Palette

_LETTER_VELOCITY = 72
_SOFTEST, _LOUDEST = 30, 110
_HEIGHT_PIXELS = 104
_SCAN_CODES_KNOWN = sys.platform.startswith("linux")


class PianoKeys(QWidget):
    """A row of piano keys.

    Signals
    -------
    pressed(int, int)
        Pitch and velocity: by mouse the louder the nearer to the edge, by letters always the same.
    released(int)
        Pitch.
    sustain_changed(bool)
        The space bar went down (True) or up.
    octave_changed(int)
        Octaves by which the letters are shifted.
    """

    pressed = Signal(int, int)
    released = Signal(int)
    sustain_changed = Signal(bool)
    octave_changed = Signal(int)

    def __init__(self, palette: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._colours = palette
        self._keys = key_layout.keys()
        self._down: set[int] = set()
        self._ours: dict[int, int] = {}
        self._mouse_pitch: int | None = None
        self._octave_shift = 0
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(self.tr("Piano keys"))
        self.setAccessibleDescription(
            self.tr(
                "The row from Z and the row from Q play white keys, the letters and figures above "
                "them black ones. Space is the pedal, Page Up and Page Down change the octave."
            )
        )

    @property
    def pitches(self) -> tuple[int, int]:
        """Lowest and highest key that is shown."""
        shown = [key.pitch for key in self._keys]
        return min(shown), max(shown)

    def show_range(self, lowest: int, highest: int) -> None:
        """Show only these keys, widened to whole octaves."""
        self._keys = key_layout.keys(*key_layout.white_range(lowest, highest))
        self.update()

    def show_down(self, pitches: set[int]) -> None:
        """Show which keys are down, whoever plays them."""
        if pitches != self._down:
            self._down = set(pitches)
            self.update()

    def set_colours(self, palette: Palette) -> None:
        """Draw with another palette from now on."""
        self._colours = palette
        self.update()

    def release_all(self) -> None:
        """Let go of everything that mouse and letters hold down."""
        for pitch in tuple(self._ours.values()):
            self.released.emit(pitch)
        self._ours.clear()
        if self._mouse_pitch is not None:
            self.released.emit(self._mouse_pitch)
            self._mouse_pitch = None

    # Qt

    def sizeHint(self) -> QSize:
        """As wide as there is room."""
        return QSize(1000, _HEIGHT_PIXELS)

    def minimumSizeHint(self) -> QSize:
        """Narrow keys can still be seen, if hardly hit."""
        return QSize(300, _HEIGHT_PIXELS)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw white keys, then black ones."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setClipRect(event.rect())
        for key in self._keys:
            self._paint_key(painter, key)
        if self.hasFocus():
            painter.setPen(QPen(QColor(self._colours.place), 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(1, 1, -1, -1))
        painter.end()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Press the key under the pointer."""
        if event.button() is Qt.MouseButton.LeftButton:
            self._press_with_mouse(event.position())

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Slide over the keys."""
        if self._mouse_pitch is not None:
            key = self._key_at(event.position())
            if key is not None and key.pitch != self._mouse_pitch:
                self.released.emit(self._mouse_pitch)
                self._mouse_pitch = None
                self._press_with_mouse(event.position())

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let the key go."""
        if self._mouse_pitch is not None:
            self.released.emit(self._mouse_pitch)
            self._mouse_pitch = None

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Play by letters."""
        if event.modifiers() & (
            Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier
        ):
            super().keyPressEvent(event)
            return
        shifts = {Qt.Key.Key_PageUp.value: 1, Qt.Key.Key_PageDown.value: -1}
        pitch = self._pitch_of(event)
        if event.isAutoRepeat():
            event.accept()
        elif event.key() == Qt.Key.Key_Space:
            self.sustain_changed.emit(True)
        elif event.key() in shifts:
            self.release_all()
            self._octave_shift = max(-2, min(3, self._octave_shift + shifts[event.key()]))
            self.octave_changed.emit(self._octave_shift)
            self.update()
        elif pitch is not None:
            if event.key() not in self._ours:
                self._ours[event.key()] = pitch
                self.pressed.emit(pitch, _LETTER_VELOCITY)
        else:
            super().keyPressEvent(event)

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        """Let a letter go."""
        if event.isAutoRepeat():
            event.accept()
        elif event.key() == Qt.Key.Key_Space:
            self.sustain_changed.emit(False)
        elif event.key() in self._ours:
            self.released.emit(self._ours.pop(event.key()))
        else:
            super().keyReleaseEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Print the letters on the keys."""
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Nothing may hang when the focus leaves with keys down."""
        super().focusOutEvent(event)
        self.release_all()
        self.sustain_changed.emit(False)
        self.update()

    # internal

    def _pitch_of(self, event: QKeyEvent) -> int | None:
        if _SCAN_CODES_KNOWN and event.nativeScanCode():
            return key_layout.pitch_of_scan_code(event.nativeScanCode(), self._octave_shift)
        return key_layout.pitch_of_letter(event.text(), self._octave_shift)

    def _key_at(self, point: QPointF) -> KeyRect | None:
        x, y = point.x() / max(1, self.width()), point.y() / max(1, self.height())
        for key in reversed(self._keys):
            if key.contains(x, y):
                return key
        return None

    def _press_with_mouse(self, point: QPointF) -> None:
        key = self._key_at(point)
        if key is None:
            return
        depth = min(1.0, max(0.0, point.y() / self.height() / key.height))
        self._mouse_pitch = key.pitch
        self.pressed.emit(key.pitch, round(_SOFTEST + depth * (_LOUDEST - _SOFTEST)))

    def _paint_key(self, painter: QPainter, key: KeyRect) -> None:
        colours = self._colours
        rect = QRectF(
            key.x * self.width(), 0, key.width * self.width(), key.height * self.height() - 0.5
        )
        down = key.pitch in self._down
        if key.black:
            # the short keys are dark by day and by night, as on the piano
            body = "#23211E" if not colours.dark else "#0E0D0B"
        else:
            body = colours.sheet if not colours.dark else "#CFC6B4"
        painter.setPen(QPen(QColor(colours.hairline if not key.black else body), 1))
        painter.setBrush(QColor(body))
        painter.drawRect(rect)
        if down:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(QColor(colours.place if not colours.dark or key.black else "#2F4B7C"))
            painter.drawRect(rect.adjusted(1.5, rect.height() * 0.45, -1.5, -1.5))
        self._paint_words(painter, key, rect, down=down)

    def _paint_words(self, painter: QPainter, key: KeyRect, rect: QRectF, *, down: bool) -> None:
        ink = "#5B5750" if not down else "#FFFDF8"
        painter.setFont(typography.sans(typography.SMALL_POINTS))
        bottom = Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignBottom
        letter = (
            key_layout.letter_of_pitch(key.pitch, self._octave_shift) if self.hasFocus() else ""
        )
        if key.black:
            if letter and rect.width() >= 9:
                painter.setPen(QColor("#D9D2C3"))
                painter.drawText(rect.adjusted(-4, 0, 4, -4), bottom, letter)
            return
        painter.setPen(QColor(ink))
        if letter and rect.width() >= 9:
            painter.drawText(rect.adjusted(-4, 0, 4, -18), bottom, letter)
        if key.pitch % 12 == 0 and rect.width() >= 13:
            painter.drawText(rect.adjusted(-6, 0, 6, -4), bottom, f"C{key.pitch // 12 - 1}")
