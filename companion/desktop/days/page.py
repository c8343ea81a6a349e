"""The page of the days: what is known, sections by days, one section in charts, errors, takes."""

from __future__ import annotations

from datetime import date, timedelta

from PySide6.QtCore import QItemSelectionModel, QPoint, Qt, Signal
from PySide6.QtGui import QAction, QKeySequence, QShowEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QMenu,
    QPushButton,
    QStackedLayout,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from companion.desktop import forms, typography
from companion.desktop.dates import short_day
from companion.desktop.days import wording
from companion.desktop.days.charts import DayChart
from companion.desktop.days.content import DaysContent, SectionDays
from companion.desktop.days.heat import ErrorStrip
from companion.desktop.days.section_table import SectionTableModel
from companion.desktop.days.series import series_of
from companion.desktop.days.tables import fit_rows, plain_table
from companion.desktop.days.take_table import Column, TakeTableModel
from companion.desktop.knowing.view import KnowingView
from companion.desktop.palette import Palette

_LEAST_DAYS_SHOWN = 7
_MOST_ROWS = 8
_LEAST_TAKES_PIXELS = 220
_NAME_PIXELS = 180  # of a take; the pianist can pull the column wider
_WIDEST_COLUMN_PIXELS = 220  # a long name of a section must not push the days out of sight


