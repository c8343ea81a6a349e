"""The settings as a form, made from the one table in :mod:`companion.settings`."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QDoubleSpinBox,
    QFormLayout,
    QLabel,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from companion.desktop import forms
from companion.settings import SettingField, Settings, setting_fields

if TYPE_CHECKING:
    from companion.settings import Value

_CHOICES = {"system": "as the system has it", "light": "by day", "dark": "by night"}
_LABEL_WIDTH_PIXELS = 330
_FIELD_WIDTH_PIXELS = 148


def _tr(text: str) -> str:
    return QCoreApplication.translate("Settings", text)


def shown_fields() -> tuple[SettingField, ...]:
    """The lines of the table that are for the pianist."""
    return tuple(line for line in setting_fields() if line.described.shown)


class SettingsDialog(QDialog):
    """Every setting with its sentence; each change holds at once.

    Signals
    -------
    changed(str, object)
        Name of a setting and its new value.
    """

    changed = Signal(str, object)

    def __init__(self, settings: Settings, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(_tr("Settings"))
        self._fields: dict[str, QWidget] = {}
        form = QFormLayout()
        form.setHorizontalSpacing(24)
        form.setVerticalSpacing(12)
        form.setFormAlignment(Qt.AlignmentFlag.AlignLeft)
        form.setLabelAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        for line in shown_fields():
            field = self._field(line, getattr(settings, line.name))
            sentence = _tr(line.described.text)
            field.setAccessibleName(sentence)
            label = QLabel(sentence)
            label.setWordWrap(True)
            label.setFixedWidth(_LABEL_WIDTH_PIXELS)
            label.setBuddy(field)
            self._fields[line.name] = field
            form.addRow(label, field)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        usual = buttons.addButton(_tr("&Usual values"), QDialogButtonBox.ButtonRole.ResetRole)
        usual.setToolTip(_tr("Set everything back to the values of a new program"))
        for button in buttons.buttons():
            button.setAutoDefault(False)  # type: ignore[attr-defined]
        usual.clicked.connect(self._back_to_usual)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 20, 24, 20)
        column.setSpacing(16)
        column.addWidget(forms.heading(self.windowTitle()))
        column.addLayout(form)
        column.addWidget(forms.small(_tr("Changes hold at once; there is nothing to save.")))
        column.addWidget(buttons)

    def field(self, name: str) -> QWidget:
        """The field of a setting."""
        return self._fields[name]

    def _field(self, line: SettingField, value: Value) -> QWidget:
        name = line.name
        if line.kind is bool:
            check = QCheckBox()
            check.setChecked(bool(value))
            check.toggled.connect(lambda on: self.changed.emit(name, on))
            return check
        if line.described.choices:
            box = QComboBox()
            for choice in line.described.choices:
                box.addItem(_tr(_CHOICES.get(choice, choice)), choice)
            box.setCurrentIndex(box.findData(value))
            box.setMinimumWidth(_FIELD_WIDTH_PIXELS)
            box.currentIndexChanged.connect(
                lambda row: self.changed.emit(name, str(box.itemData(row)))
            )
            return box
        spin = QSpinBox() if line.kind is int else QDoubleSpinBox()
        forms.inset(spin)
        if isinstance(spin, QDoubleSpinBox):
            spin.setDecimals(1)
            spin.setSingleStep(0.5)
        spin.setRange(line.described.least or 0, line.described.most or 99)  # type: ignore[arg-type]
        spin.setValue(value)  # type: ignore[arg-type]
        spin.setFixedWidth(_FIELD_WIDTH_PIXELS)
        spin.valueChanged.connect(lambda number: self.changed.emit(name, number))
        return spin

    def _back_to_usual(self) -> None:
        for line in shown_fields():
            field = self._fields[line.name]
            if isinstance(field, QCheckBox):
                field.setChecked(bool(line.default))
            elif isinstance(field, QComboBox):
                field.setCurrentIndex(field.findData(line.default))
            elif isinstance(field, (QSpinBox, QDoubleSpinBox)):
                field.setValue(line.default)  # type: ignore[arg-type]
