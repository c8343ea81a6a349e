"""Keeps the tabulator in the order of the eye, also where parts are built later than others."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

_BY_TAB = frozenset(
    # one by one: to combine the flags for a thousand widgets takes 10 ms
    (Qt.FocusPolicy.TabFocus, Qt.FocusPolicy.StrongFocus, Qt.FocusPolicy.WheelFocus)
)


def stops_in(part: QWidget) -> list[QWidget]:
    """The widgets of a part at which the tabulator stops, in the order in which it does."""
    found = []
    widget = part.nextInFocusChain()
    while widget is not None and widget is not part:
        if (
            part.isAncestorOf(widget)
            and widget.focusPolicy() in _BY_TAB
            and widget.focusProxy() is None
        ):
            found.append(widget)
        widget = widget.nextInFocusChain()
    return found


def put_in_order(parts: Iterable[QWidget | None]) -> None:
    """Make the tabulator go through the stops of these parts one part after the other."""
    stops = [stop for part in parts if part for stop in stops_in(part)]
    for before, after in pairwise(stops):
        QWidget.setTabOrder(before, after)
