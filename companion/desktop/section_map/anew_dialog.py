"""Sections proposed anew: what would change is shown before anything does."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QListWidget,
    QRadioButton,
    QVBoxLayout,
    QWidget,
)

from companion.desktop import forms, typography
from companion.desktop.section_map.wording import measure_span, tr
from companion.score.model import Measure
from companion.score.sections.changes import ChangeKind, SectionChange, section_changes
from companion.score.sections.section_map import SectionMap

_WIDTH_PIXELS, _HEIGHT_PIXELS = 560, 460


class AnewDialog(QDialog):
    """Two ways to take a proposal, and for each what becomes of the sections.

    Signals
    -------
    taken(SectionMap)
        The map that was chosen.

    Parameters
    ----------
    now
        The sections as they are.
    joined
        The proposal wherever the pianist has changed nothing.
    proposed
        The proposal everywhere.
    """

    taken = Signal(object)

    def __init__(
        self,
        measures: tuple[Measure, ...],
        now: SectionMap,
        joined: SectionMap,
        proposed: SectionMap,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._measures, self._now = measures, now
        self._joined, self._proposed = joined, proposed
        self.setWindowTitle(tr("Propose the sections anew"))
        self.resize(_WIDTH_PIXELS, _HEIGHT_PIXELS)
        self._keep = QRadioButton(tr("&Keep what I have changed, take the rest anew"))
        self._all = QRadioButton(tr("Take &all sections anew: my names, words and borders go"))
        self._keep.setChecked(True)
        self._keep.toggled.connect(self._show_changes)
        self._list = QListWidget()
        self._list.setAccessibleName(tr("What would change"))
        self._list.setFont(typography.serif())
        self._list.setWordWrap(True)
        self._list.setSpacing(2)
        self._about = forms.small()
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        self._take = buttons.addButton(
            tr("&Take these sections"), QDialogButtonBox.ButtonRole.AcceptRole
        )
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 20, 24, 20)
        column.setSpacing(10)
        column.addWidget(forms.heading(tr("What would change")))
        column.addWidget(self._keep)
        column.addWidget(self._all)
        column.addWidget(self._list, 1)
        column.addWidget(self._about)
        column.addWidget(buttons)
        self.accepted.connect(lambda: self.taken.emit(self.chosen))
        self._show_changes()

    @property
    def chosen(self) -> SectionMap:
        """The map of the way that is chosen."""
        return self._joined if self._keep.isChecked() else self._proposed

    @property
    def lines(self) -> tuple[str, ...]:
        """What would change, line by line."""
        return forms.texts_of(self._list)

    def take_all(self) -> None:
        """Choose to take all sections anew."""
        self._all.setChecked(True)

    def _show_changes(self) -> None:
        changes = section_changes(self._now, self.chosen)
        self._list.clear()
        for change in changes:
            if change.kind is not ChangeKind.STAYS:
                self._list.addItem(self._sentence(change))
        staying = sum(change.kind is ChangeKind.STAYS for change in changes)
        differs = self.chosen != self._now
        self._take.setEnabled(differs)
        self._take.setDefault(differs)
        if not self._list.count():
            text = (
                tr("Borders and names stay; only reasons change.")
                if differs
                else tr("Nothing would change.")
            )
            self._list.addItem(text)
        self._list.setCurrentRow(0)
        stay = tr("{n} section stays as it is.") if staying == 1 else tr("{n} sections stay.")
        self._about.setText(
            f"{stay.format(n=staying)} "
            + tr("Results of takes follow the borders. Undo (Ctrl+Z) takes it all back.")
        )

    def _sentence(self, change: SectionChange) -> str:
        section = change.section
        span = measure_span(section, self._measures)
        if change.kind is ChangeKind.GONE:
            return tr("Goes: {name}, {span}").format(name=section.name, span=span)
        if change.kind is ChangeKind.RENAMED and change.before is not None:
            return tr("Other name: {before} becomes {name}, {span}").format(
                before=change.before.name, name=section.name, span=span
            )
        told = tr("New: {name}, {span}").format(name=section.name, span=span)
        return f"{told} ({section.why})" if section.why else told
