"""``companion report PIECE FILE``: how a piece stands, for the teacher."""

from __future__ import annotations

import argparse
from datetime import date
from pathlib import Path

from companion.practice.commands.shelf import (
    DONE,
    add_history,
    day_starts_at_hour,
    opened_history,
    opened_piece,
    piece_named,
    report_of,
    tell,
    today,
)


def parser() -> argparse.ArgumentParser:
    """Return the parser of the command."""
    report = argparse.ArgumentParser(
        prog="companion report",
        description="Write how a piece stands: a page for the teacher, or a table.",
    )
    report.add_argument("piece", metavar="PIECE", help="the title of the piece, or a part of it")
    report.add_argument("file", metavar="FILE", help="what to write: FILE.html or FILE.csv")
    add_period(report)
    report.add_argument("--name", default="", help="your name, as it shall stand on the page")
    report.add_argument("--letter", default="", help="some words to the teacher")
    add_history(report)
    report.set_defaults(run=_report)
    return report


def add_period(parser: argparse.ArgumentParser) -> None:
    """Let a command tell only some of the days."""
    parser.add_argument(
        "--from",
        dest="from_day",
        metavar="DAY",
        type=date.fromisoformat,
        help="the first day to tell of, as 2026-05-03; without it the first of all",
    )


def _report(options: argparse.Namespace) -> int:
    from companion.practice.report.filling import ReportAsked
    from companion.practice.report.writing import check_name, write_report

    path = Path(options.file)
    check_name(path)  # before the work
    hour = day_starts_at_hour()
    with opened_history(options) as history:
        opened = opened_piece(history, piece_named(history, options.piece))
        values = report_of(
            history,
            opened,
            ReportAsked(
                today=today(hour),
                from_day=options.from_day,
                player=options.name,
                letter=options.letter,
                day_starts_at_hour=hour,
            ),
        )
    write_report(path, values)
    tell(f"“{path.name}” was written.")
    return DONE