class DaysPage(QWidget):
    """How each section went on each day, and the takes behind it.

    Signals
    -------
    section_chosen(str)
        A section was chosen in the table (id).
    take_chosen(str)
        A take was chosen: its marks should be shown in the score (id).
    measure_chosen(int)
        A measure was chosen in the strip (index).
    take_renamed(str, str), take_annotated(str, str)
        Take id and new text.
    takes_from_memory(list, bool)
        Ids of takes, and whether they were played from memory.
    takes_deleted(list), takes_moved(list), takes_exported(list)
        Ids of the takes that shall be thrown away, filed elsewhere, written as MIDI files.
    all_takes_asked()
        Takes that are left out because there are so many shall be shown too.
    """

    section_chosen = Signal(str)
    take_chosen = Signal(str)
    measure_chosen = Signal(int)
    take_renamed = Signal(str, str)
    take_annotated = Signal(str, str)
    takes_from_memory = Signal(list, bool)
    takes_deleted = Signal(list)
    takes_moved = Signal(list)
    takes_exported = Signal(list)
    all_takes_asked = Signal()

    def __init__(self, palette: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._content = DaysContent()
        self._waiting: DaysContent | None = None
        self._section_id: str | None = None
        self._marked_id: str | None = None
        self._filling = False
        self._sections = SectionTableModel(self)
        self._takes = TakeTableModel(self)
        self._takes.name_written.connect(self.take_renamed)
        self._takes.remark_written.connect(self.take_annotated)
        self._heading = QLabel()
        self._heading.setFont(typography.serif(typography.HEADING_POINTS))
        self._charts = [DayChart(palette, self) for _ in range(3)]
        self._strip = ErrorStrip(palette, self)
        self._strip.measure_chosen.connect(self.measure_chosen)
        self.knowing = KnowingView(palette, self)
        self.knowing.section_chosen.connect(self._choose_section)
        self._section_view = self._make_section_view()
        self._take_view = self._make_take_view()
        self._older = forms.small()
        self._all_takes = QPushButton(wording.tr("Show &all takes"))
        self._empty = QLabel()
        self._empty.setFont(typography.serif(typography.HEADING_POINTS, italic=True))
        self._empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._empty.setWordWrap(True)
        self._layers = QStackedLayout(self)
        self._layers.addWidget(self._make_page())
        self._layers.addWidget(self._empty)
        self._layers.setCurrentWidget(self._empty)

    def set_palette(self, palette: Palette) -> None:
        """Draw in other colours from now on."""
        for chart in self._charts:
            chart.set_palette(palette)
        self._strip.set_palette(palette)
        self.knowing.set_palette(palette)

    def show_content(self, content: DaysContent) -> None:
        """Show a piece; the chosen section and take stay chosen where they still exist.

        While another page of the window is open it waits: to lay out the tables of a long piece
        takes a moment.
        """
        if self.parentWidget() is not None and not self.isVisible():
            self._waiting = content
            return
        self._waiting = None
        self._lay_out(content)

    def _lay_out(self, content: DaysContent) -> None:
        chosen_take = self.chosen_takes()
        self._content = content
        self._filling = True
        self._sections.show_content(content)
        fit_rows(self._section_view, _MOST_ROWS)
        if content.section(self._section_id) is None:
            self._section_id = None
        self._select_section_row()
        self._show_section()
        self._show_older()
        for take_id in chosen_take:
            number = self._takes.number_of(take_id)
            if number is not None:
                self._take_view.selectRow(number)
        self._filling = False
        nothing = wording.tr(
            "Nothing played yet.\nSit down and play: a take begins with your first note."
        )
        self._empty.setText(nothing if content.today is not None else "")
        self._layers.setCurrentIndex(0 if content.takes else 1)

    @property
    def content(self) -> DaysContent:
        """What is shown, or will be when the page is opened."""
        return self._waiting or self._content

    def showEvent(self, event: QShowEvent) -> None:
        """Show what came meanwhile."""
        super().showEvent(event)
        self._catch_up()

    def _catch_up(self) -> None:
        if self._waiting is not None:
            content, self._waiting = self._waiting, None
            self._lay_out(content)

    def show_section(self, section_id: str | None) -> None:
        """Show the charts and takes of a section, of the whole piece for None."""
        if section_id == self._section_id:
            return
        self._section_id = section_id if self.content.section(section_id) else None
        if self._waiting is not None:
            return  # chosen when the page is opened
        self._filling = True
        self._select_section_row()
        self._filling = False
        self._show_section()

    def mark_section(self, section_id: str | None) -> None:
        """Show the charts of the section that is marked on the map.

        While none was chosen, the list of takes stays that of the whole piece.
        """
        self._marked_id = section_id
        if self._section_id is not None:
            self.show_section(section_id)
        elif self._waiting is None:
            self._show_section()

    def chosen_takes(self) -> list[str]:
        """Ids of the selected takes."""
        rows = self._take_view.selectionModel().selectedRows()
        return [self._takes.row(index.row()).take.take_id for index in rows]

    # internal

    def _make_page(self) -> QWidget:
        """Everything below each other, as on a sheet that is longer than the window."""
        sheet = QWidget()
        sheet.setObjectName("days_sheet")
        column = QVBoxLayout(sheet)
        column.setContentsMargins(0, 0, 12, 0)
        column.setSpacing(10)
        column.addWidget(self.knowing)
        column.addSpacing(12)
        column.addWidget(self._section_view)
        column.addSpacing(6)
        column.addWidget(self._heading)
        row = QHBoxLayout()
        row.setSpacing(24)
        for chart in self._charts:
            row.addWidget(chart)
        column.addLayout(row)
        column.addWidget(self._strip)
        column.addSpacing(6)
        column.addLayout(self._make_older())
        column.addWidget(self._take_view, 1)
        return forms.scrolled(sheet)

    def _make_older(self) -> QHBoxLayout:
        """Says that older takes are left out, and asks for them."""
        self._older.setVisible(False)
        self._all_takes.setVisible(False)
        self._all_takes.clicked.connect(self.all_takes_asked)
        row = QHBoxLayout()
        row.setSpacing(24)
        row.addWidget(self._older, 1)
        row.addWidget(self._all_takes)
        return row

    def _show_older(self) -> None:
        since = self._content.since
        self._older.setVisible(since is not None)
        self._all_takes.setVisible(since is not None)
        if since is not None:
            self._older.setText(
                wording.tr(
                    "Charts, errors and takes since {day}; what is known is told from all takes."
                ).format(day=f"{short_day(since.date())} {since.year}")
            )

    def _make_section_view(self) -> QTableView:
        view = plain_table(wording.tr("Sections by days"))
        view.setModel(self._sections)
        view.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        view.selectionModel().currentRowChanged.connect(self._section_row_changed)
        header = view.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setMaximumSectionSize(_WIDEST_COLUMN_PIXELS)
        header.setStretchLastSection(False)
        return view

    def _make_take_view(self) -> QTableView:
        view = plain_table(wording.tr("Takes"))
        view.setMinimumHeight(_LEAST_TAKES_PIXELS)
        view.setModel(self._takes)
        view.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        view.setEditTriggers(
            QAbstractItemView.EditTrigger.DoubleClicked
            | QAbstractItemView.EditTrigger.EditKeyPressed
        )
        view.selectionModel().currentRowChanged.connect(self._take_row_changed)
        header = view.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(Column.NAME, QHeaderView.ResizeMode.Interactive)
        header.resizeSection(Column.NAME, _NAME_PIXELS)
        header.setSectionResizeMode(Column.REMARK, QHeaderView.ResizeMode.Stretch)
        view.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        view.customContextMenuRequested.connect(self._show_take_menu)
        delete = QAction(wording.tr("Delete take"), view)
        delete.setShortcut(QKeySequence(QKeySequence.StandardKey.Delete))
        delete.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        delete.triggered.connect(self._delete_chosen)
        view.addAction(delete)
        return view

    def _choose_section(self, section_id: str) -> None:
        if self._content.section(section_id) is not None:
            self.show_section(section_id)
            self.section_chosen.emit(section_id)

    def _section_row_changed(self) -> None:
        index = self._section_view.currentIndex()
        if self._filling or not index.isValid():
            return
        self._section_id = self._sections.section(index.row()).section_id
        self._show_section()
        self.section_chosen.emit(self._section_id)

    def _take_row_changed(self) -> None:
        index = self._take_view.currentIndex()
        if not self._filling and index.isValid():
            self.take_chosen.emit(self._takes.row(index.row()).take.take_id)

    def _select_section_row(self) -> None:
        number = self._sections.number_of(self._section_id)
        if number is None:
            self._section_view.selectionModel().clear()
        else:
            self._section_view.selectionModel().setCurrentIndex(
                self._sections.index(number, 0),
                QItemSelectionModel.SelectionFlag.ClearAndSelect
                | QItemSelectionModel.SelectionFlag.Rows,
            )

    def _show_section(self) -> None:
        section = self._content.section(self._section_id)
        self._takes.show_rows(self._content.takes_of(self._section_id))
        self._strip.show_content(self._content, section)
        shown = section or self._content.section(self._marked_id) or self._most_played()
        if shown is None:
            self._heading.setText("")
            return
        self._heading.setText(_heading_of(shown))
        first, last = self._span_of_days()
        for chart, series in zip(self._charts, series_of(shown), strict=True):
            chart.show_series(series, first, last)

    def _most_played(self) -> SectionDays | None:
        sections = self._content.sections
        return max(sections, key=lambda s: s.summary.take_count) if sections else None

    def _span_of_days(self) -> tuple[date, date]:
        days = self._content.days
        last = self._content.today or (days[-1] if days else date(2000, 1, 1))
        first = min(days[0] if days else last, last - timedelta(days=_LEAST_DAYS_SHOWN - 1))
        return first, max(last, days[-1] if days else last)

    def _delete_chosen(self) -> None:
        chosen = self.chosen_takes()
        if chosen:
            self.takes_deleted.emit(chosen)

    def _show_take_menu(self, at: QPoint) -> None:
        chosen = self.chosen_takes()
        if not chosen:
            return
        menu = QMenu(self)
        one = len(chosen) == 1
        if one:
            menu.addAction(wording.tr("Rename"), lambda: self._edit_cell(Column.NAME))
            menu.addAction(wording.tr("Write a remark"), lambda: self._edit_cell(Column.REMARK))
        menu.addAction(
            wording.tr("File with another piece…"), lambda: self.takes_moved.emit(chosen)
        )
        menu.addAction(wording.tr("Save as MIDI file…"), lambda: self.takes_exported.emit(chosen))
        by_heart = menu.addAction(wording.tr("Played from memory"))
        by_heart.setCheckable(True)
        by_heart.setChecked(all(self._takes.is_from_memory(take_id) for take_id in chosen))
        by_heart.triggered.connect(lambda checked: self.takes_from_memory.emit(chosen, checked))
        menu.addSeparator()
        menu.addAction(
            wording.tr("Delete take") if one else wording.tr("Delete takes"),
            lambda: self.takes_deleted.emit(chosen),
        )
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        menu.popup(self._take_view.viewport().mapToGlobal(at))

    def _edit_cell(self, column: Column) -> None:
        index = self._take_view.currentIndex()
        if index.isValid():
            self._take_view.edit(index.siblingAtColumn(column))


def _heading_of(section: SectionDays) -> str:
    """Name and measures; a name that is nothing but the measures stands for both."""
    if section.span in section.name.replace("-", "–"):
        return section.name
    return wording.tr("{name}, measures {span}").format(name=section.name, span=section.span)
