"""Choosing another reading of a chord, or writing one."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QLineEdit,
    QListWidget,
    QVBoxLayout,
    QWidget,
)

from companion.analysis.harmony import Reading
from companion.analysis.numerals import numeral
from companion.analysis.recitation import Answer
from companion.desktop import forms, typography
from companion.desktop.harmony.wording import chord_name, reading_choice, tr

_WIDTH_PIXELS = 420


class ChordDialog(QDialog):
    """One place of the score and what it may be.

    Parameters
    ----------
    place
        Where it is, in words.
    readings
        Those of the analysis, the first one being in force when nothing was corrected.
    read
        Reads what was typed; None when it makes no sense.
    is_own
        Whether the label in force is the pianist's own.

    Signals
    -------
    chosen(Reading), written(Answer), restored()
        Another reading, one that was typed, or that of the analysis again.
    """

    chosen = Signal(object)
    written = Signal(object)
    restored = Signal()

    def __init__(
        self,
        place: str,
        readings: Sequence[Reading],
        read: Callable[[str], Answer | None],
        *,
        is_own: bool,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("Key and chord"))
        self.setMinimumWidth(_WIDTH_PIXELS)
        self._readings = tuple(readings)
        self._read = read
        self._list = QListWidget()
        self._list.setAccessibleName(tr("Readings of this place"))
        self._list.setFont(typography.serif())
        self._list.setSpacing(2)
        self._list.addItems([reading_choice(reading) for reading in self._readings])
        self._list.setCurrentRow(0)
        self._list.setFixedHeight(
            (self._list.sizeHintForRow(0) + 4) * max(len(self._readings), 2)
            + 2 * self._list.frameWidth()
            + 4
        )
        self._own = QLineEdit()
        self._own.setPlaceholderText(tr("E flat major: V 4/3"))
        self._understood = forms.small()
        self._own.textChanged.connect(self._typed)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        self._ok = buttons.addButton(
            tr("&Write it into the score"), QDialogButtonBox.ButtonRole.AcceptRole
        )
        if is_own:
            back = buttons.addButton(tr("As &analysed"), QDialogButtonBox.ButtonRole.ResetRole)
            back.clicked.connect(self._restore)
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        self._list.itemActivated.connect(self.accept)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 20, 24, 20)
        column.setSpacing(10)
        column.addWidget(forms.heading(place))
        column.addWidget(self._list)
        forms.add_field(
            column,
            tr("&Another reading"),
            self._own,
            tr("Key, colon, numeral: small letters for minor, figures as under a bass"),
        )
        column.addWidget(self._understood)
        column.addWidget(buttons)
        self.accepted.connect(self._tell)

    def type(self, text: str) -> None:
        """Type another reading."""
        self._own.setText(text)

    @property
    def understood(self) -> str:
        """What was made of the typed text."""
        return self._understood.text()

    def _typed(self, text: str) -> None:
        answer = self._read(text) if text.strip() else None
        sensible = answer is not None and answer.chord is not None
        self._ok.setEnabled(sensible or not text.strip())
        self._list.setEnabled(not text.strip())
        if not text.strip():
            self._understood.setText("")
        elif sensible:
            self._understood.setText(_as_read(answer))
        else:
            self._understood.setText(tr("Not understood yet: for example “d: iv6”."))

    def _restore(self) -> None:
        self.restored.emit()
        self.close()

    def _tell(self) -> None:
        text = self._own.text().strip()
        if text:
            answer = self._read(text)
            if answer is not None and answer.chord is not None:
                self.written.emit(answer)
            return
        row = self._list.currentRow()
        if 0 <= row < len(self._readings):
            self.chosen.emit(self._readings[row])


def _as_read(answer: Answer | None) -> str:
    if answer is None or answer.chord is None or answer.key is None:
        return ""
    written = numeral(answer.chord, answer.inversion or 0, answer.key.mode)
    return chord_name(
        Reading(
            key=answer.key,
            degree=answer.chord.degree,
            quality=answer.chord.quality,
            inversion=answer.inversion or 0,
            numeral=written,
            confidence=1.0,
        )
    )
