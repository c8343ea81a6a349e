"""The sheet of a section: name, what it is for, how to play it, how fast, where it lies."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QEvent, QObject, QSize, Qt, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QDoubleSpinBox,
    QFrame,
    QHBoxLayout,
    QLineEdit,
    QPlainTextEdit,
    QScrollArea,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from companion.desktop import forms, typography
from companion.desktop.icons import icon
from companion.desktop.palette import Palette
from companion.desktop.section_map import wording
from companion.score.model import Measure, Position
from companion.score.sections.section_map import Section
from companion.timebase import (
    beats_per_minute_to_quarters_per_minute,
    quarters_per_minute_to_beats_per_minute,
)

_FASTEST_BEATS_PER_MINUTE = 400.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetWords:
    """What was written on the sheet."""

    section_id: str
    purpose: str
    how_to_play: str
    target_quarters_per_minute: float | None


_LEAST_WORDS_PIXELS = 52  # two lines
_MOST_WORDS_PIXELS = 130


class SectionSheet(QWidget):
    """A side panel; whatever is written is stored when the field is left.

    Signals
    -------
    renamed(str, str)
        Section id and new name.
    written(SheetWords)
        Words or target changed.
    border_moved(object, object)
        Old and new :class:`Position` of the beginning or the end.
    close_asked()
        The sheet shall be put away.
    """

    renamed = Signal(str, str)
    written = Signal(object)
    border_moved = Signal(object, object)
    close_asked = Signal()

    def __init__(self, palette: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("side_panel")
        self._section: Section | None = None
        self._measures: tuple[Measure, ...] = ()
        self._title = forms.heading(self.tr("Section sheet"))
        self._close = QToolButton()
        self._close.setProperty("flat", True)
        self._close.setAccessibleName(self.tr("Put the sheet away"))
        self._close.setToolTip(self.tr("Put the sheet away"))
        self._close.clicked.connect(self.close_asked)
        self._name = QLineEdit()
        self._name.setFont(typography.serif())
        self._name.editingFinished.connect(self._name_left)
        self._purpose = self._words_field()
        self._how = self._words_field()
        self._target = QDoubleSpinBox()
        forms.inset(self._target)
        self._target.setRange(0.0, _FASTEST_BEATS_PER_MINUTE)
        self._target.setDecimals(0)
        self._target.setSpecialValueText(self.tr("as the score says"))
        self._target.setKeyboardTracking(False)
        self._target.valueChanged.connect(self._words_left)
        self._unit = forms.small()
        self._first, self._last = QComboBox(), QComboBox()
        self._first.activated.connect(self._first_chosen)
        self._last.activated.connect(self._last_chosen)
        self._why = forms.small()
        self._lay_out()
        self.set_colours(palette)
        self.show_section(None, ())

    def _words_field(self) -> _WordsField:
        field = _WordsField()
        field.setTabChangesFocus(True)
        field.setMinimumHeight(_LEAST_WORDS_PIXELS)
        field.setMaximumHeight(_MOST_WORDS_PIXELS)
        field.installEventFilter(self)
        return field

    def _lay_out(self) -> None:
        top = QHBoxLayout()
        top.addWidget(self._title, 1)
        top.addWidget(self._close)
        column = QVBoxLayout()
        column.setContentsMargins(20, 14, 20, 14)
        column.setSpacing(6)
        column.addLayout(top)
        column.addWidget(forms.rule())
        forms.add_field(column, self.tr("&Name of the section"), self._name)
        for text, field, example in (
            (
                self.tr("What it is &for in the piece"),
                self._purpose,
                self.tr("In your own words: the return of the opening, the calm before the storm…"),
            ),
            (
                self.tr("How to play &it"),
                self._how,
                self.tr("Touch, colour, pedal, what to listen for, where to breathe"),
            ),
        ):
            forms.add_field(column, text, field, example)
            field.setPlaceholderText(example)
        forms.add_field(
            column,
            self.tr("Tar&get tempo, beats a minute"),
            self._target,
            self.tr("Nought means: as the score says"),
        )
        column.addWidget(self._unit)
        span = QHBoxLayout()
        for text, box in (
            (self.tr("From m&easure"), self._first),
            (self.tr("To mea&sure"), self._last),
        ):
            part = QVBoxLayout()
            part.setSpacing(6)
            forms.add_field(part, text, box)
            span.addLayout(part)
        column.addLayout(span)
        column.addWidget(self._why)
        column.addStretch(1)
        inside = QWidget()
        inside.setObjectName("side_panel")
        inside.setLayout(column)
        scroll = QScrollArea()
        scroll.setWidgetResizable(True)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setWidget(inside)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(scroll)
        self.setMinimumWidth(260)

    def set_colours(self, palette: Palette) -> None:
        """Draw with another palette from now on."""
        self._close.setIcon(icon("close", palette))

    def show_section(self, section: Section | None, measures: tuple[Measure, ...]) -> None:
        """Show a section; None leaves the sheet empty and says what to do."""
        same = self._section is not None and section is not None
        same = same and self._section.section_id == section.section_id  # type: ignore[union-attr]
        if not same:
            self._words_left()
        self._section, self._measures = section, measures
        fields = (self._name, self._purpose, self._how, self._target, self._first, self._last)
        for field in fields:
            field.setEnabled(section is not None)
        if section is None:
            self._title.setText(self.tr("Section sheet"))
            self._why.setText(self.tr("Choose a section on the map."))
            for text_field in (self._purpose, self._how):
                text_field.clear()
            self._name.clear()
            self._unit.clear()
            return
        self._title.setText(section.name)
        self._name.setText(section.name)
        for text_field, text in (
            (self._purpose, section.purpose),
            (self._how, section.how_to_play),
        ):
            if text_field.toPlainText() != text:
                text_field.setPlainText(text)
        self._show_target(section)
        self._show_span(section)
        reason = self.tr("Proposed because of: {why}").format(why=section.why)
        self._why.setText(reason if section.why else "")

    @property
    def in_use(self) -> bool:
        """Whether something was written here that is not stored yet."""
        section = self._section
        return section is not None and (
            self._name.text().strip(),
            self._purpose.toPlainText().strip(),
            self._how.toPlainText().strip(),
        ) != (section.name, section.purpose, section.how_to_play)

    def focus_words(self) -> None:
        """Put the cursor into the purpose."""
        self._purpose.setFocus()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Store what was written when a field of words loses the focus."""
        if event.type() == QEvent.Type.FocusOut and watched in (self._purpose, self._how):
            self._words_left()
        return super().eventFilter(watched, event)

    def _beat_quarters(self, section: Section) -> Measure:
        return self._measures[min(section.start.measure_index, len(self._measures) - 1)]

    def _show_target(self, section: Section) -> None:
        beat = self._beat_quarters(section).beat_quarters
        target = section.target_quarters_per_minute
        value = quarters_per_minute_to_beats_per_minute(target, beat) if target else 0.0
        self._target.blockSignals(True)
        self._target.setValue(value)
        self._target.blockSignals(False)
        self._unit.setText(
            self.tr("The beat here is the {beat}.").format(beat=wording.beat_name(beat))
        )

    def _show_span(self, section: Section) -> None:
        numbers = [measure.number for measure in self._measures]
        for box in (self._first, self._last):
            box.clear()
            box.addItems(numbers)
        last = section.end.measure_index - (0 if section.end.offset_quarters else 1)
        self._first.setCurrentIndex(section.start.measure_index)
        self._last.setCurrentIndex(max(0, last))
        self._first.setEnabled(section.start.measure_index > 0)
        self._last.setEnabled(section.end.measure_index < len(numbers))

    def _name_left(self) -> None:
        section = self._section
        name = self._name.text().strip()
        if section is not None and name and name != section.name:
            self.renamed.emit(section.section_id, name)

    def _words_left(self) -> None:
        section = self._section
        if section is None:
            return
        beat = self._beat_quarters(section).beat_quarters
        value = self._target.value()
        old = section.target_quarters_per_minute
        unchanged = old is not None and round(
            quarters_per_minute_to_beats_per_minute(old, beat)
        ) == round(value)
        target: float | None = None
        if unchanged:
            target = old
        elif value > 0:
            target = beats_per_minute_to_quarters_per_minute(value, beat)
        words = SheetWords(
            section_id=section.section_id,
            purpose=self._purpose.toPlainText().strip(),
            how_to_play=self._how.toPlainText().strip(),
            target_quarters_per_minute=target,
        )
        before = (section.purpose, section.how_to_play, old)
        if (words.purpose, words.how_to_play, target) != before:
            self.written.emit(words)

    def _first_chosen(self, index: int) -> None:
        if self._section is not None and Position(index) != self._section.start:
            self.border_moved.emit(self._section.start, Position(index))

    def _last_chosen(self, index: int) -> None:
        if self._section is not None and Position(index + 1) != self._section.end:
            self.border_moved.emit(self._section.end, Position(index + 1))


class _WordsField(QPlainTextEdit):
    """A field of words that asks for two lines and takes more where there is room."""

    def sizeHint(self) -> QSize:
        """Two lines: the sheet then fits a low window without scrolling."""
        return QSize(super().sizeHint().width(), _LEAST_WORDS_PIXELS)
