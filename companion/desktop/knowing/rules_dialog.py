"""The rules of a piece as a form: what counts as clean and as known."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QAbstractSpinBox,
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
from companion.desktop.knowing import wording
from companion.history.knowing.clean import Thresholds
from companion.history.knowing.words import rules_in_words

_LABEL_PIXELS = 330
_FIELD_PIXELS = 120


class RulesDialog(QDialog):
    """Every rule with a sentence; nothing holds before it is accepted.

    Signals
    -------
    rules_chosen(Thresholds)
        These rules shall hold from now on, for the past as well.
    """

    rules_chosen = Signal(object)

    def __init__(self, rules: Thresholds, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(wording.tr("Rules of this piece"))
        self._form = QFormLayout()
        self._form.setHorizontalSpacing(24)
        self._form.setVerticalSpacing(10)
        self._form.setLabelAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self._told = forms.small()
        self._told.setMinimumHeight(3 * self._told.fontMetrics().lineSpacing())
        self._told.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._told.setAccessibleName(wording.tr("The rules in a sentence"))
        self._errors = QDoubleSpinBox()
        self._errors.setDecimals(1)
        self._errors.setSingleStep(0.5)
        self._errors.setRange(0.0, 100.0)
        self._add(wording.tr("Errors per 100 notes, at most"), self._errors)
        self._edges = self._whole(
            wording.tr("Slips in melody or bass at its edges, at most"), 0, 20
        )
        self._stops = self._whole(wording.tr("Stops, at most"), 0, 20)
        self._tempo = self._whole(wording.tr("Tempo, at least this share of the target"), 0, 200)
        self._tempo.setSuffix(" %")
        self._takes = self._whole(wording.tr("Clean cold takes until it is known"), 1, 30)
        self._spread = self._whole(wording.tr("Spread over so many days, at least"), 1, 365)
        self._misses = self._whole(
            wording.tr("It lapses when so many cold takes were not clean"), 1, 30
        )
        self._of = self._whole(wording.tr("of the last so many cold takes"), 1, 30)
        buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel
        )
        usual = buttons.addButton(wording.tr("&Usual rules"), QDialogButtonBox.ButtonRole.ResetRole)
        usual.clicked.connect(lambda: self.show_rules(Thresholds()))
        buttons.accepted.connect(self._accepted)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 20, 24, 20)
        column.setSpacing(14)
        column.addWidget(forms.heading(self.windowTitle()))
        column.addLayout(self._form)
        column.addWidget(self._told)
        column.addWidget(
            forms.small(
                wording.tr(
                    "All takes so far are judged by the new rules as well. It can be undone."
                )
            )
        )
        column.addWidget(buttons)
        for field in self.findChildren(QAbstractSpinBox):
            field.valueChanged.connect(self._tell)  # type: ignore[attr-defined]  # whole or not
        self._misses.valueChanged.connect(lambda misses: self._of.setMinimum(misses))
        self.show_rules(rules)

    def show_rules(self, rules: Thresholds) -> None:
        """Fill the form."""
        self._errors.setValue(rules.errors_per_100)
        self._edges.setValue(rules.edge_errors)
        self._stops.setValue(rules.stops)
        self._tempo.setValue(round(100 * rules.tempo_share))
        self._takes.setValue(rules.days_to_know)
        self._spread.setValue(rules.days_needed)
        self._of.setMinimum(1)
        self._of.setValue(rules.lapse_of)
        self._misses.setValue(rules.lapse_misses)
        self._tell()

    @property
    def rules(self) -> Thresholds:
        """What stands in the form."""
        takes, spread = self._takes.value(), self._spread.value()
        return Thresholds(
            errors_per_100=round(self._errors.value(), 1),
            tempo_share=self._tempo.value() / 100,
            edge_errors=self._edges.value(),
            days_to_know=takes,
            lapse_of=max(self._of.value(), self._misses.value()),
            lapse_misses=self._misses.value(),
            stops=self._stops.value(),
            # as many days as takes are needed anyhow
            spread_days=spread if spread > takes else 1,
        )

    def _whole(self, text: str, least: int, most: int) -> QSpinBox:
        field = QSpinBox()
        field.setRange(least, most)
        self._add(text, field)
        return field

    def _add(self, text: str, field: QSpinBox | QDoubleSpinBox) -> None:
        forms.inset(field)
        field.setFixedWidth(_FIELD_PIXELS)
        field.setAccessibleName(text)
        label = QLabel(text)
        label.setWordWrap(True)
        label.setFixedWidth(_LABEL_PIXELS)
        label.setBuddy(field)
        self._form.addRow(label, field)

    def _tell(self) -> None:
        sentence = rules_in_words(self.rules)
        self._told.setText(sentence[:1].upper() + sentence[1:] + ".")

    def _accepted(self) -> None:
        self.rules_chosen.emit(self.rules)
        self.accept()
