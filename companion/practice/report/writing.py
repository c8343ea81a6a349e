"""A report as a file: a page or a table, whole or not at all."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from companion.errors import CompanionError
from companion.practice.exports import written_cell
from companion.practice.report.page import report_page
from companion.practice.report.values import ReportSection, ReportValues
from companion.timebase import quarters_per_minute_to_beats_per_minute
from companion.whole_file import whole_file

COLUMNS = (
    "section",
    "measures",
    "day",
    "takes",
    "accuracy",
    "beats_per_minute",
    "target_beats_per_minute",
    "cold_take",
    "why_not_clean",
    "known_since",
)
ENDINGS = (".html", ".htm", ".csv")


class ReportNotWritten(CompanionError):
    """The report cannot be written to its file."""


def write_report(path: Path, report: ReportValues) -> None:
    """Write a report as a page, or as a table when the name ends in ``.csv``.

    Raises
    ------
    ReportNotWritten
        The name says another format, or the file cannot be written.
    """
    ending = check_name(path)
    text = report_table(report) if ending == ".csv" else report_page(report)
    encoding = "utf-8-sig" if ending == ".csv" else "utf-8"
    try:
        with whole_file(path) as unfinished:
            unfinished.write_text(text, encoding=encoding, newline="")
    except OSError as error:
        raise ReportNotWritten(
            f"“{path.name}” cannot be written: {error.strerror or error}."
        ) from error


def check_name(path: Path) -> str:
    """Return the ending that says what to write.

    Raises
    ------
    ReportNotWritten
        It says nothing that can be written.
    """
    ending = path.suffix.lower()
    if ending not in ENDINGS:
        raise ReportNotWritten(
            f"“{path.name}” does not say what to write: end it in .html for a page or .csv for a "
            "table."
        )
    return ending


def report_table(report: ReportValues) -> str:
    """Return one line for each section and day as CSV (RFC 4180)."""
    stream = io.StringIO()
    writer = csv.writer(stream)
    writer.writerow(COLUMNS)
    for section in report.sections:
        for row in _rows(section):
            writer.writerow([written_cell(value) for value in row])
    return stream.getvalue()


def _rows(section: ReportSection) -> list[tuple[object, ...]]:
    cold = {take.day: take for take in section.cold}
    rows: list[tuple[object, ...]] = []
    for day in section.days:
        take = cold.get(day.day)
        rows.append(
            (
                section.name,
                section.measures,
                day.day,
                day.takes,
                day.accuracy,
                _beats(section, day.quarters_per_minute),
                _beats(section, section.target_quarters_per_minute),
                "" if take is None else "clean" if take.clean else "not clean",
                "" if take is None else ", ".join(take.why_not),
                section.known_since,
            )
        )
    return rows


def _beats(section: ReportSection, quarters_per_minute: float | None) -> float | None:
    if quarters_per_minute is None:
        return None
    return quarters_per_minute_to_beats_per_minute(quarters_per_minute, section.beat_quarters)
