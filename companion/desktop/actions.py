"""Every action of the window as data: what it is called, its shortcut, its tip, its menu.

The menus, the context menu of the map, the tool tips and the list of shortcuts in the help are all
made from this one table; a test checks that no shortcut stands twice.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from PySide6.QtCore import QCoreApplication, QObject
from PySide6.QtGui import QAction, QKeySequence

from companion.desktop.icons import icon
from companion.desktop.palette import Palette


class Menu(StrEnum):
    """The menus in order."""

    PIECE = "Piece"
    MAP = "Map"
    TAKE = "Take"
    VIEW = "View"
    HELP = "Help"


@dataclass(frozen=True, slots=True)
class ActionSpec:
    """One action.

    ``group`` keeps actions of a menu together, a rule stands between groups. ``map_only`` actions
    have shortcuts of one letter and listen only while the map has the focus, because the letters
    are piano keys elsewhere.
    """

    id: str
    menu: Menu
    group: int
    text: str
    tip: str
    shortcut: str = ""
    icon: str = ""
    checkable: bool = False
    map_only: bool = False
    needs_piece: bool = False


ACTIONS: tuple[ActionSpec, ...] = (
    ActionSpec(
        "open_score",
        Menu.PIECE,
        0,
        "&Open a score…",
        "Choose a score file: MusicXML, MEI, kern, ABC or MIDI",
        shortcut="Ctrl+O",
        icon="open",
    ),
    ActionSpec(
        "choose_part",
        Menu.PIECE,
        0,
        "Choose the &part…",
        "Choose which part of a larger score you play",
        icon="score",
        needs_piece=True,
    ),
    ActionSpec(
        "performance_date",
        Menu.PIECE,
        1,
        "&Date of performance…",
        "Set the day on which the piece must be played",
        shortcut="Ctrl+D",
        icon="date",
        needs_piece=True,
    ),
    ActionSpec(
        "quit",
        Menu.PIECE,
        9,
        "&Quit",
        "Close the window; everything is stored already",
        shortcut="Ctrl+Q",
        icon="quit",
    ),
    ActionSpec(
        "undo",
        Menu.MAP,
        0,
        "&Undo",
        "Take back the last change of the map, the takes or the shelf",
        shortcut="Ctrl+Z",
        icon="undo",
    ),
    ActionSpec(
        "redo",
        Menu.MAP,
        0,
        "&Redo",
        "Do again what was taken back",
        shortcut="Ctrl+Shift+Z",
        icon="redo",
    ),
    ActionSpec(
        "section_sheet",
        Menu.MAP,
        1,
        "Section &sheet",
        "Write what the selected section is for and how to play it",
        shortcut="Ctrl+E",
        icon="sheet",
        checkable=True,
    ),
    ActionSpec(
        "split",
        Menu.MAP,
        2,
        "S&plit here",
        "Split the selected section at the measure that was clicked",
        shortcut="S",
        icon="split",
        map_only=True,
        needs_piece=True,
    ),
    ActionSpec(
        "merge",
        Menu.MAP,
        2,
        "&Merge with the next",
        "Make one section of the selected and the next one",
        shortcut="M",
        icon="merge",
        map_only=True,
        needs_piece=True,
    ),
    ActionSpec(
        "rename",
        Menu.MAP,
        2,
        "Re&name",
        "Write another name for the selected section",
        shortcut="F2",
        icon="rename",
        needs_piece=True,
    ),
    ActionSpec(
        "nest",
        Menu.MAP,
        3,
        "&Group with the next",
        "Put the selected and the next section under one larger section",
        shortcut="G",
        icon="nest",
        map_only=True,
        needs_piece=True,
    ),
    ActionSpec(
        "unnest",
        Menu.MAP,
        3,
        "&Take the group apart",
        "Remove the larger section and keep what it contains",
        shortcut="U",
        icon="unnest",
        map_only=True,
        needs_piece=True,
    ),
    ActionSpec(
        "border_earlier",
        Menu.MAP,
        4,
        "End one measure &earlier",
        "Move the end of the selected section back by a measure",
        shortcut="Alt+Left",
        icon="border-earlier",
        map_only=True,
        needs_piece=True,
    ),
    ActionSpec(
        "border_later",
        Menu.MAP,
        4,
        "End one measure &later",
        "Move the end of the selected section on by a measure",
        shortcut="Alt+Right",
        icon="border-later",
        map_only=True,
        needs_piece=True,
    ),
    ActionSpec(
        "propose_map",
        Menu.MAP,
        5,
        "Propose the sections &anew",
        "Read the sections from the printed signs again; can be undone",
        needs_piece=True,
    ),
    ActionSpec(
        "end_take",
        Menu.TAKE,
        0,
        "&End the take now",
        "Close the running take without waiting for the silence",
        shortcut="Ctrl+Return",
        icon="end-take",
    ),
    ActionSpec(
        "import_takes",
        Menu.TAKE,
        1,
        "&Import recorded takes…",
        "Bring in standard MIDI files that you recorded elsewhere",
        shortcut="Ctrl+I",
        icon="import",
        needs_piece=True,
    ),
    ActionSpec(
        "export_table",
        Menu.TAKE,
        2,
        "Export the &table of results…",
        "Write every take and section as a table (CSV)",
        icon="export",
        needs_piece=True,
    ),
    ActionSpec(
        "export_take",
        Menu.TAKE,
        2,
        "Export the take as &MIDI…",
        "Write the selected take as a standard MIDI file",
        icon="export",
        needs_piece=True,
    ),
    ActionSpec(
        "delete_take",
        Menu.TAKE,
        3,
        "&Delete the take",
        "Throw the selected take away; can be undone",
        shortcut="Ctrl+Del",
        icon="remove",
        needs_piece=True,
    ),
    ActionSpec(
        "page_score",
        Menu.VIEW,
        0,
        "&Score",
        "The engraved score with the marks of the last take",
        shortcut="Ctrl+1",
        icon="score",
        checkable=True,
    ),
    ActionSpec(
        "page_days",
        Menu.VIEW,
        0,
        "&Days",
        "How every section went, day by day",
        shortcut="Ctrl+2",
        icon="days",
        checkable=True,
    ),
    ActionSpec(
        "page_shelf",
        Menu.VIEW,
        0,
        "S&helf",
        "Your pieces",
        shortcut="Ctrl+3",
        icon="shelf",
        checkable=True,
    ),
    ActionSpec(
        "page_help",
        Menu.VIEW,
        0,
        "H&elp",
        "What the figures mean, the keys, and care for hands and ears",
        shortcut="Ctrl+4",
        icon="help",
        checkable=True,
    ),
    ActionSpec(
        "show_listener",
        Menu.VIEW,
        1,
        "&Listener beside the page",
        "Show the piano, what is heard, and today's takes",
        shortcut="Ctrl+L",
        icon="listener",
        checkable=True,
    ),
    ActionSpec(
        "show_keyboard",
        Menu.VIEW,
        1,
        "On-screen &keyboard",
        "Play with the mouse or with the letters of the computer keyboard",
        shortcut="Ctrl+K",
        icon="piano",
        checkable=True,
    ),
    ActionSpec(
        "show_lanes",
        Menu.VIEW,
        1,
        "Lanes of the &map",
        "Show accuracy, tempo, last played, takes and errors under the map",
        shortcut="Ctrl+M",
        icon="lanes",
        checkable=True,
    ),
    ActionSpec(
        "zoom_in",
        Menu.VIEW,
        2,
        "Zoom &in",
        "Make the score larger",
        shortcut="Ctrl++",
        icon="zoom-in",
    ),
    ActionSpec(
        "zoom_out",
        Menu.VIEW,
        2,
        "Zoom &out",
        "Make the score smaller",
        shortcut="Ctrl+-",
        icon="zoom-out",
    ),
    ActionSpec(
        "zoom_fit",
        Menu.VIEW,
        2,
        "&Fit the width",
        "Make the score as wide as the page",
        shortcut="Ctrl+0",
        icon="fit",
    ),
    ActionSpec(
        "follow",
        Menu.VIEW,
        2,
        "Follo&w the player",
        "Turn to the system that is being played",
        shortcut="Ctrl+F",
        icon="follow",
        checkable=True,
    ),
    ActionSpec(
        "theme_system",
        Menu.VIEW,
        3,
        "Colours as the s&ystem has them",
        "By day or by night, as the system is set",
        icon="theme",
        checkable=True,
    ),
    ActionSpec(
        "theme_day",
        Menu.VIEW,
        3,
        "&Paper by day",
        "Dark ink on light paper",
        checkable=True,
    ),
    ActionSpec(
        "theme_night",
        Menu.VIEW,
        3,
        "Paper by &night",
        "Light ink on dark paper",
        checkable=True,
    ),
    ActionSpec(
        "full_screen",
        Menu.VIEW,
        4,
        "Whole sc&reen",
        "Fill the screen with the window",
        shortcut="F11",
        checkable=True,
    ),
    ActionSpec(
        "help",
        Menu.HELP,
        0,
        "&Help",
        "Open the help",
        shortcut="F1",
        icon="help",
    ),
    ActionSpec(
        "welcome",
        Menu.HELP,
        0,
        "&First steps",
        "What to do first",
    ),
    ActionSpec(
        "about",
        Menu.HELP,
        1,
        "&About this program",
        "Version and licences",
        icon="about",
    ),
)

PAGE_ACTIONS = ("page_score", "page_days", "page_shelf", "page_help")
THEME_ACTIONS = ("theme_system", "theme_day", "theme_night")
MAP_MENU_ACTIONS = (
    "section_sheet",
    "rename",
    "",
    "split",
    "merge",
    "nest",
    "unnest",
    "",
    "border_earlier",
    "border_later",
)


def translated(text: str) -> str:
    """A text of the table in the language of the window."""
    return QCoreApplication.translate("Actions", text)


def plain_text(spec: ActionSpec) -> str:
    """Text of an action without its mnemonic mark and dots."""
    return translated(spec.text).replace("&", "").removesuffix("…")


def make_actions(parent: QObject, palette: Palette) -> dict[str, QAction]:
    """Make every action of the table; what they do is connected by the window."""
    actions: dict[str, QAction] = {}
    for spec in ACTIONS:
        action = QAction(translated(spec.text), parent)
        action.setObjectName(spec.id)
        action.setCheckable(spec.checkable)
        keys = f" ({spec.shortcut})" if spec.shortcut else ""
        action.setToolTip(translated(spec.tip) + keys)
        action.setStatusTip(translated(spec.tip))
        if spec.shortcut and not spec.map_only:
            action.setShortcut(QKeySequence(spec.shortcut))
        actions[spec.id] = action
    dress_actions(actions, palette)
    return actions


def dress_actions(actions: Mapping[str, QAction], palette: Palette) -> None:
    """Give the actions their icons in the ink of a palette."""
    for spec in ACTIONS:
        if spec.icon:
            actions[spec.id].setIcon(icon(spec.icon, palette))


def shortcuts() -> tuple[tuple[ActionSpec, str], ...]:
    """All actions with a shortcut, in the order of the menus."""
    return tuple((spec, spec.shortcut) for spec in ACTIONS if spec.shortcut)
