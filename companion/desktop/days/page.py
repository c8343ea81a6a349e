"""The page of the days: sections by days, charts of one section, where errors sit, all takes."""

from __future__ import annotations

from datetime import date, timedelta

from PySide6.QtCore import QItemSelectionModel, QPoint, Qt, Signal
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QMenu,
    QSplitter,
    QStackedLayout,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from companion.desktop import typography
from companion.desktop.days import wording
from companion.desktop.days.charts import ChartPoint, ChartSeries, DayChart
from companion.desktop.days.content import DaysContent, SectionDays
from companion.desktop.days.heat import ErrorStrip
from companion.desktop.days.section_table import SectionTableModel
from companion.desktop.days.take_table import Column, TakeTableModel
from companion.desktop.palette import Palette
from companion.history.summaries import SectionDay
from companion.listening.notes import Hands

_LEAST_DAYS_SHOWN = 7
_LEAST_TABLE_PIXELS = 230
_CLEAN_SHARE_RIGHT = 0.98  # at most 2 errors in 100 notes, see the measures in the help


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
    takes_deleted(list), takes_moved(list), takes_exported(list)
        Ids of the takes that shall be thrown away, filed elsewhere, written as MIDI files.
    """

    section_chosen = Signal(str)
    take_chosen = Signal(str)
    measure_chosen = Signal(int)
    take_renamed = Signal(str, str)
    take_annotated = Signal(str, str)
    takes_deleted = Signal(list)
    takes_moved = Signal(list)
    takes_exported = Signal(list)

    def __init__(self, palette: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._content = DaysContent()
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
        self._section_view = self._make_section_view()
        self._take_view = self._make_take_view()
        self._empty = QLabel(
            wording.tr(
                "Nothing played yet.\nSit down and play: a take begins with your first note."
            )
        )
        self._empty.setFont(typography.serif(typography.HEADING_POINTS, italic=True))
        self._empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._layers = QStackedLayout(self)
        self._layers.addWidget(self._make_page())
        self._layers.addWidget(self._empty)
        self._layers.setCurrentWidget(self._empty)

    def set_palette(self, palette: Palette) -> None:
        """Draw in other colours from now on."""
        for chart in self._charts:
            chart.set_palette(palette)
        self._strip.set_palette(palette)

    def show_content(self, content: DaysContent) -> None:
        """Show a piece; the chosen section and take stay chosen where they still exist."""
        chosen_take = self.chosen_takes()
        self._content = content
        self._filling = True
        self._sections.show_content(content)
        if content.section(self._section_id) is None:
            self._section_id = None
        self._select_section_row()
        self._show_section()
        for take_id in chosen_take:
            number = self._takes.number_of(take_id)
            if number is not None:
                self._take_view.selectRow(number)
        self._filling = False
        self._layers.setCurrentIndex(0 if content.takes else 1)

    @property
    def content(self) -> DaysContent:
        """What is shown."""
        return self._content

    def show_section(self, section_id: str | None) -> None:
        """Show the charts and takes of a section, of the whole piece for None."""
        if section_id == self._section_id:
            return
        self._section_id = section_id if self._content.section(section_id) else None
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
        else:
            self._show_section()

    def chosen_takes(self) -> list[str]:
        """Ids of the selected takes."""
        rows = self._take_view.selectionModel().selectedRows()
        return [self._takes.row(index.row()).take.take_id for index in rows]

    # internal

    def _make_page(self) -> QWidget:
        figures = QWidget()
        column = QVBoxLayout(figures)
        column.setContentsMargins(16, 4, 8, 4)
        column.addWidget(self._heading)
        row = QHBoxLayout()
        row.setSpacing(16)
        for chart in self._charts:
            row.addWidget(chart)
        column.addLayout(row, stretch=1)
        column.addWidget(self._strip)
        above = QSplitter(Qt.Orientation.Horizontal)
        above.addWidget(self._section_view)
        above.addWidget(figures)
        above.setSizes([420, 580])
        above.setChildrenCollapsible(False)
        page = QSplitter(Qt.Orientation.Vertical)
        page.addWidget(above)
        page.addWidget(self._take_view)
        page.setSizes([330, 170])
        page.setChildrenCollapsible(False)
        return page

    def _make_section_view(self) -> QTableView:
        view = _table(wording.tr("Sections by days"))
        view.setMinimumWidth(_LEAST_TABLE_PIXELS)
        view.setModel(self._sections)
        view.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        view.selectionModel().currentRowChanged.connect(self._section_row_changed)
        view.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        return view

    def _make_take_view(self) -> QTableView:
        view = _table(wording.tr("Takes"))
        view.setModel(self._takes)
        view.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        view.setEditTriggers(
            QAbstractItemView.EditTrigger.DoubleClicked
            | QAbstractItemView.EditTrigger.EditKeyPressed
        )
        view.selectionModel().currentRowChanged.connect(self._take_row_changed)
        header = view.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(Column.REMARK, QHeaderView.ResizeMode.Stretch)
        view.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        view.customContextMenuRequested.connect(self._show_take_menu)
        delete = QAction(wording.tr("Delete take"), view)
        delete.setShortcut(QKeySequence(QKeySequence.StandardKey.Delete))
        delete.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        delete.triggered.connect(self._delete_chosen)
        view.addAction(delete)
        return view

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
        self._heading.setText(
            wording.tr("{name}, measures {span}").format(name=shown.name, span=shown.span)
        )
        first, last = self._span_of_days()
        for chart, series in zip(self._charts, _series_of(shown), strict=True):
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


def _table(name: str) -> QTableView:
    view = QTableView()
    view.setAccessibleName(name)
    view.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
    view.setShowGrid(False)
    view.setWordWrap(False)
    view.setAlternatingRowColors(False)
    view.setTabKeyNavigation(False)
    view.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
    view.verticalHeader().hide()
    view.verticalHeader().setDefaultSectionSize(24)
    view.horizontalHeader().setHighlightSections(False)
    return view


def _series_of(section: SectionDays) -> tuple[ChartSeries, ChartSeries, ChartSeries]:
    together = section.summary.days_with(Hands.BOTH) or section.summary.days
    return (
        _accuracy_series(section, together),
        _tempo_series(section, together),
        _take_series(section),
    )


def _sentence(section: SectionDays, figures: SectionDay) -> str:
    tempo = figures.median_quarters_per_minute
    beats = section.beats_per_minute(tempo) if tempo is not None else None
    return wording.day_sentence(figures, beats, section.beat_name)


def _accuracy_series(section: SectionDays, days: tuple[SectionDay, ...]) -> ChartSeries:
    points = tuple(
        ChartPoint(
            day=figures.day,
            value=figures.median_accuracy,
            best=figures.best_accuracy,
            first=figures.first_accuracy,
            sentence=_sentence(section, figures),
        )
        for figures in days
        if figures.median_accuracy is not None
    )
    lowest = min((min(p.value, p.first or p.value) for p in points), default=1.0)
    return ChartSeries(
        title=wording.tr("Accuracy"),
        unit=wording.tr("median; ring: first take of the day"),
        points=points,
        low=min(0.9, int(lowest * 20) / 20),
        high=1.0,
        rule=_CLEAN_SHARE_RIGHT,
        rule_text=wording.tr("98 %"),
        as_percent=True,
    )


def _tempo_series(section: SectionDays, days: tuple[SectionDay, ...]) -> ChartSeries:
    points = tuple(
        ChartPoint(
            day=figures.day,
            value=section.beats_per_minute(figures.median_quarters_per_minute),
            best=_beats(section, figures.best_quarters_per_minute),
            first=_beats(section, figures.first_quarters_per_minute),
            sentence=_sentence(section, figures),
        )
        for figures in days
        if figures.median_quarters_per_minute is not None
    )
    target = _beats(section, section.target_quarters_per_minute)
    values = [p.value for p in points] + [p.best or p.value for p in points]
    if target is not None:
        values.append(target)
    return ChartSeries(
        title=wording.tr("Tempo"),
        unit=wording.tr("{beat} beats a minute").format(beat=section.beat_name),
        points=points,
        low=min(values, default=60.0) * 0.85,
        high=max(values, default=60.0) * 1.05,
        rule=target,
        rule_text=wording.tr("target {tempo}").format(tempo=round(target)) if target else "",
    )


def _take_series(section: SectionDays) -> ChartSeries:
    counts: dict[date, int] = {}
    for figures in section.summary.days:
        counts[figures.day] = counts.get(figures.day, 0) + figures.take_count
    points = tuple(
        ChartPoint(
            day=day,
            value=float(count),
            sentence=f"{wording.short_day(day)}: "
            + (wording.tr("{n} take") if count == 1 else wording.tr("{n} takes")).format(n=count),
        )
        for day, count in sorted(counts.items())
    )
    return ChartSeries(
        title=wording.tr("Takes"),
        unit=wording.tr("a day"),
        points=points,
        low=0.0,
        high=max(4.0, *(p.value for p in points)) if points else 4.0,
        as_columns=True,
    )


def _beats(section: SectionDays, quarters_per_minute: float | None) -> float | None:
    return None if quarters_per_minute is None else section.beats_per_minute(quarters_per_minute)
