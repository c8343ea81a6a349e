"""The window: puts the parts together and nothing more. What they do is wired in ``app``."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QPoint, Qt, Signal
from PySide6.QtGui import (
    QAction,
    QActionGroup,
    QCloseEvent,
    QDragEnterEvent,
    QDropEvent,
    QKeySequence,
    QShortcut,
)
from PySide6.QtWidgets import (
    QLabel,
    QMainWindow,
    QMenu,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from companion.desktop import forms, late_parts
from companion.desktop.action_table import (
    ACTIONS,
    MAP_MENU_ACTIONS,
    PAGE_ACTIONS,
    THEME_ACTIONS,
    Menu,
)
from companion.desktop.actions import dress_actions, make_actions, translated
from companion.desktop.late_parts import Late, Place
from companion.desktop.listener_panel.panel import ListenerPanel
from companion.desktop.message_strip import MessageStrip
from companion.desktop.palette import Palette
from companion.desktop.passages.row import PassageRow
from companion.desktop.piece_header import PieceHeader
from companion.desktop.progress_line import ProgressLine
from companion.desktop.score_view.score_view import ScoreView
from companion.desktop.section_map.lanes_menu import LanesMenu
from companion.desktop.section_map.map_view import SectionMapView
from companion.desktop.tab_order import put_in_order

if TYPE_CHECKING:
    from companion.desktop.days.page import DaysPage
    from companion.desktop.grouping.page import GroupingPage
    from companion.desktop.grouping.row import GroupRow
    from companion.desktop.harmony.page import HarmonyPage
    from companion.desktop.keyboard.keyboard_panel import KeyboardPanel
    from companion.desktop.pages.help_page import HelpPage
    from companion.desktop.pages.shelf_page import ShelfPage
    from companion.desktop.readiness.page import ReadinessPage
    from companion.desktop.section_map.sheet import SectionSheet
    from companion.desktop.tasks.page import TasksPage
    from companion.desktop.today.page import TodayPage

_LEAST_WIDTH, _LEAST_HEIGHT = 860, 560
_PAGE_MARGINS = (24, 12, 16, 12)


class Pages:
    """The pages, each shown by the action of the same name (``page_score``, ``page_days``, ...).

    Only the score is there from the beginning, see :mod:`companion.desktop.late_parts`.
    """

    def __init__(self, score: ScoreView, palette: Palette) -> None:
        self.score = score
        self._palette = palette
        self.late_today = Late(lambda: late_parts.today_page(self._palette))
        self.late_days = Late(lambda: late_parts.days_page(self._palette))
        self.late_harmony = Late(late_parts.harmony_page)
        self.late_grouping = Late(late_parts.grouping_page)
        self.late_tasks = Late(lambda: late_parts.tasks_page(self._palette))
        self.late_readiness = Late(late_parts.readiness_page)
        self.late_shelf = Late(late_parts.shelf_page)
        self.late_help = Late(lambda: late_parts.help_page(self._palette))

    @property
    def today(self) -> TodayPage:
        """What to do today."""
        return self.late_today.get()

    @property
    def days(self) -> DaysPage:
        """How each section went on each day."""
        return self.late_days.get()

    @property
    def harmony(self) -> HarmonyPage:
        """The key plan, and naming key and chord."""
        return self.late_harmony.get()

    @property
    def grouping(self) -> GroupingPage:
        """Runs in groups, and drills made of them."""
        return self.late_grouping.get()

    @property
    def tasks(self) -> TasksPage:
        """Parts of sections that ask for something of their own."""
        return self.late_tasks.get()

    @property
    def readiness(self) -> ReadinessPage:
        """Whether the piece is ready."""
        return self.late_readiness.get()

    @property
    def shelf(self) -> ShelfPage:
        """All pieces."""
        return self.late_shelf.get()

    @property
    def help(self) -> HelpPage:
        """What to do, and what the words mean."""
        return self.late_help.get()

    def set_colours(self, palette: Palette) -> None:
        """Draw with another palette from now on."""
        self._palette = palette
        self.late_today.if_built(lambda page: page.set_palette(palette))
        self.late_days.if_built(lambda page: page.set_palette(palette))
        self.late_tasks.if_built(lambda page: page.set_palette(palette))
        self.late_help.if_built(lambda page: page.set_colours(palette))


class MainWindow(QMainWindow):
    """Header, map, pages, listener, sheet, keyboard.

    Signals
    -------
    files_dropped(list)
        Paths (str) of files that were dropped on the window.
    closing()
        The window is about to close.
    page_shown(str)
        Id of the page action whose page is shown now.
    """

    files_dropped = Signal(list)
    closing = Signal()
    page_shown = Signal(str)

    def __init__(self, palette: Palette, pages: Pages) -> None:
        super().__init__()
        self.may_close: Callable[[], bool] = lambda: True
        self.setWindowTitle(self.tr("Companion"))
        self.setMinimumSize(_LEAST_WIDTH, _LEAST_HEIGHT)
        self.setAcceptDrops(True)
        self.actions_by_id: dict[str, QAction] = make_actions(self, palette)
        page_actions = [self.actions_by_id[name] for name in PAGE_ACTIONS]
        self.header = PieceHeader(page_actions)
        self.map_view = SectionMapView(palette)
        self.messages = MessageStrip(palette)
        self.progress = ProgressLine()
        self.listener = ListenerPanel(palette)
        self.pages = pages
        self._palette = palette
        self.late_sheet = Late(lambda: late_parts.section_sheet(self._palette))
        self.late_keyboard = Late(lambda: late_parts.keyboard_panel(self._palette))
        self._sheet_place = Place(self.late_sheet)
        self._keyboard_place = Place(self.late_keyboard)
        self.passage_row = PassageRow(
            self.actions_by_id["passage_before"],
            self.actions_by_id["passage_after"],
            self.actions_by_id["put_marks_away"],
        )
        score_page = QWidget()
        below_each_other = forms.column(score_page)
        below_each_other.addWidget(pages.score, 1)
        below_each_other.addWidget(self.passage_row)
        self.late_cover = Late(late_parts.score_cover)
        self.late_cover.when_built(lambda cover: below_each_other.insertWidget(1, cover, 1))
        self.late_group_row = Late(late_parts.group_row)
        self.late_group_row.when_built(below_each_other.addWidget)
        self._stack = QStackedWidget()
        self._stack.addWidget(score_page)
        self._stack.addWidget(Place(pages.late_today, _PAGE_MARGINS))
        self._stack.addWidget(Place(pages.late_days, _PAGE_MARGINS))
        self._stack.addWidget(Place(pages.late_harmony, _PAGE_MARGINS))
        self._stack.addWidget(Place(pages.late_grouping, _PAGE_MARGINS))
        self._stack.addWidget(Place(pages.late_tasks, _PAGE_MARGINS))
        self._stack.addWidget(Place(pages.late_readiness, _PAGE_MARGINS))
        self._stack.addWidget(Place(pages.late_shelf))
        self._stack.addWidget(Place(pages.late_help))
        self.splitter = QSplitter(Qt.Orientation.Horizontal)
        for part in (self._stack, self._sheet_place, self.listener):
            self.splitter.addWidget(part)
        for index, stretch in enumerate((1, 0, 0)):
            self.splitter.setStretchFactor(index, stretch)
            self.splitter.setCollapsible(index, False)
        self.splitter.setSizes([900, 300, 296])
        self._sheet_place.hide()
        self._keyboard_place.hide()
        self._lay_out()
        self._status = QLabel()
        self._status.setContentsMargins(0, 0, 24, 0)
        self.statusBar().setContentsMargins(20, 0, 0, 0)
        self.statusBar().addPermanentWidget(self._status)
        self.statusBar().setSizeGripEnabled(False)
        self._make_menus()
        self._group(PAGE_ACTIONS)
        self._group(THEME_ACTIONS)
        self._wire_own_parts()
        self.show_page("page_score")

    def _lay_out(self) -> None:
        column = QVBoxLayout()
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        for part in (self.header, self.map_view, forms.rule(), self.messages, self.progress):
            column.addWidget(part)
        column.addWidget(self.splitter, 1)
        column.addWidget(self._keyboard_place)
        central = QWidget()
        central.setLayout(column)
        self.setCentralWidget(central)

    def _make_menus(self) -> None:
        self.lanes_menu = LanesMenu(self)
        for menu_name in Menu:
            menu = self.menuBar().addMenu("&" + translated(menu_name.value))
            group = 0
            for spec in ACTIONS:
                if spec.menu is not menu_name:
                    continue
                if spec.group != group and not menu.isEmpty():
                    menu.addSeparator()
                group = spec.group
                menu.addAction(self.actions_by_id[spec.id])
                if spec.id == "show_lanes":
                    menu.addMenu(self.lanes_menu)
            menu.setToolTipsVisible(True)
        for spec in ACTIONS:
            if spec.map_only and spec.shortcut and not spec.shortcut.startswith("Alt+"):
                # letters are piano keys elsewhere: these listen only while the map has the focus
                shortcut = QShortcut(QKeySequence(spec.shortcut), self.map_view)
                shortcut.setContext(Qt.ShortcutContext.WidgetShortcut)
                shortcut.activated.connect(self.actions_by_id[spec.id].trigger)

    def _group(self, names: tuple[str, ...]) -> None:
        group = QActionGroup(self)
        group.setExclusive(True)
        for name in names:
            group.addAction(self.actions_by_id[name])

    def _wire_own_parts(self) -> None:
        for name in PAGE_ACTIONS:
            self.actions_by_id[name].triggered.connect(self._page_triggered)
        toggles = {
            "show_listener": self.listener,
            "show_keyboard": self._keyboard_place,
            "section_sheet": self._sheet_place,
        }
        for name, part in toggles.items():
            self.actions_by_id[name].toggled.connect(part.setVisible)
        self.actions_by_id["show_listener"].setChecked(True)
        self.actions_by_id["show_keyboard"].toggled.connect(self._keyboard_toggled)
        self.actions_by_id["show_lanes"].toggled.connect(self.map_view.show_lanes)
        self.actions_by_id["show_lanes"].toggled.connect(self.lanes_menu.setEnabled)
        self.actions_by_id["show_lanes"].setChecked(True)
        self.lanes_menu.hidden_changed.connect(self.map_view.hide_lanes)
        self.map_view.lanes_menu_asked.connect(self.lanes_menu.popup)
        self.actions_by_id["show_tasks"].setChecked(True)
        self.actions_by_id["full_screen"].toggled.connect(self._full_screen)
        self.actions_by_id["quit"].triggered.connect(self.close)
        self.actions_by_id["help"].triggered.connect(self._show_help)
        self.actions_by_id["rename"].triggered.connect(self.map_view.edit_name)
        self.listener.keyboard_asked.connect(self._show_keyboard)
        self.late_sheet.when_built(lambda sheet: sheet.close_asked.connect(self._close_sheet))
        self.map_view.menu_asked.connect(self._map_menu)
        self.header.date_asked.connect(self.actions_by_id["performance_date"].trigger)

    # what is shown

    def show_page(self, name: str) -> None:
        """Show the page of an action."""
        if name not in PAGE_ACTIONS:
            return
        self.actions_by_id[name].setChecked(True)
        self._stack.setCurrentIndex(PAGE_ACTIONS.index(name))
        self._put_in_order()
        self.page_shown.emit(name)

    def cover_score(self, covered: bool) -> None:
        """Cover the score with an empty sheet, or uncover it."""
        if covered and not self.late_cover.built:
            self.late_cover.get()
            self._put_in_order()
        if self.late_cover.built:
            self.late_cover.get().setVisible(covered)
            self.pages.score.setVisible(not covered)

    @property
    def late_parts(self) -> tuple[Late[Any], ...]:
        """All parts that are built late, those that are needed soonest first."""
        pages = self.pages
        return (
            pages.late_today,
            pages.late_days,
            self.late_sheet,
            self.late_keyboard,
            pages.late_harmony,
            pages.late_grouping,
            pages.late_tasks,
            pages.late_readiness,
            pages.late_shelf,
            pages.late_help,
        )

    @property
    def sheet(self) -> SectionSheet:
        """The sheet of the section that is selected."""
        return self.late_sheet.get()

    @property
    def group_row(self) -> GroupRow:
        """The row under the score with the group that was chosen."""
        return self.late_group_row.get()

    @property
    def keyboard(self) -> KeyboardPanel:
        """The keyboard at the foot of the window."""
        return self.late_keyboard.get()

    @property
    def page(self) -> str:
        """Id of the action whose page is shown."""
        return PAGE_ACTIONS[self._stack.currentIndex()]

    def show_status(self, text: str) -> None:
        """Write into the status line."""
        self._status.setText(text)

    def show_words(self, text: str) -> None:
        """Say something about what was clicked, at the left of the status line."""
        self.statusBar().showMessage(text)

    def enable_piece_actions(self, enabled: bool) -> None:
        """Enable what needs a piece on the stand."""
        for spec in ACTIONS:
            if spec.needs_piece:
                self.actions_by_id[spec.id].setEnabled(enabled)

    def show_undo(self, undo_text: str | None, redo_text: str | None) -> None:
        """Say in the menu what can be undone and redone."""
        for name, text, word in (
            ("undo", undo_text, self.tr("&Undo")),
            ("redo", redo_text, self.tr("&Redo")),
        ):
            action = self.actions_by_id[name]
            action.setEnabled(text is not None)
            action.setText(f"{word}: {text}" if text else word)

    def set_colours(self, palette: Palette) -> None:
        """Draw with another palette from now on."""
        self._palette = palette
        dress_actions(self.actions_by_id, palette)
        for part in (self.map_view, self.messages, self.listener, self.pages):
            part.set_colours(palette)
        self.late_sheet.if_built(lambda sheet: sheet.set_colours(palette))
        self.late_keyboard.if_built(lambda keyboard: keyboard.keys.set_colours(palette))

    # Qt

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Take files."""
        if any(url.isLocalFile() for url in event.mimeData().urls()):
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Say which files were dropped."""
        paths = [url.toLocalFile() for url in event.mimeData().urls() if url.isLocalFile()]
        if paths:
            event.acceptProposedAction()
            self.files_dropped.emit(paths)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Say that the window closes, so that everything can be put away; or stay open."""
        if not self.may_close():
            event.ignore()
            return
        self.closing.emit()
        super().closeEvent(event)

    # internal

    def _put_in_order(self) -> None:
        beside = (self.splitter.widget(index) for index in range(1, self.splitter.count()))
        put_in_order((self.messages, self._stack.widget(self._stack.currentIndex()), *beside))

    def _page_triggered(self) -> None:
        action = self.sender()
        if isinstance(action, QAction):
            self.show_page(action.objectName())

    def _keyboard_toggled(self, shown: bool) -> None:
        if shown:
            self.keyboard.keys.setFocus()

    def _show_keyboard(self) -> None:
        self.actions_by_id["show_keyboard"].setChecked(True)

    def _close_sheet(self) -> None:
        self.actions_by_id["section_sheet"].setChecked(False)
        self.map_view.setFocus()

    def _full_screen(self, filled: bool) -> None:
        self.showFullScreen() if filled else self.showNormal()

    def _show_help(self) -> None:
        self.show_page("page_help")

    def _map_menu(self, point: QPoint) -> None:
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        for name in MAP_MENU_ACTIONS:
            if name:
                menu.addAction(self.actions_by_id[name])
            else:
                menu.addSeparator()
        menu.popup(point)
