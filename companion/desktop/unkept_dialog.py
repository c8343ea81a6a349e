"""Asked when the window closes and takes could not be put into the history."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QVBoxLayout, QWidget

from companion.desktop import forms


class UnkeptDialog(QDialog):
    """Says what is not in the history, and offers to save it as MIDI files.

    Signals
    -------
    saving_asked()
        Save the takes as MIDI files, then close.
    closing_asked()
        Close all the same.
    """

    saving_asked = Signal()
    closing_asked = Signal()

    def __init__(self, take_count: int, *, kept_aside: bool, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(self.tr("Not in your history yet"))
        question = (
            self.tr("A take of this sitting is not in your practice history.")
            if take_count == 1
            else self.tr("{n} takes of this sitting are not in your practice history.").format(
                n=take_count
            )
        )
        aside = (
            self.tr(
                "What you played is kept aside and is put there at the next start at which the "
                "history can be written. You can also save it as MIDI files."
            )
            if kept_aside
            else self.tr(
                "It cannot be kept anywhere at the moment: without MIDI files it is lost when the "
                "window closes."
            )
        )
        self.setAccessibleDescription(f"{question} {aside}")
        buttons = QDialogButtonBox()
        role = QDialogButtonBox.ButtonRole
        self.save = buttons.addButton(self.tr("&Save as MIDI files…"), role.AcceptRole)
        self.close_window = buttons.addButton(self.tr("&Close"), role.DestructiveRole)
        self.stay = buttons.addButton(self.tr("Go on &playing"), role.RejectRole)
        self.save.clicked.connect(self.saving_asked)
        self.close_window.clicked.connect(self.closing_asked)
        for button in (self.save, self.close_window, self.stay):
            button.clicked.connect(self.hide)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 20, 24, 20)
        column.setSpacing(12)
        column.addWidget(forms.heading(question))
        text = forms.small(aside)
        column.addWidget(text)
        column.addWidget(buttons)
        (self.close_window if kept_aside else self.save).setFocus()
