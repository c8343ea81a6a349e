"""What the hands of the pianist span, and which rules suggest fingers."""

from __future__ import annotations

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QGridLayout,
    QLabel,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from companion.analysis.fingering.hands import PianistHands
from companion.analysis.fingering.rules import Model
from companion.analysis.fingering.spans import (
    PAIRS,
    HandSize,
    HandSpans,
    own_spans,
    stretch_range,
    widest_stretches,
)
from companion.desktop import forms, tips, typography
from companion.desktop.grouping.wording import hand_name, interval_name, tr
from companion.errors import EditRefused
from companion.score.model import Hand

_WIDTH_PIXELS = 620
_FIELD_PIXELS = 190
_OWN = ""


def _size_names() -> dict[str, str]:
    return {
        HandSize.SMALL.value: tr("Small: about an octave"),
        HandSize.MEDIUM.value: tr("Medium: about a tenth"),
        HandSize.LARGE.value: tr("Large: beyond a tenth"),
        _OWN: tr("As set below"),
    }


def _rules() -> dict[Model, tuple[str, str]]:
    """Name and tip of each form of the model."""
    return {
        Model.TAUGHT: (
            tr("Adjusted to common teaching"),
            tr(
                "The published rules, with a strong little finger, and a thumb that keeps off "
                "black keys in running notes, as it is taught for scales."
            ),
        ),
        Model.PARNCUTT: (
            tr("As published in 1997"),
            tr(
                "Parncutt, Sloboda, Clarke, Raekallio and Desain: An ergonomic model of keyboard "
                "fingering for melodic fragments, Music Perception 14 (1997). Twelve rules give "
                "points for what is awkward; the fewest points come first."
            ),
        ),
        Model.JACOBS: (
            tr("With the corrections of 2001"),
            tr(
                "Jacobs: Refinements to the ergonomic model for keyboard fingering, Music "
                "Perception 18 (2001). Distances are measured on the keyboard instead of in "
                "semitones, and only the fourth finger counts as weak."
            ),
        ),
    }


