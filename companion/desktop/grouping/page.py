"""The page of the groups: all runs, the drills of a group, how they went day by day."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QModelIndex, Qt, Signal
from PySide6.QtGui import QPixmap
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QListWidget,
    QPushButton,
    QScrollArea,
    QStackedLayout,
    QVBoxLayout,
    QWidget,
)

from companion.desktop import forms, typography
from companion.desktop.days.tables import plain_table
from companion.desktop.grouping.content import DrillLine, RunLine
from companion.desktop.grouping.wording import day_cells, tr
from companion.desktop.lines_model import LinesModel
from companion.listening.definitions import drill_definition

_RUNS_PIXELS = 430
_DRILLS_PIXELS = 190
_DAYS_PIXELS = 130
_GAP_PIXELS = 32


def _tips(*names: str) -> tuple[str, ...]:
    return tuple(drill_definition(name).sentence for name in names)


def _with_tries(drill: DrillLine) -> str:
    done = sum(day.tries for day in drill.days)
    if not done:
        return drill.title
    return tr("{title} · {n} tries").format(title=drill.title, n=done)


class GroupingPage(QWidget):
    """Runs on the left, drills on the right.

    Signals
    -------
    run_chosen(str)
        Id of a run.
    group_chosen(int)
        Number of a group in the run.
    drill_chosen(str)
        Id of a drill: its days and its notes should be shown.
    drill_begun(str), drill_ended()
        Listen to this drill; stop listening.
    score_asked()
        Show the run in the score.
    """

    run_chosen = Signal(str)
    group_chosen = Signal(int)
    drill_chosen = Signal(str)
    drill_begun = Signal(str)
    drill_ended = Signal()
    score_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._lines: tuple[RunLine, ...] = ()
        self._drills: tuple[DrillLine, ...] = ()
        self._listening = False
        self._runs = LinesModel(
            (
                tr("Measures"),
                tr("Hand"),
                tr("Notes"),
                tr("Groups"),
                tr("Even"),
                tr("Borders"),
            ),
            ("", "", "", "", *_tips("evenness_sd_ms", "border_delay_ms")),
            self,
        )
        self._run_view = plain_table(tr("Runs of equal short notes"))
        self._run_view.setModel(self._runs)
        self._run_view.setMinimumWidth(_RUNS_PIXELS)
        self._run_view.selectionModel().currentRowChanged.connect(self._run_row_chosen)
        self._days = LinesModel(
            (tr("Day"), tr("Clean"), tr("Evenness"), tr("Delay at the borders")),
            ("", *_tips("clean", "evenness_sd_ms", "border_delay_ms")),
            self,
        )
        self._day_view = plain_table(tr("This drill, day by day"))
        self._day_view.setModel(self._days)
        self._day_view.setFixedHeight(_DAYS_PIXELS)
        self._groups = QComboBox()
        self._groups.activated.connect(self.group_chosen)
        self._drill_list = QListWidget()
        self._drill_list.setAccessibleName(tr("Drills"))
        self._drill_list.setFont(typography.serif())
        self._drill_list.setSpacing(2)
        self._drill_list.setFixedHeight(_DRILLS_PIXELS)
        self._drill_list.currentRowChanged.connect(self._drill_row_chosen)
        self._notation = QLabel()
        self._notation.setAccessibleName(tr("The drill in notes"))
        self._notation.hide()
        self._picture = QLabel()
        self._picture.setAccessibleName(tr("The notes of the drill in the score"))
        self._play = QPushButton(tr("Pla&y this drill"))
        self._play.clicked.connect(self._toggle_listening)
        self._in_score = QPushButton(tr("Show it in the &score"))
        self._in_score.clicked.connect(self.score_asked)
        self._state = QLabel()
        self._state.setFont(typography.serif(typography.SERIF_POINTS, italic=True))
        self._state.setWordWrap(True)
        self._results = QLabel()
        self._results.setFont(typography.sans())
        self._results.setWordWrap(True)
        self._empty = QLabel(tr("There are no runs of equal short notes in this piece."))
        self._empty.setFont(typography.serif(typography.HEADING_POINTS, italic=True))
        self._empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._empty.setWordWrap(True)
        self._layers = QStackedLayout(self)
        self._layers.addWidget(self._make_page())
        self._layers.addWidget(self._empty)
        self._layers.setCurrentWidget(self._empty)

    def _make_page(self) -> QWidget:
        page, beside = QWidget(), QWidget()
        row = QHBoxLayout(page)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(_GAP_PIXELS)
        left, right = QVBoxLayout(), QVBoxLayout(beside)
        right.setContentsMargins(0, 0, 0, 0)
        for column in (left, right):
            column.setSpacing(8)
        left.addWidget(forms.heading(tr("Runs")))
        left.addWidget(self._run_view, 1)
        right.addWidget(forms.heading(tr("Drills")))
        forms.add_field(right, tr("&Group"), self._groups)
        right.addWidget(self._drill_list)
        right.addWidget(self._notation)
        buttons = QHBoxLayout()
        buttons.addWidget(self._play)
        buttons.addWidget(self._in_score)
        buttons.addStretch(1)
        right.addLayout(buttons)
        right.addWidget(self._state)
        right.addWidget(self._results)
        right.addWidget(self._picture)
        right.addWidget(self._day_view)
        right.addStretch(1)
        scrolled = QScrollArea()
        scrolled.setAccessibleName(tr("Drills"))
        scrolled.setWidgetResizable(True)
        scrolled.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scrolled.setWidget(beside)
        row.addLayout(left)
        row.addWidget(scrolled, 1)
        return page

    # -- showing ---------------------------------------------------------------------------------

    def show_runs(self, lines: Sequence[RunLine]) -> None:
        """Show all runs; the chosen one stays chosen where it still exists."""
        chosen = self.chosen_run_id
        self._lines = tuple(lines)
        view, model = self._run_view, self._runs
        blocked = view.selectionModel().blockSignals(True)
        model.show_rows(
            tuple(
                (
                    line.measures,
                    line.hand,
                    str(line.notes),
                    f"{line.groups}, {line.way}" if line.way else str(line.groups),
                    line.evenness,
                    line.delay,
                )
                for line in self._lines
            )
        )
        view.selectionModel().blockSignals(blocked)
        header = view.horizontalHeader()
        header.setDefaultAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self._layers.setCurrentIndex(0 if self._lines else 1)
        ids = [line.run_id for line in self._lines]
        if ids:
            view.selectRow(ids.index(chosen) if chosen in ids else 0)

    @property
    def chosen_run_id(self) -> str:
        """The run whose drills are shown; "" for none."""
        row = self._run_view.currentIndex().row()
        return self._lines[row].run_id if 0 <= row < len(self._lines) else ""

    def choose_run(self, run_id: str) -> None:
        """Choose a run."""
        for row, line in enumerate(self._lines):
            if line.run_id == run_id:
                self._run_view.selectRow(row)

    def show_groups(self, names: Sequence[str], chosen: int) -> None:
        """Show the groups of the run."""
        self._groups.clear()
        self._groups.addItems(list(names))
        self._groups.setCurrentIndex(chosen)

    def show_drills(self, drills: Sequence[DrillLine], chosen_id: str = "") -> None:
        """Show the drills of the group."""
        self._drills = tuple(drills)
        self._drill_list.clear()
        self._drill_list.addItems([_with_tries(drill) for drill in self._drills])
        ids = [drill.drill_id for drill in self._drills]
        if ids:
            self._drill_list.setCurrentRow(ids.index(chosen_id) if chosen_id in ids else 0)

    @property
    def chosen_drill_id(self) -> str:
        """The drill that is chosen; "" for none."""
        row = self._drill_list.currentRow()
        return self._drills[row].drill_id if 0 <= row < len(self._drills) else ""

    def choose_drill(self, drill_id: str) -> None:
        """Choose a drill."""
        for row, drill in enumerate(self._drills):
            if drill.drill_id == drill_id:
                self._drill_list.setCurrentRow(row)

    @property
    def drill_titles(self) -> tuple[str, ...]:
        """The drills in order."""
        return tuple(drill.title for drill in self._drills)

    def show_picture(self, picture: QPixmap | None) -> None:
        """Show the notes in the score."""
        self._picture.setVisible(picture is not None)
        if picture is not None:
            self._picture.setPixmap(picture)
            self._picture.setFixedHeight(round(picture.height() / picture.devicePixelRatio()))

    def show_notation(self, picture: QPixmap | None, words: str = "") -> None:
        """Show the drill in notes; ``words`` say the same to who cannot see them."""
        self._notation.setVisible(picture is not None)
        self._notation.setAccessibleDescription(words)
        if picture is not None:
            self._notation.setPixmap(picture)
            self._notation.setFixedHeight(round(picture.height() / picture.devicePixelRatio()))

    @property
    def notation(self) -> QPixmap:
        """The drill in notes; a null picture while there is none."""
        return self._notation.pixmap()

    def show_listening(self, listening: bool, words: str) -> None:
        """Say whether the drill is listened to."""
        self._listening = listening
        self._play.setText(tr("Stop &listening") if listening else tr("Pla&y this drill"))
        self._state.setText(words)

    def show_results(self, lines: Sequence[str]) -> None:
        """Say how the tries went."""
        self._results.setText("\n".join(lines))

    @property
    def results(self) -> str:
        """How the tries went."""
        return self._results.text()

    # -- internal --------------------------------------------------------------------------------

    def _run_row_chosen(self, current: QModelIndex, _before: QModelIndex) -> None:
        if 0 <= current.row() < len(self._lines):
            self.run_chosen.emit(self._lines[current.row()].run_id)

    def _drill_row_chosen(self, row: int) -> None:
        there = 0 <= row < len(self._drills)
        days = self._drills[row].days if there else ()
        self._days.show_rows(tuple(tuple(day_cells(day)) for day in reversed(days)))
        self._day_view.horizontalHeader().setDefaultAlignment(
            Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
        )
        self._day_view.horizontalHeader().setStretchLastSection(True)
        if not there:
            return
        self.drill_chosen.emit(self._drills[row].drill_id)

    def _toggle_listening(self) -> None:
        if self._listening:
            self.drill_ended.emit()
        elif self.chosen_drill_id:
            self.drill_begun.emit(self.chosen_drill_id)
