"""Parts of the window that nobody sees at the start: built when they are first needed.

To build all of them took a third of the time until the window could be used. Each has a door here,
and behind the door stand its imports: this is the one place where modules of the window are
imported late. Whoever shows or hears a part says so with :meth:`Late.when_built`; to use it at once
is :meth:`Late.get`. The window builds what is left in its spare time (:mod:`spare_time`).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Generic, TypeVar

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QVBoxLayout, QWidget

if TYPE_CHECKING:
    from companion.desktop.days.page import DaysPage
    from companion.desktop.grouping.page import GroupingPage
    from companion.desktop.grouping.row import GroupRow
    from companion.desktop.harmony.page import HarmonyPage
    from companion.desktop.keyboard.keyboard_panel import KeyboardPanel
    from companion.desktop.pages.help_page import HelpPage
    from companion.desktop.pages.shelf_page import ShelfPage
    from companion.desktop.palette import Palette
    from companion.desktop.readiness.page import ReadinessPage
    from companion.desktop.score_cover import ScoreCover
    from companion.desktop.section_map.sheet import SectionSheet
    from companion.desktop.tasks.page import TasksPage
    from companion.desktop.today.page import TodayPage

Part = TypeVar("Part")
WidgetPart = TypeVar("WidgetPart", bound=QWidget)
NO_MARGINS = (0, 0, 0, 0)


class Late(Generic[Part]):
    """A part that is built when it is first needed.

    Parameters
    ----------
    build
        Makes the part; called once.
    """

    def __init__(self, build: Callable[[], Part]) -> None:
        self._build = build
        self._part: Part | None = None
        self._waiting: list[Callable[[Part], object]] = []

    @property
    def built(self) -> bool:
        """Whether it is there."""
        return self._part is not None

    def get(self) -> Part:
        """Return the part, built now if it is not there yet."""
        if self._part is None:
            self._part = self._build()
            waiting, self._waiting = self._waiting, []
            for act in waiting:
                act(self._part)
        return self._part

    def when_built(self, act: Callable[[Part], object]) -> None:
        """Do something with the part as soon as it is built: at once, if it is there."""
        if self._part is None:
            self._waiting.append(act)
        else:
            act(self._part)

    def if_built(self, act: Callable[[Part], object]) -> None:
        """Do something with the part only if it is there."""
        if self._part is not None:
            act(self._part)


class Place(QWidget):
    """Where a late part will stand: empty until then, and built when the place is opened.

    Parameters
    ----------
    part
        What will stand here.
    margins
        Left, top, right, bottom.
    """

    def __init__(
        self, part: Late[WidgetPart], margins: tuple[int, int, int, int] = NO_MARGINS
    ) -> None:
        super().__init__()
        self._build = part.get
        self._waiting: QWidget | None = None
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(*margins)
        part.when_built(self._built)

    def setVisible(self, visible: bool) -> None:  # noqa: N802 - a method of Qt
        """Open or close the place; what stands there is built before it is seen."""
        if visible:
            self._build()
            self._fill()
        super().setVisible(visible)

    def _built(self, part: QWidget) -> None:
        # to build it was enough for one slice of the spare time, and so is to put it here
        self._waiting = part
        QTimer.singleShot(0, self, self._fill)

    def _fill(self) -> None:
        part, self._waiting = self._waiting, None
        if part is not None:
            self._column.addWidget(part)


def today_page(palette: Palette) -> TodayPage:
    """Build the page of today."""
    from companion.desktop.today.page import TodayPage

    return TodayPage(palette)


def days_page(palette: Palette) -> DaysPage:
    """Build the page of the days."""
    from companion.desktop.days.page import DaysPage

    return DaysPage(palette)


def harmony_page() -> HarmonyPage:
    """Build the page of the harmony."""
    from companion.desktop.harmony.page import HarmonyPage

    return HarmonyPage()


def grouping_page() -> GroupingPage:
    """Build the page of the groups."""
    from companion.desktop.grouping.page import GroupingPage

    return GroupingPage()


def group_row() -> GroupRow:
    """Build the row of the groups under the score."""
    from companion.desktop.grouping.row import GroupRow

    return GroupRow()


def score_cover() -> ScoreCover:
    """Build the sheet that covers the score."""
    from companion.desktop.score_cover import ScoreCover

    return ScoreCover()


def tasks_page(palette: Palette) -> TasksPage:
    """Build the page of the tasks."""
    from companion.desktop.tasks.page import TasksPage

    return TasksPage(palette)


def readiness_page() -> ReadinessPage:
    """Build the page of the readiness."""
    from companion.desktop.readiness.page import ReadinessPage

    return ReadinessPage()


def shelf_page() -> ShelfPage:
    """Build the page of the shelf."""
    from companion.desktop.pages.shelf_page import ShelfPage

    return ShelfPage()


def help_page(palette: Palette) -> HelpPage:
    """Build the page of the help."""
    from companion.desktop.pages.help_page import HelpPage

    return HelpPage(palette)


def section_sheet(palette: Palette) -> SectionSheet:
    """Build the sheet of a section."""
    from companion.desktop.section_map.sheet import SectionSheet

    return SectionSheet(palette)


def keyboard_panel(palette: Palette) -> KeyboardPanel:
    """Build the keyboard at the foot of the window."""
    from companion.desktop.keyboard.keyboard_panel import KeyboardPanel

    return KeyboardPanel(palette)