class HandsDialog(QDialog):
    """The widest stretch of each pair of fingers, per hand.

    Signals
    -------
    hands_set(PianistHands)
        The hands that shall be asked from now on.
    """

    hands_set = Signal(object)

    def __init__(self, hands: PianistHands, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(tr("Your hands"))
        self.setMinimumWidth(_WIDTH_PIXELS)
        self._sizes: dict[Hand, QComboBox] = {}
        self._stretches: dict[Hand, tuple[QSpinBox, ...]] = {}
        self._trouble = QLabel()
        self._trouble.setFont(typography.serif(italic=True))
        self._trouble.setWordWrap(True)
        self._model = QComboBox()
        for number, (model, (name, tip)) in enumerate(_rules().items()):
            self._model.addItem(name, model.name)
            self._model.setItemData(number, tips.in_lines(tip), Qt.ItemDataRole.ToolTipRole)
        self._model.currentIndexChanged.connect(self._tell_rules)
        self._about = forms.small()
        buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel
        )
        self._ok = buttons.button(QDialogButtonBox.StandardButton.Ok)
        usual = buttons.addButton(tr("&Usual values"), QDialogButtonBox.ButtonRole.ResetRole)
        usual.setToolTip(tr("Medium hands, and the rules adjusted to common teaching"))
        usual.clicked.connect(lambda: self.show_hands(PianistHands()))
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        self.accepted.connect(self._tell)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 20, 24, 20)
        column.setSpacing(10)
        column.addWidget(forms.heading(tr("What your hands reach without strain")))
        column.addLayout(self._make_table())
        column.addWidget(self._trouble)
        forms.add_field(column, tr("&Rules for suggested fingers"), self._model)
        column.addWidget(self._about)
        column.addWidget(forms.rule())
        column.addWidget(
            forms.small(
                tr(
                    "Measure with a relaxed hand at the piano. A stretch that hurts is to be "
                    "avoided, not trained: stop, and let your teacher judge it, or a doctor or "
                    "physiotherapist who knows musicians. Suggested fingers are suggestions; "
                    "teachers know better than points do."
                )
            )
        )
        column.addWidget(buttons)
        self.show_hands(hands)

    def _make_table(self) -> QGridLayout:
        table = QGridLayout()
        table.setHorizontalSpacing(24)
        table.setVerticalSpacing(4)
        for column, hand in enumerate((Hand.LEFT, Hand.RIGHT), 1):
            name = hand_name(hand)
            size = QComboBox()
            size.setAccessibleName(tr("{hand}: its size").format(hand=name))
            tip = tr(
                "The medium hand is the table of Parncutt and others (1997); small and large ones "
                "are two semitones narrower or wider from the thumb, one between other fingers."
            )
            size.setToolTip(tips.in_lines(tip))
            for key, words in _size_names().items():
                size.addItem(words, key)
            size.activated.connect(lambda _row, h=hand: self._size_chosen(h))
            self._sizes[hand] = size
            table.addWidget(QLabel(name), 0, column)
            table.addWidget(size, 1, column)
            self._stretches[hand] = tuple(self._stretch(hand, pair) for pair in PAIRS)
            for row, field in enumerate(self._stretches[hand], 2):
                table.addWidget(field, row, column)
        table.addWidget(QLabel(tr("Size")), 1, 0)
        for row, (low, high) in enumerate(PAIRS, 2):
            table.addWidget(
                QLabel(tr("Fingers {low} and {high}").format(low=low, high=high)), row, 0
            )
        table.setColumnStretch(0, 1)
        return table

    def _stretch(self, hand: Hand, pair: tuple[int, int]) -> QSpinBox:
        field = QSpinBox()
        forms.inset(field)
        field.setRange(*stretch_range(pair))
        field.setFixedWidth(_FIELD_PIXELS)
        name = tr("{hand}, fingers {low} and {high}: widest stretch in semitones").format(
            hand=hand_name(hand), low=pair[0], high=pair[1]
        )
        field.setAccessibleName(name)
        field.setToolTip(
            tips.in_lines(
                name
                + ".\n"
                + tr("What is comfortable and what is relaxed moves along with it in the model.")
            )
        )
        field.valueChanged.connect(lambda _value, h=hand: self._stretch_changed(h))
        return field

    # -- showing and reading ---------------------------------------------------------------------

    def show_hands(self, hands: PianistHands) -> None:
        """Show hands and rules."""
        for hand in Hand:
            self._show_spans(hand, hands.asked(hand).spans)
        self._model.setCurrentIndex(self._model.findData(hands.model.name))
        self._tell_rules()
        self._check()

    @property
    def hands(self) -> PianistHands:
        """What is set.

        Raises
        ------
        EditRefused
            When stretches do not fit together.
        """
        spans = {
            hand: own_spans(tuple(field.value() for field in self._stretches[hand]))
            for hand in Hand
        }
        model = Model[str(self._model.currentData())]
        return PianistHands(right=spans[Hand.RIGHT], left=spans[Hand.LEFT], model=model)

    def set_stretch(self, hand: Hand, pair: tuple[int, int], semitones: int) -> None:
        """Set a stretch as if it had been typed."""
        self._stretches[hand][PAIRS.index(pair)].setValue(semitones)

    @property
    def trouble(self) -> str:
        """What does not fit, "" when all does."""
        return self._trouble.text()

    def _show_spans(self, hand: Hand, spans: HandSpans) -> None:
        for field, value in zip(self._stretches[hand], widest_stretches(spans), strict=True):
            with QSignalBlocker(field):
                field.setValue(value)
            _name_interval(field)
        size = self._sizes[hand]
        size.setCurrentIndex(size.findData(spans.size.value if spans.size else _OWN))

    def _size_chosen(self, hand: Hand) -> None:
        key = str(self._sizes[hand].currentData())
        if key != _OWN:
            self._show_spans(hand, HandSpans.of(HandSize(key)))
            self._check()

    def _stretch_changed(self, hand: Hand) -> None:
        for field in self._stretches[hand]:
            _name_interval(field)
        widest = tuple(field.value() for field in self._stretches[hand])
        size = next(
            (each for each in HandSize if widest_stretches(HandSpans.of(each)) == widest), None
        )
        box = self._sizes[hand]
        box.setCurrentIndex(box.findData(size.value if size else _OWN))
        self._check()

    def _check(self) -> None:
        try:
            _ = self.hands
        except EditRefused as error:
            self._trouble.setText(str(error))
        else:
            self._trouble.setText("")
        self._trouble.setVisible(bool(self._trouble.text()))
        self._ok.setEnabled(not self._trouble.text())

    def _tell_rules(self) -> None:
        _, about = _rules()[Model[str(self._model.currentData())]]
        self._about.setText(about)
        self._model.setToolTip(tips.in_lines(about))

    def _tell(self) -> None:
        self.hands_set.emit(self.hands)


def _name_interval(field: QSpinBox) -> None:
    field.setSuffix(f"  {interval_name(field.value())}")
