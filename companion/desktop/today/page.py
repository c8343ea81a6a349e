"""The page of today: the turns in order, the days to come, and care for the hands."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, QSize, Qt, Signal
from PySide6.QtWidgets import (
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QListWidget,
    QPushButton,
    QScrollArea,
    QStackedLayout,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from companion.desktop import forms, tips, typography
from companion.desktop.days.tables import fit_rows, plain_table, wrap_lines
from companion.desktop.lines_model import AnyIndex
from companion.desktop.palette import Palette
from companion.desktop.today.content import TodayContent, TurnLine
from companion.desktop.today.table import Column, TurnTableModel, day_rows, days_model
from companion.desktop.today.wording import minutes_text, tr

_MOST_TURNS = 14
_MOST_DAYS = 10
_MOST_SPOTS, _SPOT_PIXELS = 6, 24
_GAP_PIXELS = 12


class _SpotDelegate(QStyledItemDelegate):
    """Lines as high as the rows of a table."""

    def sizeHint(self, _option: QStyleOptionViewItem, _index: AnyIndex) -> QSize:
        """Of any line."""
        return QSize(0, _SPOT_PIXELS)


class TodayPage(QWidget):
    """What to do today.

    Signals
    -------
    turn_chosen(str)
        A turn was chosen (id): the map and the score show its place.
    turn_opened(str)
        A turn was opened by Enter, a double click or its button: go where it is done.
    done_by_hand(str)
        The pianist says that a turn away from the keyboard is done (id).
    spot_opened(int), spot_removed(int)
        Show a marked spot, take its mark away (index of its measure).
    time_asked(), calendar_asked(), print_asked()
        Set time and days off; export the days; print the plan.
    discomfort_noted(), discomfort_taken_back()
        Something hurts; that was a mistake.
    """

    turn_chosen = Signal(str)
    turn_opened = Signal(str)
    done_by_hand = Signal(str)
    spot_opened = Signal(int)
    spot_removed = Signal(int)
    time_asked = Signal()
    calendar_asked = Signal()
    discomfort_noted = Signal()
    discomfort_taken_back = Signal()
    print_asked = Signal()

    def __init__(self, palette: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._content = TodayContent()
        self._filling = False
        self._turns = TurnTableModel(palette, self)
        self._days = days_model(self)
        self._title = forms.heading("")
        self._headline = QLabel()
        self._headline.setFont(typography.serif())
        self._headline.setWordWrap(True)
        self._minutes = QLabel()
        self._minutes.setFont(typography.sans())
        self._view = self._make_turns_view()
        self._day_view = self._make_days_view()
        self._go = self._button(
            tr("&Go there"), tr("Open the page where the chosen turn is done"), self._open_chosen
        )
        self._done = self._button(
            tr("It is &done"),
            tr("Nobody can hear what is done away from the keyboard: say it yourself"),
            self._tell_done,
        )
        self._time = self._button(
            tr("T&ime and days off…"),
            tr("How long you practise on which day, days without practice, from memory or not"),
            self.time_asked.emit,
        )
        self._print = self._button(tr("P&rint…"), tr("Print the plan of today"), self._ask_print)
        self._calendar = self._button(
            tr("Export as &calendar…"),
            tr("Write the days to the performance as an iCalendar file"),
            self.calendar_asked.emit,
        )
        self._hurts = self._button(
            tr("Something h&urts"),
            tr("Stop for today: the plan ends here, and the day is noted"),
            self.discomfort_noted.emit,
        )
        self._mistake = self._button(
            tr("That was a mista&ke"),
            tr("Nothing hurts: take the note back, and the plan of today goes on"),
            self.discomfort_taken_back.emit,
        )
        self._outlook = forms.small()
        self._care = forms.small()
        self._empty = QLabel()
        self._empty.setFont(typography.serif(typography.HEADING_POINTS, italic=True))
        self._empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._empty.setWordWrap(True)
        self._table_part = QWidget()
        self._layers = QStackedLayout(self._table_part)
        self._layers.addWidget(self._view)
        self._layers.addWidget(self._empty)
        self._spots = self._make_spots()
        self._show_spot = self._button(
            tr("Show the &spot"), tr("Show the marked spot in the score"), self._open_spot
        )
        self._remove_spot = self._button(
            tr("Take the mark &away"), tr("It needs no more work"), self._take_spot_away
        )
        self._spots_part = self._make_spots_part()
        self._days_part = self._make_days_part()
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(self._make_page())
        self.show_content(TodayContent(waiting=True))

    def set_palette(self, palette: Palette) -> None:
        """Draw in other colours from now on."""
        self._turns.set_palette(palette)

    def show_content(self, content: TodayContent) -> None:
        """Show a plan; the chosen turn stays chosen where it is still there."""
        before = self.chosen_turn
        self._content = content
        self._filling = True
        self._title.setText(content.title or tr("Today"))
        self._headline.setText(content.headline)
        self._minutes.setText(minutes_text(content.minutes_planned, content.minutes_left))
        self._turns.show_lines(content.turns, content.next_id)
        self._fit_turns()
        self._empty.setText(
            tr("The plan is being made.") if content.waiting else tr("Nothing to practise today.")
        )
        self._layers.setCurrentIndex(0 if content.turns else 1)
        chosen = before.turn_id if before is not None else content.next_id
        row = self._turns.row_of(chosen)
        if row is None:
            row = self._turns.row_of(content.next_id)
        if row is not None:
            self._view.selectRow(row)
        today = frozenset(row for row, day in enumerate(content.days) if day.today)
        self._days.show_rows(day_rows(content.days), bold=today)
        fit_rows(self._day_view, _MOST_DAYS)
        self._day_view.setVisible(bool(content.days))
        self._outlook.setText(content.outlook)
        self._days_part.setVisible(bool(content.days or content.outlook))
        self._show_spots()
        self._care.setText("\n".join(content.care))
        self._filling = False
        self._tell_buttons()

    @property
    def content(self) -> TodayContent:
        """What is shown."""
        return self._content

    @property
    def chosen_turn(self) -> TurnLine | None:
        """The turn that is chosen."""
        return self._turns.line(self._view.currentIndex().row())

    def choose_turn(self, turn_id: str) -> None:
        """Choose a turn as if its row had been clicked."""
        row = self._turns.row_of(turn_id)
        if row is not None:
            self._view.selectRow(row)

    # internal

    def _button(self, text: str, tip: str, act: object) -> QPushButton:
        button = QPushButton(text)
        button.setToolTip(tips.in_lines(tip))
        button.setAccessibleDescription(tip)
        button.clicked.connect(lambda _checked=False: act())  # type: ignore[operator]
        return button

    def _make_page(self) -> QScrollArea:
        sheet = QWidget()
        column = QVBoxLayout(sheet)
        column.setContentsMargins(0, 0, 12, 0)
        column.setSpacing(8)
        head = QHBoxLayout()
        head.setSpacing(_GAP_PIXELS)
        head.addWidget(self._title, 1)
        for button in (self._time, self._print):
            head.addWidget(button, 0, Qt.AlignmentFlag.AlignTop)
        column.addLayout(head)
        column.addWidget(self._headline)
        column.addWidget(self._table_part)
        foot = QHBoxLayout()
        foot.setSpacing(_GAP_PIXELS)
        foot.addWidget(self._go)
        foot.addWidget(self._done)
        foot.addStretch(1)
        foot.addWidget(self._minutes)
        column.addLayout(foot)
        column.addSpacing(_GAP_PIXELS)
        column.addWidget(self._spots_part)
        column.addWidget(self._days_part)
        column.addWidget(forms.rule())
        care = QHBoxLayout()
        care.setSpacing(_GAP_PIXELS)
        care.addWidget(self._care, 1)
        care.addWidget(self._hurts, 0, Qt.AlignmentFlag.AlignTop)
        care.addWidget(self._mistake, 0, Qt.AlignmentFlag.AlignTop)
        column.addLayout(care)
        column.addStretch(1)
        return forms.scrolled(sheet, tr("Today"))

    def _make_turns_view(self) -> QTableView:
        view = plain_table(tr("Turns of today"))
        view.setModel(self._turns)
        view.setSelectionMode(QTableView.SelectionMode.SingleSelection)
        view.selectionModel().currentRowChanged.connect(self._row_changed)
        view.activated.connect(lambda _index: self._open_chosen())
        header = view.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(Column.WHY, QHeaderView.ResizeMode.Stretch)
        header.setMinimumSectionSize(24)
        header.sectionResized.connect(self._column_resized)
        return view

    def _column_resized(self, column: int, _before: int, _now: int) -> None:
        if column == Column.WHY:
            self._fit_turns()

    def _fit_turns(self) -> None:
        wrap_lines(self._view, Column.WHY)
        fit_rows(self._view, _MOST_TURNS)

    def _make_days_view(self) -> QTableView:
        view = plain_table(tr("The days to the performance"))
        view.setModel(self._days)
        view.setSelectionMode(QTableView.SelectionMode.NoSelection)
        header = view.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(1, QHeaderView.ResizeMode.Stretch)
        return view

    def _make_spots(self) -> QListWidget:
        spots = QListWidget()
        spots.setAccessibleName(tr("Marked while playing"))
        spots.setFont(typography.serif())
        spots.setItemDelegate(_SpotDelegate(spots))
        spots.itemActivated.connect(lambda _item: self._open_spot())
        spots.currentRowChanged.connect(lambda _row: self._tell_buttons())
        return spots

    def _make_spots_part(self) -> QWidget:
        part = QWidget()
        column = QVBoxLayout(part)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        column.addWidget(forms.heading(tr("Marked while playing")))
        column.addWidget(self._spots)
        row = QHBoxLayout()
        row.setSpacing(_GAP_PIXELS)
        row.addWidget(self._show_spot)
        row.addWidget(self._remove_spot)
        row.addStretch(1)
        column.addLayout(row)
        return part

    def _show_spots(self) -> None:
        row = max(0, self._spots.currentRow())
        self._spots.clear()
        self._spots.addItems([spot.text for spot in self._content.spots])
        count = len(self._content.spots)
        self._spots.setCurrentRow(min(row, count - 1))
        lines = min(max(count, 1), _MOST_SPOTS)
        self._spots.setFixedHeight(lines * _SPOT_PIXELS + 2 * self._spots.frameWidth())
        self._spots_part.setVisible(count > 0)

    def _chosen_spot(self) -> int | None:
        row = self._spots.currentRow()
        spots = self._content.spots
        return spots[row].measure_index if 0 <= row < len(spots) else None

    def _open_spot(self) -> None:
        spot = self._chosen_spot()
        if spot is not None:
            self.spot_opened.emit(spot)

    def _take_spot_away(self) -> None:
        spot = self._chosen_spot()
        if spot is not None:
            self.spot_removed.emit(spot)

    def _make_days_part(self) -> QWidget:
        part = QWidget()
        column = QVBoxLayout(part)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        head = QHBoxLayout()
        head.addWidget(forms.heading(tr("The way to the performance")), 1)
        head.addWidget(self._calendar)
        column.addLayout(head)
        column.addWidget(self._outlook)
        column.addWidget(self._day_view)
        return part

    def _row_changed(self, _current: QModelIndex) -> None:
        self._tell_buttons()
        line = self.chosen_turn
        if not self._filling and line is not None:
            self.turn_chosen.emit(line.turn_id)

    def _tell_buttons(self) -> None:
        line = self.chosen_turn if self._content.turns else None
        self._go.setEnabled(line is not None)
        self._done.setEnabled(line is not None and line.by_hand and not line.done)
        self._print.setEnabled(bool(self._content.turns))
        self._hurts.setVisible(not self._content.stopped)
        self._mistake.setVisible(self._content.stopped)
        for button in (self._show_spot, self._remove_spot):
            button.setEnabled(self._chosen_spot() is not None)

    def _open_chosen(self) -> None:
        line = self.chosen_turn
        if line is not None:
            self.turn_opened.emit(line.turn_id)

    def _tell_done(self) -> None:
        line = self.chosen_turn
        if line is not None and line.by_hand and not line.done:
            self.done_by_hand.emit(line.turn_id)

    def _ask_print(self) -> None:
        self.print_asked.emit()
