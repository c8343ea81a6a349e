"""Choose keys and pedals of the piano for commands: by pressing them."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QCoreApplication, Qt, Signal
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QGridLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from companion.desktop import forms, typography
from companion.desktop.listener_panel.note_names import key_name
from companion.midi.commands import PEDALS, Trigger, TriggerKind


def _tr(text: str) -> str:
    return QCoreApplication.translate("PianoKeys", text)


def trigger_name(trigger: Trigger | None) -> str:
    """A key or pedal for the eye: "key A0", "left pedal"."""
    if trigger is None:
        return _tr("none")
    if trigger.kind is TriggerKind.PEDAL:
        return _tr(PEDALS[trigger.number])
    return _tr("key {name}").format(name=key_name(trigger.number, 0))


class PianoKeysDialog(QDialog):
    """One row for each command.

    Signals
    -------
    armed(str)
        The next key or pedal that is pressed is for this command; "" for none any more.
    cleared(str)
        This command has no key any more.
    """

    armed = Signal(str)
    cleared = Signal(str)

    def __init__(self, names: Mapping[str, str], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(_tr("Keys of the piano"))
        self._armed = ""
        self._shown: dict[str, QLabel] = {}
        self._press: dict[str, QPushButton] = {}
        grid = QGridLayout()
        grid.setHorizontalSpacing(16)
        grid.setVerticalSpacing(10)
        for row, (command, text) in enumerate(names.items()):
            label = QLabel(text)
            shown = QLabel()
            shown.setFont(typography.serif())
            press = QPushButton(_tr("Press it…"))
            press.setCheckable(True)
            press.setAutoDefault(False)
            press.setAccessibleName(_tr("Press the key or pedal for: {text}").format(text=text))
            press.clicked.connect(lambda on, name=command: self._arm(name if on else ""))
            none = QPushButton(_tr("None"))
            none.setAutoDefault(False)
            none.setAccessibleName(_tr("No key or pedal for: {text}").format(text=text))
            none.clicked.connect(lambda _on=False, name=command: self._clear(name))
            self._shown[command], self._press[command] = shown, press
            for place, part in enumerate((label, shown, press, none)):
                grid.addWidget(part, row, place)
        grid.setColumnStretch(0, 1)
        grid.setColumnMinimumWidth(1, 110)
        self._told = forms.small()
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 20, 24, 20)
        column.setSpacing(14)
        column.addWidget(forms.heading(self.windowTitle()))
        words = forms.small(
            _tr(
                "Choose keys that your pieces do not use, or a pedal that you can spare: what is "
                "chosen is no music any more, and is not kept in a take."
            )
        )
        column.addWidget(words)
        column.addLayout(grid)
        column.addWidget(self._told)
        column.addWidget(buttons)
        self.finished.connect(lambda _result: self._arm(""))
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)

    @property
    def armed_for(self) -> str:
        """The command that waits for its key."""
        return self._armed

    def show_trigger(self, command: str, trigger: Trigger | None) -> None:
        """Show the key or pedal of a command."""
        self._shown[command].setText(trigger_name(trigger))

    def chosen(self) -> None:
        """The key that was waited for was pressed."""
        self._arm("")

    def _arm(self, command: str) -> None:
        if command == self._armed:
            return
        self._armed = command
        for name, press in self._press.items():
            press.setChecked(name == command)
        self._told.setText(_tr("Press a key or a pedal of the piano now.") if command else "")
        self.armed.emit(command)

    def _clear(self, command: str) -> None:
        self._arm("")
        self.cleared.emit(command)
