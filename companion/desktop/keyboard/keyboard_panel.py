"""The keyboard at the foot of the window: keys, their range, and how they are played by letters."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QVBoxLayout, QWidget

from companion.desktop import forms
from companion.desktop.keyboard.key_layout import HIGHEST_PITCH, LOWEST_PITCH
from companion.desktop.keyboard.piano_keys import PianoKeys
from companion.desktop.palette import Palette

_NOTE_ON, _NOTE_OFF, _CONTROL = 0x90, 0x80, 0xB0  # MIDI 1.0, channel 1
_DAMPER = 64
_RELEASE_VELOCITY = 64


class KeyboardPanel(QWidget):
    """Piano keys with their range.

    Signals
    -------
    played(bytes)
        A MIDI channel message, as if a piano had sent it.
    """

    played = Signal(bytes)

    def __init__(self, palette: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._piece_range = (LOWEST_PITCH, HIGHEST_PITCH)
        self.keys = PianoKeys(palette)
        self.keys.pressed.connect(self._pressed)
        self.keys.released.connect(self._released)
        self.keys.sustain_changed.connect(self._pedal)
        self._whole = QCheckBox(self.tr("All &88 keys"))
        self._whole.setToolTip(self.tr("Show all keys, or only those that the piece needs"))
        self._whole.setAccessibleName(self.tr("All 88 keys"))
        self._whole.setChecked(True)
        self._whole.toggled.connect(self._show_range)
        hint = forms.small(
            self.tr(
                "Click the keys, or click once and play with the letters: the row from Z and the "
                "row from Q are white keys, Space is the pedal, Page Up and Page Down the octave."
            )
        )
        row = QHBoxLayout()
        row.addWidget(hint, 1)
        row.addWidget(self._whole)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 6, 24, 10)
        column.setSpacing(6)
        column.addLayout(row)
        column.addWidget(self.keys)

    def show_piece_range(self, lowest: int, highest: int) -> None:
        """Take the range of the piece for the narrower keyboard."""
        self._piece_range = (lowest, highest)
        self._show_range()

    def _show_range(self) -> None:
        whole = (LOWEST_PITCH, HIGHEST_PITCH)
        self.keys.show_range(*(whole if self._whole.isChecked() else self._piece_range))

    def _pressed(self, pitch: int, velocity: int) -> None:
        self.played.emit(bytes((_NOTE_ON, pitch, velocity)))

    def _released(self, pitch: int) -> None:
        self.played.emit(bytes((_NOTE_OFF, pitch, _RELEASE_VELOCITY)))

    def _pedal(self, down: bool) -> None:
        self.played.emit(bytes((_CONTROL, _DAMPER, 127 if down else 0)))
