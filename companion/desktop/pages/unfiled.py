"""Takes that belong to no piece yet, under the shelf."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QListWidget,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from companion.desktop import forms
from companion.desktop.dates import weekday_and_day
from companion.history.days import zone_named
from companion.history.model import Take

_HEIGHT_PIXELS = 116


class UnfiledTakes(QWidget):
    """A list of takes to be filed or thrown away; hidden while there is none.

    Signals
    -------
    filing_asked(list), deletion_asked(list)
        Take ids.
    """

    filing_asked = Signal(list)
    deletion_asked = Signal(list)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._ids: tuple[str, ...] = ()
        self._list = QListWidget()
        self._list.setAccessibleName(self.tr("Takes that are not filed yet"))
        self._list.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self._list.setMaximumHeight(_HEIGHT_PIXELS)
        self._list.itemActivated.connect(self._file)
        file_with = QPushButton(self.tr("&File with a piece…"))
        file_with.setToolTip(self.tr("Say which piece the selected takes belong to"))
        file_with.clicked.connect(self._file)
        delete = QPushButton(self.tr("D&elete takes"))
        delete.setToolTip(self.tr("Throw the selected takes away; can be undone"))
        delete.clicked.connect(self._delete)
        buttons = QHBoxLayout()
        buttons.addWidget(file_with)
        buttons.addWidget(delete)
        buttons.addStretch(1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 8, 0, 0)
        column.setSpacing(8)
        column.addWidget(forms.heading(self.tr("Not filed yet")))
        column.addWidget(
            forms.small(
                self.tr(
                    "Takes that fit no piece on the shelf, as far as can be told. When their "
                    "piece comes on the shelf, they are filed with it."
                )
            )
        )
        column.addWidget(self._list)
        column.addLayout(buttons)
        self.show_takes(())

    def show_takes(self, takes: tuple[Take, ...]) -> None:
        """List these takes."""
        self._list.clear()
        self._ids = tuple(take.take_id for take in takes)
        self._list.addItems([self._text(take) for take in takes])
        if takes:
            self._list.setCurrentRow(0)
        self.setVisible(bool(takes))

    @property
    def selected(self) -> list[str]:
        """Ids of the selected takes."""
        rows = sorted(index.row() for index in self._list.selectionModel().selectedRows())
        return [self._ids[row] for row in rows]

    @property
    def count(self) -> int:
        """How many takes are listed."""
        return self._list.count()

    def _text(self, take: Take) -> str:
        start = take.started_at.astimezone(zone_named(take.zone))
        day = start.date()
        text = self.tr("{day}, {clock}: {notes} notes, {minutes}:{seconds:02d}").format(
            day=weekday_and_day(day),
            clock=f"{start:%H:%M}",
            notes=take.note_count,
            minutes=int(take.duration_seconds) // 60,
            seconds=int(take.duration_seconds) % 60,
        )
        return f"{text}, {take.name}" if take.name else text

    def _file(self) -> None:
        if self.selected:
            self.filing_asked.emit(self.selected)

    def _delete(self) -> None:
        if self.selected:
            self.deletion_asked.emit(self.selected)
