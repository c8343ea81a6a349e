"""The report of one student, as it came."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QVBoxLayout, QWidget

from companion.desktop.report.pages_view import PagesView
from companion.practice.packets.studio import StudioRow


class StudentReportDialog(QDialog):
    """Shows the pages; they can be saved and printed as one's own.

    Signals
    -------
    save_asked(ReportValues), print_asked(ReportValues)
        The report.
    """

    save_asked = Signal(object)
    print_asked = Signal(object)

    def __init__(self, row: StudioRow, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(
            self.tr("{name}: {title}").format(name=row.student.name, title=row.piece.title)
        )
        self.pages = PagesView()
        self.pages.show_report(row.report)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        role = QDialogButtonBox.ButtonRole.ActionRole
        save = buttons.addButton(self.tr("&Save…"), role)
        print_it = buttons.addButton(self.tr("&Print…"), role)
        save.clicked.connect(lambda: self.save_asked.emit(row.report))
        print_it.clicked.connect(lambda: self.print_asked.emit(row.report))
        buttons.rejected.connect(self.reject)
        column = QVBoxLayout(self)
        column.setContentsMargins(24, 20, 24, 20)
        column.addWidget(self.pages, 1)
        column.addWidget(buttons)
        self.resize(620, 760)
