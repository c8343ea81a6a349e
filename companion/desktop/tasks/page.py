"""The page of the tasks: the list, how the chosen one went, and what was decided about it."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, Qt, Signal, SignalInstance
from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QComboBox,
    QFrame,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QScrollArea,
    QStackedLayout,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from companion.desktop import forms, tips, typography
from companion.desktop.days.charts import DayChart
from companion.desktop.days.series import series_of
from companion.desktop.days.tables import ROW_PIXELS, fit_rows, plain_table
from companion.desktop.palette import Palette
from companion.desktop.tasks import wording
from companion.desktop.tasks.content import TaskLine, TasksContent
from companion.desktop.tasks.sheet import TaskSheet
from companion.desktop.tasks.table import Column, TaskTableModel
from companion.desktop.tasks.wording import tr
from companion.listening.definitions import TASK

_LEAST_ROWS = 6
_BELOW_LIST_PIXELS = 400  # head and foot of the list, the chosen task and its charts
_GAP_PIXELS = 8
_LEAST_LETTERS = 18
_ROWS_TO_FIT = 40
_LEAST_CHART_PIXELS = 140  # three beside each other and the listener in the smallest window
_WIDEST_PIXELS = {Column.TASK: 210, Column.SECTION: 150}
_BY_WORK, _BY_PLACE = 0, 1


class TasksPage(QWidget):
    """Tasks, and the chosen one.

    Signals
    -------
    task_chosen(str)
        A task was chosen in the list (id).
    score_asked(str), kept(str), dismissed(str)
        Show a task in the score, take a proposal, turn a task down (id).
    added()
        Make a task of what is selected in the score.
    brought_back()
        Propose again what was turned down.
    """

    task_chosen = Signal(str)
    score_asked = Signal(str)
    kept = Signal(str)
    dismissed = Signal(str)
    added = Signal()
    brought_back = Signal()

    def __init__(self, palette: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._content = TasksContent()
        self._waiting: TasksContent | None = None
        self._task_id: str | None = None
        self._filling = False
        self._model = TaskTableModel(self)
        self._view = self._make_view()
        self._order = QComboBox()
        self._order.addItems([tr("Hardest section first"), tr("As they come in the piece")])
        self._order.activated.connect(self._reordered)
        self._order.setSizeAdjustPolicy(
            QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
        )
        self._order.setMinimumContentsLength(_LEAST_LETTERS)
        self._add = QPushButton(tr("&New task"))
        tip = tr(
            "Make a task of the measures that are selected in the score: click one there, then "
            "Shift-click the last."
        )
        self._add.setToolTip(tips.in_lines(tip))
        self._add.setAccessibleDescription(tip)
        self._add.clicked.connect(self.added)
        self._back = QPushButton()
        tip = tr("Propose again what was turned down")
        self._back.setToolTip(tip)
        self._back.setAccessibleDescription(tip)
        self._back.clicked.connect(self.brought_back)
        self._heading = forms.heading("")
        self._why = forms.small()
        self._keep = QPushButton(tr("&Keep it"))
        self._keep.clicked.connect(lambda: self._emit(self.kept))
        self._dismiss = QPushButton(tr("Turn it d&own"))
        self._dismiss.clicked.connect(lambda: self._emit(self.dismissed))
        self._in_score = QPushButton(tr("Show it in the &score"))
        self._in_score.clicked.connect(lambda: self._emit(self.score_asked))
        self.sheet = TaskSheet()
        self._charts = [DayChart(palette, self) for _ in range(3)]
        self._empty = QLabel()
        self._empty.setFont(typography.serif(typography.HEADING_POINTS, italic=True))
        self._empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._empty.setWordWrap(True)
        self._table_part = QWidget()  # a layout inside a layout would not ask for its room
        self._table_layers = QStackedLayout(self._table_part)
        self._table_layers.addWidget(self._view)
        self._table_layers.addWidget(self._empty)
        self._chosen_part = self._make_chosen_part()
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(self._make_page())
        self.show_content(TasksContent())

    def set_palette(self, palette: Palette) -> None:
        """Draw in other colours from now on."""
        for chart in self._charts:
            chart.set_palette(palette)

    # what is shown

    def show_content(self, content: TasksContent) -> None:
        """Show the tasks of a piece; the chosen one stays chosen where it still exists.

        While another page of the window is open it waits.
        """
        if self.parentWidget() is not None and not self.isVisible():
            self._waiting = content
            return
        self._waiting = None
        self._lay_out(content)

    def showEvent(self, event: QShowEvent) -> None:
        """Show what came meanwhile."""
        super().showEvent(event)
        if self._waiting is not None:
            self.show_content(self._waiting)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Show as many rows as have room above the chosen task."""
        super().resizeEvent(event)
        self._fit_rows()

    def _fit_rows(self) -> None:
        room = (self.height() - _BELOW_LIST_PIXELS) // ROW_PIXELS
        fit_rows(self._view, max(_LEAST_ROWS, room))

    def choose_task(self, task_id: str) -> None:
        """Choose a task in the list."""
        if self._waiting is not None or self._model.row_of(task_id) is None:
            self._task_id = task_id
            return
        self._task_id = task_id
        self._select_row()

    def focus_list(self) -> None:
        """Put the keyboard into the list."""
        self._view.setFocus()

    @property
    def chosen_id(self) -> str | None:
        """The task that is chosen."""
        return self._task_id

    @property
    def titles(self) -> tuple[str, ...]:
        """The names in the list in order."""
        lines = (self._model.line(row) for row in range(self._model.rowCount()))
        return tuple(line.title for line in lines if line is not None)

    def cell(self, row: int, column: Column) -> str:
        """A cell of the list as text."""
        return str(self._model.data(self._model.index(row, column)))

    # building

    def _make_page(self) -> QScrollArea:
        sheet = QWidget()
        sheet.setObjectName("days_sheet")
        column = QVBoxLayout(sheet)
        column.setContentsMargins(0, 0, 12, 0)
        column.setSpacing(10)
        head = QHBoxLayout()
        head.setSpacing(12)
        title = forms.heading(tr("Tasks"))
        title.setToolTip(tips.in_lines(TASK.sentence))
        head.addWidget(title, 1)
        self._order.setAccessibleName(tr("Order of the list"))
        for part in (self._back, self._add, self._order):
            head.addWidget(part)
        column.addLayout(head)
        column.addWidget(self._table_part)
        column.addSpacing(_GAP_PIXELS)
        column.addWidget(self._chosen_part)
        column.addStretch(1)
        scroll = QScrollArea()
        scroll.setWidget(sheet)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        return scroll

    def _make_view(self) -> QTableView:
        view = plain_table(tr("Tasks"))
        view.setModel(self._model)
        view.setSelectionMode(QTableView.SelectionMode.SingleSelection)
        view.selectionModel().currentRowChanged.connect(self._row_changed)
        view.activated.connect(lambda _index: self._emit(self.score_asked))
        header = view.horizontalHeader()
        header.setResizeContentsPrecision(_ROWS_TO_FIT)  # of hundreds of rows: it takes seconds
        header.setSectionResizeMode(Column.WHY, QHeaderView.ResizeMode.Stretch)
        return view

    def _make_chosen_part(self) -> QWidget:
        part = QWidget()
        column = QVBoxLayout(part)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        head = QHBoxLayout()
        head.setSpacing(12)
        words = QVBoxLayout()
        words.setSpacing(2)
        words.addWidget(self._heading)
        words.addWidget(self._why)
        head.addLayout(words, 1)
        for button in (self._keep, self._dismiss, self._in_score):
            head.addWidget(button, 0, Qt.AlignmentFlag.AlignTop)
        column.addLayout(head)
        column.addWidget(self.sheet)
        row = QHBoxLayout()
        row.setSpacing(24)
        for chart in self._charts:
            chart.setMinimumWidth(_LEAST_CHART_PIXELS)
            row.addWidget(chart)
        column.addLayout(row)
        return part

    # internal

    def _lay_out(self, content: TasksContent) -> None:
        self._content = content
        lines = content.lines
        if self._order.currentIndex() == _BY_WORK:
            last = len(lines) + 1
            lines = tuple(sorted(lines, key=lambda line: line.rank or last))
        self._filling = True
        row = self._model.row_of(self._task_id) or 0
        self._model.show_lines(lines, content.today)
        for column in Column:
            if column is not Column.WHY:
                self._view.resizeColumnToContents(column)
                widest = _WIDEST_PIXELS.get(column, 0)
                if widest and self._view.columnWidth(column) > widest:
                    self._view.setColumnWidth(column, widest)
        self._fit_rows()
        self._empty.setText(_words_for_none(content))
        self._table_layers.setCurrentIndex(0 if lines else 1)
        self._order.setVisible(len(lines) > 1)
        count = content.dismissed
        self._back.setVisible(count > 0)
        self._back.setText(tr("&Bring back {n}").format(n=count))
        if self._model.row_of(self._task_id) is None:  # what follows a task that is gone
            self._task_id = lines[min(row, len(lines) - 1)].task_id if lines else None
        self._select_row()
        self._filling = False
        self._show_chosen()

    def _select_row(self) -> None:
        row = self._model.row_of(self._task_id)
        if row is not None:
            self._view.selectRow(row)
            self._view.scrollTo(self._model.index(row, 0))

    def _reordered(self) -> None:
        self.show_content(self._waiting or self._content)

    def _row_changed(self, current: QModelIndex) -> None:
        line = self._model.line(current.row()) if current.isValid() else None
        if self._filling or line is None:
            return
        self._task_id = line.task_id
        self._show_chosen()
        self.task_chosen.emit(line.task_id)

    def _line(self) -> TaskLine | None:
        row = self._model.row_of(self._task_id)
        return self._model.line(row) if row is not None else None

    def _show_chosen(self) -> None:
        line = self._line()
        self._chosen_part.setVisible(line is not None)
        self.sheet.show_task(line, self._content.measure_numbers)
        if line is None:
            return
        self._heading.setText(
            tr("{title}, {span}").format(title=line.title, span=wording.span_text(line))
        )
        told = (line.section, line.hand, wording.why_text(line), line.known)
        self._why.setText(" · ".join(part for part in told if part))
        self._keep.setEnabled(not line.kept)
        self._dismiss.setText(tr("Take it &away") if line.kept else tr("Turn it d&own"))
        first, last = self._content.first_day, self._content.today
        if line.days is None or first is None or last is None:
            for chart in self._charts:
                chart.hide()
            return
        for chart, series in zip(self._charts, series_of(line.days), strict=True):
            chart.show_series(series, first, last)
            chart.show()

    def _emit(self, signal: SignalInstance) -> None:
        if self._task_id is not None:
            signal.emit(self._task_id)


def _words_for_none(content: TasksContent) -> str:
    """What stands in the place of an empty list."""
    if not content.open:
        return tr("No piece is open.")
    if content.waiting:
        return tr("Tasks are being looked for.")
    return tr(
        "No part of a section asks for something of its own.\n"
        "Select measures in the score to make a task of them."
    )
