"""The page of the harmony: the key plan, reciting, and what was named in each section."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, Qt, Signal
from PySide6.QtWidgets import (
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QScrollArea,
    QStackedLayout,
    QVBoxLayout,
    QWidget,
)

from companion.desktop import forms, typography
from companion.desktop.days.tables import plain_table
from companion.desktop.harmony.content import HarmonyContent
from companion.desktop.harmony.recite_panel import RecitePanel
from companion.desktop.harmony.tables import KeyPlanModel, RecitedModel
from companion.desktop.harmony.wording import tr

_KEY_PLAN_PIXELS = 300
_LEAST_TABLE_PIXELS = 110
_GAP_PIXELS = 32


class HarmonyPage(QWidget):
    """Keys, chords, and naming them.

    Signals
    -------
    measure_chosen(int)
        A stretch of the key plan was chosen: the index of its first measure.
    section_chosen(str)
        A section was chosen in the table (id).
    """

    measure_chosen = Signal(int)
    section_chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.recite = RecitePanel()
        self._keys = KeyPlanModel(self)
        self._recited = RecitedModel(self)
        self._key_view = plain_table(tr("Key plan"))
        self._key_view.setModel(self._keys)
        self._key_view.horizontalHeader().setStretchLastSection(True)
        self._key_view.clicked.connect(self._key_chosen)
        self._key_view.activated.connect(self._key_chosen)
        self._section_view = plain_table(tr("What was named in each section"))
        self._section_view.setModel(self._recited)
        self._section_view.setMinimumHeight(_LEAST_TABLE_PIXELS)
        header = self._section_view.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(1, QHeaderView.ResizeMode.Stretch)
        self._section_view.clicked.connect(self._section_row_chosen)
        self._section_view.activated.connect(self._section_row_chosen)
        self._about = forms.small()
        self._empty = QLabel(tr("Keys and chords are being worked out."))
        self._empty.setFont(typography.serif(typography.HEADING_POINTS, italic=True))
        self._empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._layers = QStackedLayout(self)
        self._layers.addWidget(self._make_page())
        self._layers.addWidget(self._empty)
        self._layers.setCurrentWidget(self._empty)

    def _make_page(self) -> QWidget:
        page = QWidget()
        row = QHBoxLayout(page)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(_GAP_PIXELS)
        left, beside = QVBoxLayout(), QWidget()
        right = QVBoxLayout(beside)
        right.setContentsMargins(0, 0, 0, 0)
        for column in (left, right):
            column.setSpacing(8)
        scrolled = QScrollArea()
        scrolled.setAccessibleName(tr("Reciting"))
        scrolled.setWidgetResizable(True)
        scrolled.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scrolled.setWidget(beside)
        left.addWidget(forms.heading(tr("Key plan")))
        self._key_view.setMinimumWidth(_KEY_PLAN_PIXELS)
        self._key_view.setMaximumWidth(_KEY_PLAN_PIXELS + 60)
        left.addWidget(self._key_view, 1)
        left.addWidget(self._about)
        right.addWidget(forms.heading(tr("Reciting")))
        right.addWidget(self.recite, 3)
        right.addWidget(forms.rule())
        right.addWidget(forms.heading(tr("Named so far")))
        right.addWidget(self._section_view, 2)
        row.addLayout(left)
        row.addWidget(scrolled, 1)
        return page

    def show_content(self, content: HarmonyContent) -> None:
        """Show a piece."""
        self._keys.show_content(content)
        self._recited.show_content(content)
        self._key_view.resizeColumnToContents(0)
        self.recite.show_sections(content.sections)
        self._about.setText(
            tr(
                "{chords} chords, {doubtful} of them doubtful: they carry a question mark under "
                "the score. Click one there to write another reading."
            ).format(chords=content.chord_count, doubtful=content.doubtful_count)
        )
        self._layers.setCurrentIndex(1 if content.waiting else 0)

    @property
    def key_lines(self) -> tuple[str, ...]:
        """The keys in order."""
        return tuple(self._keys.line(row).key for row in range(self._keys.rowCount()))

    def recited_text(self, row: int, column: int) -> str:
        """A cell of the table of what was named."""
        return str(self._recited.data(self._recited.index(row, column)))

    def _key_chosen(self, index: QModelIndex) -> None:
        self.measure_chosen.emit(self._keys.line(index.row()).measure_index)

    def _section_row_chosen(self, index: QModelIndex) -> None:
        self.section_chosen.emit(self._recited.line(index.row()).section_id)
