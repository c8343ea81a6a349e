"""The actions of the window, made from :mod:`companion.desktop.action_table`."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QCoreApplication, QObject
from PySide6.QtGui import QAction, QKeySequence

from companion.desktop.action_table import ACTIONS, ActionSpec
from companion.desktop.icons import icon
from companion.desktop.palette import Palette


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
        # an icon would stand where the menu shows whether it is ticked
        action.setIconVisibleInMenu(not spec.checkable)
        action.setObjectName(spec.id)
        action.setCheckable(spec.checkable)
        keys = f" ({spec.shortcut})" if spec.shortcut else ""
        action.setToolTip(translated(spec.tip) + keys)
        action.setStatusTip(translated(spec.tip))
        if spec.shortcut and spec.map_only:
            # the map listens to these itself; the menu only names them, behind a tabulator
            keys = QKeySequence(spec.shortcut).toString(QKeySequence.SequenceFormat.NativeText)
            action.setText(f"{action.text()}\t{keys}")
        elif spec.shortcut:
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
