"""The pages of a report on a printer or in a PDF file."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QMarginsF
from PySide6.QtGui import QPagedPaintDevice, QPageLayout, QPageSize, QPainter, QPdfWriter

from companion.desktop.report.paper.layout import lay_out
from companion.desktop.report.paper.pages import Draw, draw_page
from companion.practice.report.values import ReportValues
from companion.practice.report.writing import ReportNotWritten
from companion.whole_file import whole_file

_DOTS_AN_INCH = 600


def print_pages(device: QPagedPaintDevice, pages: Sequence[Sequence[Draw]]) -> None:
    """Draw all pages on a device whose pages are used up to the edge.

    Raises
    ------
    ReportNotWritten
        The device cannot be drawn on: a disk that is full, a printer that is gone.
    """
    painter = QPainter()
    if not painter.begin(device):
        raise ReportNotWritten("The report cannot be printed or written there.")
    try:
        for number, page in enumerate(pages):
            if number:
                device.newPage()
            draw_page(painter, page, device.width(), device.height())
    finally:
        painter.end()


def write_pdf(path: Path, report: ReportValues) -> None:
    """Write a report as PDF, whole or not at all.

    Raises
    ------
    ReportNotWritten
        The file cannot be written.
    """
    try:
        with whole_file(path) as unfinished:
            writer = QPdfWriter(str(unfinished))
            writer.setResolution(_DOTS_AN_INCH)
            writer.setTitle(report.title)
            writer.setCreator("Companion")
            writer.setPageLayout(
                QPageLayout(
                    QPageSize(QPageSize.PageSizeId.A4),
                    QPageLayout.Orientation.Portrait,
                    QMarginsF(0, 0, 0, 0),
                )
            )
            print_pages(writer, lay_out(report))
            del writer  # closes the file
    except OSError as error:
        raise ReportNotWritten(
            f"“{path.name}” cannot be written: {error.strerror or error}."
        ) from error
