"""The page of the readiness: the answer in words, the check, sections, earlier checks."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, Qt, Signal
from PySide6.QtWidgets import (
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QScrollArea,
    QTableView,
    QVBoxLayout,
    QWidget,
)

from companion.desktop import forms, tips, typography
from companion.desktop.days.tables import fit_rows, plain_table
from companion.desktop.lines_model import LinesModel
from companion.desktop.readiness.check_panel import CheckPanel
from companion.desktop.readiness.content import ReadinessContent
from companion.desktop.readiness.table import (
    check_rows,
    checks_model,
    section_rows,
    section_tips,
    sections_model,
)
from companion.desktop.readiness.wording import tr

_MOST_SECTIONS, _MOST_CHECKS = 14, 6
_GAP_PIXELS = 10


class ReadinessPage(QWidget):
    """Answers whether the piece is ready.

    Signals
    -------
    section_chosen(str)
        A section was chosen (id).
    print_asked()
        Print what is shown.
    """

    section_chosen = Signal(str)
    print_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._content = ReadinessContent()
        self.check = CheckPanel()
        self._answer = QLabel()
        self._answer.setFont(typography.serif(typography.HEADING_POINTS))
        self._answer.setWordWrap(True)
        self._answer.setTextFormat(Qt.TextFormat.PlainText)
        self._more = QLabel()
        self._more.setFont(typography.serif())
        self._more.setWordWrap(True)
        self._more.setTextFormat(Qt.TextFormat.PlainText)
        self._sections = sections_model(self)
        self._checks = checks_model(self)
        self._section_view = self._view(tr("How ready each section is"), self._sections)
        self._section_view.clicked.connect(self._chosen)
        self._section_view.activated.connect(self._chosen)
        self._check_view = self._view(tr("Earlier checks"), self._checks)
        self._print = QPushButton(tr("P&rint…"))
        tip = tr("Print how ready the piece is")
        self._print.setToolTip(tips.in_lines(tip))
        self._print.setAccessibleDescription(tip)
        self._print.clicked.connect(self.print_asked)
        self._checks_heading = forms.heading(tr("Earlier checks"))
        self._note = forms.small(
            tr(
                "All numbers are about a run as at home: nerves, another piano and an audience are "
                "not in them. Your teacher knows more."
            )
        )
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(self._make_page())
        self.show_content(ReadinessContent(waiting=True))

    @property
    def content(self) -> ReadinessContent:
        """What is shown."""
        return self._content

    def show_content(self, content: ReadinessContent) -> None:
        """Show how ready a piece is."""
        self._content = content
        waiting = tr("Being worked out.")
        self._answer.setText(
            waiting if content.waiting else content.sentences[0] if content.sentences else ""
        )
        self._more.setText(" ".join(content.sentences[1:]))
        bold = frozenset(row for row, each in enumerate(content.sections) if each.weakest)
        tips_of_cells = section_tips(content.sections)
        self._sections.show_rows(section_rows(content.sections), bold, tips_of_cells)
        self._checks.show_rows(check_rows(content.checks))
        fit_rows(self._section_view, _MOST_SECTIONS)
        fit_rows(self._check_view, _MOST_CHECKS)
        self._section_view.setVisible(bool(content.sections))
        self._note.setVisible(bool(content.sections))
        for part in (self._check_view, self._checks_heading):
            part.setVisible(bool(content.checks))
        self._print.setEnabled(bool(content.sections))

    # internal

    def _view(self, name: str, model: LinesModel) -> QTableView:
        view = plain_table(name)
        view.setModel(model)
        view.setSelectionMode(QTableView.SelectionMode.SingleSelection)
        header = view.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        header.setSectionResizeMode(model.columnCount() - 1, QHeaderView.ResizeMode.Stretch)
        return view

    def _make_page(self) -> QScrollArea:
        sheet = QWidget()
        column = QVBoxLayout(sheet)
        column.setContentsMargins(0, 0, 12, 0)
        column.setSpacing(_GAP_PIXELS)
        head = QHBoxLayout()
        head.setSpacing(12)
        head.addWidget(self._answer, 1)
        head.addWidget(self._print, 0, Qt.AlignmentFlag.AlignTop)
        column.addLayout(head)
        column.addWidget(self._more)
        column.addWidget(self.check)
        column.addWidget(self._section_view)
        column.addWidget(self._note)
        column.addWidget(self._checks_heading)
        column.addWidget(self._check_view)
        column.addStretch(1)
        return forms.scrolled(sheet, tr("Readiness"))

    def _chosen(self, index: QModelIndex) -> None:
        self.section_chosen.emit(self._content.sections[index.row()].section_id)
