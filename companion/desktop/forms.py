"""One builder for every form: a field's label is its accessible name, its tip the description."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractSpinBox,
    QFrame,
    QLabel,
    QListWidget,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from companion.desktop import tips, typography

_INSET_PIXELS = 5


def heading(text: str, points: float = typography.HEADING_POINTS) -> QLabel:
    """A heading in the serif family."""
    label = QLabel(text)
    label.setFont(typography.serif(points))
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setWordWrap(True)
    return label


def small(text: str = "") -> QLabel:
    """A small label, plain text, that may run over several lines."""
    label = QLabel(text)
    label.setFont(typography.sans(typography.SMALL_POINTS))
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setWordWrap(True)
    return label


def texts_of(lines: QListWidget) -> tuple[str, ...]:
    """All lines of a list.

    Lists are filled by ``addItems`` and asked by row, in the whole program: an item that is made or
    asked for in Python has a wrapper, and PySide 6.11 on Python 3.11.2 wrote into freed memory when
    ``clear`` took such wrappers apart (runs of the checks ended so, always in the list of drills).
    """
    model = lines.model()
    return tuple(str(model.index(row, 0).data()) for row in range(lines.count()))


def rule() -> QFrame:
    """A hairline across."""
    line = QFrame()
    line.setObjectName("rule")
    line.setFixedHeight(1)
    return line


def scrolled(sheet: QWidget, name: str = "") -> QScrollArea:
    """A page that scrolls up and down, without a frame; ``name`` is read to who cannot see it."""
    scroll = QScrollArea()
    scroll.setWidget(sheet)
    scroll.setWidgetResizable(True)
    scroll.setFrameShape(QFrame.Shape.NoFrame)
    scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    scroll.setAccessibleName(name)
    return scroll


def add_field(column: QVBoxLayout, text: str, field: QWidget, tip: str = "") -> None:
    """Add a labelled field; ``text`` may carry a mnemonic."""
    label = QLabel(text)
    label.setFont(typography.sans(typography.SMALL_POINTS))
    label.setBuddy(field)
    field.setAccessibleName(text.replace("&", ""))
    if tip:
        field.setToolTip(tips.in_lines(tip))
        field.setAccessibleDescription(tip)
    column.addWidget(label)
    column.addWidget(field)


def inset(field: QAbstractSpinBox) -> None:
    """Move the text of a field off its frame, as in the other fields.

    A style sheet reaches the frame of such a field but not the line that it has inside.
    """
    field.lineEdit().setTextMargins(_INSET_PIXELS, 0, 0, 0)


def column(widget: QWidget) -> QVBoxLayout:
    """A column of the widget's own without margins or gaps."""
    layout = QVBoxLayout(widget)
    layout.setContentsMargins(0, 0, 0, 0)
    layout.setSpacing(0)
    return layout
