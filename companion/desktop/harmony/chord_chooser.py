"""Key and chord chosen from lists: for who does not want to type them.

What is chosen is written as one would write it under the score, into the same field in which it can
be typed: so the one teaches the other.
"""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QVBoxLayout, QWidget

from companion.desktop import forms
from companion.desktop.harmony.wording import tr

TONICS = ("C", "C♯", "D♭", "D", "D♯", "E♭", "E", "F", "F♯", "G♭", "G", "G♯", "A♭", "A", "B♭", "B")
MODES = ("major", "minor")
NUMERALS = {
    "major": ("I", "ii", "iii", "IV", "V", "vi", "viio", "i", "iv", "bVI", "bIII"),
    "minor": ("i", "iio", "III", "iv", "V", "VI", "viio", "v", "VII", "IV", "III+"),
}
"""Triads on the degrees of the scale, then those that are borrowed or altered most often."""

ALTERED = ("N6", "It6", "Fr43", "Ger65")
"""Chords whose position belongs to their name (Neapolitan, augmented sixths)."""

APPLIED = ("V", "viio")
"""Chords that can be those of another degree than the tonic."""

FIGURES = ("", "6", "64", "7", "65", "43", "42")
TARGETS = {"major": ("", "ii", "iii", "IV", "V", "vi"), "minor": ("", "III", "iv", "V", "VI")}


class ChordChooser(QWidget):
    """Lists for key, numeral, figures, and of what an applied chord is.

    Signals
    -------
    chosen(str)
        The answer as it would be typed: "E♭ major: V43".
    """

    chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._tonic, self._mode = QComboBox(), QComboBox()
        self._numeral, self._figures, self._target = QComboBox(), QComboBox(), QComboBox()
        self._tonic.addItem("–", "")
        for tonic in TONICS:
            self._tonic.addItem(tonic, tonic)
        self._mode.addItem(tr("major"), "major")
        self._mode.addItem(tr("minor"), "minor")
        for figures in FIGURES:
            self._figures.addItem("/".join(figures) or "–", figures)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(10)
        for text, box in (
            (tr("Ke&y"), self._tonic),
            (tr("Mo&de"), self._mode),
            (tr("N&umeral"), self._numeral),
            (tr("&Figures"), self._figures),
            (tr("&of"), self._target),
        ):
            cell = QVBoxLayout()
            cell.setSpacing(2)
            forms.add_field(cell, text, box)
            row.addLayout(cell)
            box.activated.connect(self._tell)
        row.addStretch(1)
        self._mode.activated.connect(self._offer_numerals)
        self._offer_numerals()

    @property
    def answer(self) -> str:
        """What is chosen, as it would be typed; "" where neither key nor chord is."""
        numeral = self._numeral.currentData()
        tonic = self._tonic.currentData()
        key = f"{tonic} {self._mode.currentData()}" if tonic else ""
        if numeral and numeral not in ALTERED:
            target = self._target.currentData() if numeral in APPLIED else ""
            numeral += self._figures.currentData() + (f"/{target}" if target else "")
        return ": ".join(part for part in (key, numeral) if part)

    def start_anew(self) -> None:
        """Choose no chord; the key stays, for the next place is often in it."""
        for box in (self._numeral, self._figures, self._target):
            box.setCurrentIndex(0)

    def choose(
        self, tonic: str, mode: str, numeral: str, figures: str = "", target: str = ""
    ) -> None:
        """Choose as if by hand."""
        self._tonic.setCurrentIndex(self._tonic.findData(tonic))
        self._mode.setCurrentIndex(self._mode.findData(mode))
        self._offer_numerals()
        for box, value in (
            (self._numeral, numeral),
            (self._figures, figures),
            (self._target, target),
        ):
            box.setCurrentIndex(box.findData(value))
        self._tell()

    def _offer_numerals(self) -> None:
        before = self._numeral.currentData()
        self._numeral.clear()
        self._numeral.addItem("–", "")
        for numeral in (*NUMERALS[self._mode.currentData()], *ALTERED):
            shown = numeral.replace("b", "♭")
            if shown.endswith("o"):
                shown = shown[:-1] + "°"
            self._numeral.addItem(shown, numeral)
        self._numeral.setCurrentIndex(max(0, self._numeral.findData(before)))
        self._target.clear()
        for target in TARGETS[self._mode.currentData()]:
            self._target.addItem(target or "–", target)

    def _tell(self) -> None:
        numeral = self._numeral.currentData()
        self._figures.setEnabled(numeral not in ALTERED)
        self._target.setEnabled(numeral in APPLIED)
        if self.answer:
            self.chosen.emit(self.answer)
