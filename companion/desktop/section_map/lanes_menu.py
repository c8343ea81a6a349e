"""Which lanes lie under the map: a low window may want fewer of them."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMenu, QWidget

from companion.desktop.section_map.layout import DEPTH, ERRORS, Lane


class LanesMenu(QMenu):
    """One entry for each lane that is usually there, and one that brings all back.

    Tasks and keys are no matter of this menu: they come with what they belong to.

    Signals
    -------
    hidden_changed(object)
        The names of the lanes that are hidden, as a frozenset.
    """

    hidden_changed = Signal(object)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(self.tr("&Lanes to show"), parent)
        titles = {
            Lane.WORK: self.tr("&Work"),
            Lane.ACCURACY: self.tr("&Accuracy"),
            Lane.TEMPO: self.tr("&Tempo"),
            Lane.LAST_PLAYED: self.tr("Last &played"),
            Lane.TAKES: self.tr("Ta&kes"),
            DEPTH: self.tr("K&nown since"),
            ERRORS: self.tr("&Errors"),
        }
        self._of_lane: dict[str, QAction] = {}
        for name, title in titles.items():
            action = self.addAction(title)
            action.setCheckable(True)
            action.setChecked(True)
            action.toggled.connect(self._toggled)
            self._of_lane[str(name)] = action
        self.addSeparator()
        self._all = self.addAction(self.tr("A&ll of them"))
        self._all.triggered.connect(self._show_all)
        self._all.setEnabled(False)

    @property
    def hidden(self) -> frozenset[str]:
        """The names of the lanes that are hidden."""
        return frozenset(name for name, action in self._of_lane.items() if not action.isChecked())

    def hide_lanes(self, names: frozenset[str]) -> None:
        """Hide these lanes and no others; names that are no lanes are passed over."""
        before = self.hidden
        for name, action in self._of_lane.items():
            action.blockSignals(True)  # one change, not seven
            action.setChecked(name not in names)
            action.blockSignals(False)
        if self.hidden != before:
            self._toggled()

    def _show_all(self) -> None:
        self.hide_lanes(frozenset())

    def _toggled(self) -> None:
        self._all.setEnabled(bool(self.hidden))
        self.hidden_changed.emit(self.hidden)
