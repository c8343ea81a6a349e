"""The section map as a widget: shows values, says what the person asked for, edits nothing."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING, cast

from PySide6.QtCore import QEvent, QPoint, QSize, Qt, Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleEvent,
    QColor,
    QContextMenuEvent,
    QFocusEvent,
    QHelpEvent,
    QHideEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from companion.desktop import tips
from companion.desktop.section_map import walking
from companion.desktop.section_map.drawing import MapDrawing
from companion.desktop.section_map.figures import KeyFigures, MapFigures, WorkFigures
from companion.desktop.section_map.layout import DEPTH, ERRORS, USUAL_LANES, Lane, MapLayout
from companion.desktop.section_map.name_edit import NameEdit
from companion.desktop.section_map.overlay import Leap, Overlay, ShownStretch
from companion.desktop.section_map.picture import MapPicture
from companion.desktop.section_map.task_lane import MapTask, TaskLane
from companion.desktop.section_map.telling import MapTeller
from companion.score.model import Measure, Position
from companion.score.sections.section_map import Section, SectionMap

if TYPE_CHECKING:
    from companion.desktop.palette import Palette


class SectionMapView(QWidget):
    """The map, proportional to measures, with its lanes.

    Signals
    -------
    section_chosen(str)
        Section id: it was clicked or reached by the arrow keys.
    section_marked(object)
        Another section is marked, however it came to that: its id, None for none.
    place_chosen(object)
        A :class:`Position` to show in the score.
    border_moved(object, object)
        :class:`Position` of a border and the one to which it was dragged.
    border_nudged(str, int)
        Section id and number of measures (-1 or 1): its end shall move.
    renamed(str, str)
        Section id and the new name.
    sheet_asked(str)
        Section id: open its sheet.
    menu_asked(QPoint), lanes_menu_asked(QPoint)
        Global point for the context menu of the selected section, and for that of the lanes.
    task_chosen(str), task_opened(str)
        Task id: it was clicked or reached by the arrow keys; all about it shall be shown.
    """

    section_chosen = Signal(str)
    section_marked = Signal(object)
    place_chosen = Signal(object)
    border_moved = Signal(object, object)
    border_nudged = Signal(str, int)
    renamed = Signal(str, str)
    sheet_asked = Signal(str)
    menu_asked = Signal(QPoint)
    lanes_menu_asked = Signal(QPoint)
    task_chosen = Signal(str)
    task_opened = Signal(str)

    def __init__(self, palette: Palette, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._colours = palette
        self._measures: tuple[Measure, ...] = ()
        self._section_map = SectionMap(sections=())
        self._figures = MapFigures()
        self._definitions: dict[Lane, str] = {}
        self._with_lanes = True
        self._with_keys = False
        self._hidden: frozenset[str] = frozenset()
        self._work: tuple[WorkFigures, ...] = ()
        self._keys: tuple[KeyFigures, ...] = ()
        self._selected_id: str | None = None
        self._tasks = TaskLane()
        self._overlay = Overlay()
        self._drawing = MapDrawing(self)
        self._drawing.renewed.connect(self.update)
        self._name_edit: NameEdit | None = None
        self._layout = MapLayout((), self._section_map, 1.0)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(self.tr("Section map"))
        self._describe()

    # what is shown

    def show_map(self, measures: tuple[Measure, ...], section_map: SectionMap) -> None:
        """Show the sections of a score; the selection stays where its section still exists."""
        if measures is not self._measures:
            self._overlay.forget_piece()
        self._measures = measures
        self._section_map = section_map
        ids = {section.section_id for section in section_map.sections}
        if self._selected_id not in ids:
            self._selected_id = None
        self._rebuild(calmly=True)

    def show_figures(self, figures: MapFigures) -> None:
        """Show new figures in the lanes."""
        figures = replace(figures, work=self._work, keys=self._keys)
        if figures != self._figures:
            had_depth = self._figures.depth is not None
            self._figures = figures
            if had_depth != (figures.depth is not None):
                self._rebuild(calmly=True)
            self._redraw(calmly=True)

    def show_work(self, work: tuple[WorkFigures, ...]) -> None:
        """Show how hard the sections are."""
        self._work = work
        self.show_figures(self._figures)

    def show_keys(self, keys: tuple[KeyFigures, ...] | None) -> None:
        """Show the key plan in a lane of its own; None takes the lane away."""
        self._keys = keys or ()
        if self._with_keys != (keys is not None):
            self._with_keys = keys is not None
            self._rebuild()
        self.show_figures(self._figures)

    def show_tasks(self, tasks: tuple[MapTask, ...]) -> None:
        """Show the tasks inside the sections, in order of place."""
        if tasks != self._tasks.tasks:
            self._tasks = self._tasks.with_tasks(tasks)
            self._rebuild(calmly=True)

    def show_place(self, position: Position | None, *, sure: bool = True) -> None:
        """Show where the player is; None takes the mark away. An unsure place is dashed."""
        overlay, height = self._overlay, self.height()
        self.update(overlay.place_rect(self._layout, height))
        overlay.place, overlay.place_is_sure = position, sure
        self.update(overlay.place_rect(self._layout, height))

    def show_leaps(self, leaps: tuple[Leap, ...], chosen: Leap | None = None) -> None:
        """Draw the returns and jumps of a take; the chosen one stands out."""
        if (leaps, chosen) != (self._overlay.leaps, self._overlay.chosen_leap):
            self._overlay.leaps, self._overlay.chosen_leap = leaps, chosen
            self.update()

    def show_stretch(self, stretch: ShownStretch | None) -> None:
        """Show the stretch of a chosen passage."""
        if stretch != self._overlay.stretch:
            self._overlay.stretch = stretch
            self.update()

    @property
    def overlay(self) -> Overlay:
        """What moves on top of the map at present."""
        return self._overlay

    def show_lanes(self, shown: bool) -> None:
        """Show or hide everything below the band."""
        self._with_lanes = shown
        self._rebuild()

    def hide_lanes(self, names: frozenset[str]) -> None:
        """Hide these lanes (:class:`Lane`, ``DEPTH`` or ``ERRORS``) and no others."""
        self._hidden = names
        self._rebuild()

    def show_definitions(self, definitions: dict[Lane, str]) -> None:
        """Take the definitions of the measures for the tooltips of the lanes."""
        self._definitions = definitions

    def set_colours(self, palette: Palette) -> None:
        """Draw with another palette from now on."""
        self._colours = palette
        self._redraw()

    # selection

    @property
    def selected(self) -> Section | None:
        """The selected section."""
        for section in self._section_map.sections:
            if section.section_id == self._selected_id:
                return section
        return None

    @property
    def in_use(self) -> bool:
        """Whether somebody is just writing a name or carrying a border."""
        return self._name_edit is not None or self._overlay.dragged is not None

    @property
    def split_place(self) -> Position | None:
        """The measure that was clicked last: where a section would be split."""
        return self._overlay.cursor

    @property
    def geometry_now(self) -> MapLayout:
        """Where everything lies at present."""
        return self._layout

    def select(self, section_id: str | None) -> None:
        """Mark a section that nobody has chosen."""
        if section_id != self._selected_id:
            self._selected_id = section_id
            self._tasks = self._tasks.choosing(None)
            self._redraw()
            self.section_marked.emit(section_id)

    def choose(self, section_id: str) -> None:
        """Select a section as if it had been clicked."""
        for section in self._section_map.sections:
            if section.section_id == section_id and section_id != self._selected_id:
                self._choose(section)

    @property
    def chosen_task_id(self) -> str | None:
        """The task that is chosen."""
        return self._tasks.chosen_id

    def choose_task(self, task_id: str) -> None:
        """Choose a task as if it had been clicked."""
        task = next((task for task in self._tasks.tasks if task.task_id == task_id), None)
        if task is not None:
            self._choose_task(task)

    def mark_split_place(self, position: Position) -> None:
        """Put the open wedge at a measure."""
        self._set_cursor(position)

    def edit_name(self) -> None:
        """Write the name of the selected section on the map itself."""
        section = self.selected
        if section is None or self._name_edit is not None:
            return
        rect = next(
            self._layout.rect_of(section, row)
            for row in self._layout.rows
            if section in row.sections
        )
        edit = NameEdit(section.name, rect, self)
        edit.written.connect(self._name_written)
        edit.closed.connect(self._name_closed)
        edit.show()
        edit.setFocus()
        self._name_edit = edit

    # Qt

    def sizeHint(self) -> QSize:
        """As high as the drawing needs."""
        return QSize(900, round(self._layout.height_pixels))

    def minimumSizeHint(self) -> QSize:
        """Never lower than the drawing."""
        return QSize(320, round(self._layout.height_pixels))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fit the measures to the new width."""
        super().resizeEvent(event)
        # a new height follows from a new map, whose drawing is being made already
        self._rebuild(calmly=event.size().width() == event.oldSize().width())

    def hideEvent(self, event: QHideEvent) -> None:
        """Begin no drawing that may never be finished."""
        super().hideEvent(event)
        if self._drawing.is_being_renewed:
            self._drawing.forget()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Show the kept drawing, then what moves on top of it."""
        painter = QPainter(self)
        painter.setClipRect(event.rect())
        if self._measures:
            drawing = self._drawing.shown
            if drawing is None:
                drawing = self._drawing.draw(self._picture, self.size(), self.devicePixelRatioF())
            if drawing.deviceIndependentSize() != self.size().toSizeF():
                painter.fillRect(event.rect(), QColor(self._colours.paper))
            painter.drawPixmap(0, 0, drawing)
        else:
            painter.fillRect(event.rect(), QColor(self._colours.paper))
        self._overlay.paint(painter, self._layout, self._colours)
        if self.hasFocus():
            painter.setPen(QPen(QColor(self._colours.place), 1, Qt.PenStyle.DotLine))
            painter.setBrush(Qt.BrushStyle.NoBrush)  # the overlay leaves one
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        painter.end()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold of a border, or choose what lies under the pointer."""
        if event.button() is not Qt.MouseButton.LeftButton or not self._measures:
            super().mousePressEvent(event)
            return
        point = event.position()
        border = self._layout.border_at(point.x(), point.y())
        if border is not None:
            self._overlay.dragged = (border, border)
            self.update()
            return
        self._choose_at(point.x(), point.y())

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Carry a border along, or show that one could be taken."""
        point = event.position()
        if self._overlay.dragged is not None:
            self._overlay.dragged = (self._overlay.dragged[0], self._layout.barline_at(point.x()))
            self.update()
            return
        on_border = self._measures and self._layout.border_at(point.x(), point.y())
        shape = Qt.CursorShape.SplitHCursor if on_border else Qt.CursorShape.ArrowCursor
        self.setCursor(shape)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Put a border down."""
        if self._overlay.dragged is None:
            super().mouseReleaseEvent(event)
            return
        border, position = self._overlay.dragged
        self._overlay.dragged = None
        self.update()
        if border != position:
            self.border_moved.emit(border, position)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Open the sheet of a section, or the list of tasks at one of them."""
        point = event.position()
        task = self._tasks.task_at(self._layout, point.x(), point.y())
        if task is not None:
            self.task_opened.emit(task.task_id)
            return
        section = self._layout.section_at(event.position().x(), event.position().y())
        if section is not None:
            self.sheet_asked.emit(section.section_id)

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """Choose what lies under the pointer and ask for its menu."""
        if not self._measures:
            return
        by_mouse = event.reason() is QContextMenuEvent.Reason.Mouse
        layout = self._layout
        if by_mouse and event.pos().x() < layout.left and event.pos().y() >= layout.tasks_top:
            self.lanes_menu_asked.emit(event.globalPos())
            return
        if by_mouse:
            self._choose_at(event.pos().x(), event.pos().y())
        self.menu_asked.emit(event.globalPos())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Walk through the sections, move the cursor or the border, open the sheet."""
        key, modifiers = event.key(), event.modifiers()
        steps = {Qt.Key.Key_Left.value: -1, Qt.Key.Key_Right.value: 1}
        step = steps.get(key)
        if self._overlay.dragged is not None and key == Qt.Key.Key_Escape:
            self._overlay.dragged = None
            self.update()
        elif step is not None and modifiers & Qt.KeyboardModifier.AltModifier:
            if self._selected_id is not None:
                self.border_nudged.emit(self._selected_id, step)
        elif step is not None and modifiers & Qt.KeyboardModifier.ShiftModifier:
            self._step_cursor(step)
        elif step is not None:
            self._step_section(step)
        elif key in (Qt.Key.Key_Home, Qt.Key.Key_End):
            self._choose_leaf(0 if key == Qt.Key.Key_Home else -1)
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self._step_level(up=key == Qt.Key.Key_Up)
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self._tasks.chosen_id is not None:
            self.task_opened.emit(self._tasks.chosen_id)
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self._selected_id is not None:
            self.sheet_asked.emit(self._selected_id)
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show the focus."""
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Show that the focus left."""
        super().focusOutEvent(event)
        self.update()

    def event(self, event: QEvent) -> bool:
        """Answer a resting pointer with what lies under it."""
        if event.type() == QEvent.Type.ToolTip and self._measures:
            help_event = cast("QHelpEvent", event)
            tips.show(help_event.globalPos(), self.words_at(help_event.pos()), self)
            return True
        return super().event(event)

    # words

    def words_at(self, point: QPoint) -> str:
        """What lies under a point, in words; a lane's name gives its definition."""
        return self._teller.words_at(point.x(), point.y())

    @property
    def _teller(self) -> MapTeller:
        return MapTeller(
            layout=self._layout,
            figures=self._figures,
            overlay=self._overlay,
            definitions=self._definitions,
            tasks=self._tasks,
        )

    # internal

    def _rebuild(self, *, calmly: bool = False) -> None:
        before = self._layout.height_pixels
        rows = (Lane.KEYS, *USUAL_LANES) if self._with_keys else USUAL_LANES
        self._layout = MapLayout(
            self._measures,
            self._section_map,
            float(self.width()),
            self._with_lanes,
            tuple(lane for lane in rows if lane not in self._hidden),
            len(self._tasks.rows),
            self._figures.depth is not None and DEPTH not in self._hidden,
            ERRORS not in self._hidden,
        )
        if self._layout.height_pixels != before:
            self.updateGeometry()
        self._redraw(calmly=calmly)

    def _redraw(self, *, calmly: bool = False) -> None:
        """Draw anew: at once, or calmly in slices, where nobody waits for it.

        What is being drawn calmly stays so: its other changes come with it.
        """
        self._describe()
        drawing = self._drawing
        if self._measures and drawing.shown and (calmly or drawing.is_being_renewed):
            size = QSize(self.width(), round(self._layout.height_pixels))
            drawing.renew(self._picture, size, self.devicePixelRatioF())
            return
        drawing.forget()
        self.update()

    @property
    def _picture(self) -> MapPicture:
        return MapPicture(
            layout=self._layout,
            figures=self._figures,
            palette=self._colours,
            selected_id=self._selected_id,
            tasks=self._tasks,
        )

    def _describe(self) -> None:
        text = self._teller.description(self.selected)
        if text != self.accessibleDescription():
            self.setAccessibleDescription(text)
            if self.hasFocus():
                QAccessible.updateAccessibility(
                    QAccessibleEvent(self, QAccessible.Event.DescriptionChanged)
                )

    def _choose_at(self, x: float, y: float) -> None:
        task = self._tasks.task_at(self._layout, x, y)
        if task is not None:
            self._choose_task(task)
            return
        measure = Position(self._layout.measure_at(x))
        section = self._layout.section_at(x, y)
        if section is None:
            return
        self._set_cursor(max(measure, section.start))
        self._choose(section, go_to=self._overlay.cursor)

    def _choose_task(self, task: MapTask) -> None:
        """Choose a task, and mark the section around it."""
        around = self._section_map.section_at(task.start)
        self.select(around.section_id if around is not None else None)
        self._tasks = self._tasks.choosing(task.task_id)
        self._redraw()
        self.task_chosen.emit(task.task_id)
        self.place_chosen.emit(task.start)

    def _choose(self, section: Section, *, go_to: Position | None = None) -> None:
        if self._tasks.chosen_id is not None:
            self._tasks = self._tasks.choosing(None)
            self._redraw()
        self.select(section.section_id)
        self.section_chosen.emit(section.section_id)
        self.place_chosen.emit(go_to if go_to is not None else section.start)

    def _set_cursor(self, position: Position) -> None:
        self._overlay.cursor = position
        self.update()

    def _step_cursor(self, step: int) -> None:
        if not self._measures:
            return
        section = self.selected
        start = self._overlay.cursor or (section.start if section else Position(0))
        index = max(0, min(len(self._measures) - 1, start.measure_index + step))
        self._set_cursor(Position(index, Fraction(0)))
        self.place_chosen.emit(self._overlay.cursor)

    def _step_section(self, step: int) -> None:
        if self._tasks.chosen_id is not None:
            beside = self._tasks.beside(step)
            if beside is not None:
                self._choose_task(beside)
            return
        section = self.selected
        if section is None:
            self._choose_leaf(0 if step > 0 else -1)
            return
        following = walking.beside(self._layout, section, step)
        if following is not None:
            self._set_cursor(following.start)
            self._choose(following)

    def _step_level(self, *, up: bool) -> None:
        section = self.selected
        if section is None:
            self._choose_leaf(0)
            return
        if self._tasks.chosen_id is not None:
            if up:
                self._choose(section)
            return
        find = walking.above if up else walking.inside
        wanted = find(self._section_map, section)
        if wanted is not None:
            self._choose(wanted)
        elif not up and self._with_lanes and (task := self._tasks.inside(section)) is not None:
            self._choose_task(task)

    def _choose_leaf(self, index: int) -> None:
        if self._layout.leaves:
            leaf = self._layout.leaves[index]
            self._set_cursor(leaf.start)
            self._choose(leaf)

    def _name_written(self, name: str) -> None:
        section = self.selected
        if section is not None and name and name != section.name:
            self.renamed.emit(section.section_id, name)

    def _name_closed(self) -> None:
        self._name_edit = None
        self.setFocus()
