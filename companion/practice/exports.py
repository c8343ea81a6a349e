"""Taking the history elsewhere: tables as CSV, takes as standard MIDI files.

CSV is UTF-8 with a byte order mark and CRLF lines (RFC 4180), so that spreadsheets read names with
accents. Numbers have a decimal point; empty means that it cannot be told. Moments are local, with
their offset from UTC (ISO 8601). Tempi are quarters per minute, shares 0 to 1.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from dataclasses import fields
from datetime import datetime
from pathlib import Path

from companion.errors import HistoryUnavailable
from companion.history.days import DAY_STARTS_AT_HOUR, practice_day, zone_named
from companion.history.model import Take
from companion.history.results import FIGURES, SectionResult, Stretch
from companion.history.summaries import SectionDay, SectionSummary
from companion.midi.files import write_take
from companion.whole_file import whole_file

_OF_A_DAY = tuple(
    field.name
    for field in fields(SectionDay)
    if field.name not in {"first_take_id", "last_played_at"}
)


def export_takes_csv(
    path: Path, takes: Iterable[Take], day_starts_at_hour: int = DAY_STARTS_AT_HOUR
) -> None:
    """Write one line per take.

    Raises
    ------
    HistoryUnavailable
        The file cannot be written.
    """
    head = ["take_id", "day", "started_at", "source", "instrument", "name", "remark"]
    head += ["duration_seconds", "note_count", "recovered", "from_memory"]
    rows = (
        [
            take.take_id,
            practice_day(take.started_at, take.zone, day_starts_at_hour),
            _local(take.started_at, take.zone),
            take.source.value,
            take.instrument,
            take.name,
            take.remark,
            f"{take.duration_seconds:.3f}",
            take.note_count,
            take.recovered,
            take.from_memory,
        ]
        for take in takes
    )
    _write(path, head, rows)


def export_results_csv(
    path: Path,
    results: Iterable[SectionResult],
    names: Mapping[Stretch, str],
    day_starts_at_hour: int = DAY_STARTS_AT_HOUR,
) -> None:
    """Write one line per take and section.

    Parameters
    ----------
    names
        Name of the section at each stretch; results of other stretches are left out.

    Raises
    ------
    HistoryUnavailable
        The file cannot be written.
    """
    rows = (
        [
            names[row.stretch],
            practice_day(row.started_at, row.zone, day_starts_at_hour),
            _local(row.started_at, row.zone),
            row.take_id,
            row.hands,
            *(getattr(row, name) for name in FIGURES),
        ]
        for row in results
        if row.stretch in names
    )
    _write(path, ["section", "day", "started_at", "take_id", "hands", *FIGURES], rows)


def export_days_csv(
    path: Path, summaries: Iterable[SectionSummary], names: Mapping[Stretch, str]
) -> None:
    """Write one line per section, practice day and choice of hands.

    Raises
    ------
    HistoryUnavailable
        The file cannot be written.
    """
    rows = (
        [names[summary.stretch], *(getattr(day, name) for name in _OF_A_DAY)]
        for summary in summaries
        if summary.stretch in names
        for day in summary.days
    )
    _write(path, ["section", *_OF_A_DAY], rows)


def take_paths(folder: Path, takes: Iterable[Take]) -> tuple[Path, ...]:
    """Names for takes in a folder, by when they were played; no file that is there is meant."""
    paths: list[Path] = []
    for take in takes:
        stem = f"take {_local(take.started_at, take.zone):%Y-%m-%d %H-%M-%S}"
        path, number = folder / f"{stem}.mid", 1
        while path in paths or path.exists():
            number += 1
            path = folder / f"{stem} ({number}).mid"
        paths.append(path)
    return tuple(paths)


def export_take_midi(path: Path, take: Take) -> None:
    """Write a take, with its events, as a standard MIDI file.

    Raises
    ------
    HistoryUnavailable
        The file cannot be written.
    """
    try:
        write_take(
            path,
            take.events,
            started_at=take.started_at.astimezone(zone_named(take.zone)),
            title=take.name,
        )
    except OSError as error:
        raise _not_written(path, error) from error


def _write(path: Path, head: list[str], rows: Iterable[Iterable[object]]) -> None:
    try:
        with (
            whole_file(path) as unfinished,
            unfinished.open("w", encoding="utf-8-sig", newline="") as file,
        ):
            writer = csv.writer(file)  # the csv module ends lines as RFC 4180 asks
            writer.writerow(head)
            writer.writerows([written_cell(value) for value in row] for row in rows)
    except OSError as error:
        raise _not_written(path, error) from error


def written_cell(value: object) -> object:
    """Return a value as a cell of a table: never a formula, never twelve digits."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.6g}"
    if isinstance(value, datetime):
        return value.isoformat(timespec="seconds")
    if isinstance(value, str) and value[:1] in _FORMULA_SIGNS:
        return f"'{value}"
    return value


_FORMULA_SIGNS = frozenset("=+-@\t\r")
"""A spreadsheet takes text that begins so for a formula (OWASP, "CSV Injection")."""


def _local(moment: datetime, zone: str) -> datetime:
    return moment.astimezone(zone_named(zone))


def _not_written(path: Path, error: OSError) -> HistoryUnavailable:
    return HistoryUnavailable(f"“{path.name}” cannot be written: {error.strerror or error}.")
