"""How long merging takes, beside copying the same file with SQLite's own backup.

Usage: python -m tests.benchmarks.merging [takes]
"""

from __future__ import annotations

import sqlite3
import sys
import tempfile
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from time import perf_counter

from companion.history.fingerprints import fingerprint
from companion.history.model import RawEvent
from companion.practice.merging import merge_history
from companion.storage.history_file import HistoryFile
from tests.unit.storage.history_examples import MOMENT, a_piece, a_take

NOTES = 300  # of a take: a minute or two of practice


def events_of(number: int) -> tuple[RawEvent, ...]:
    """Notes of which no two takes have the same."""
    return tuple(
        event
        for note in range(NOTES)
        for event in (
            RawEvent(note * 0.2, bytes([0x90, 21 + (note * 7 + number) % 88, 1 + number % 127])),
            RawEvent(note * 0.2 + 0.1, bytes([0x80, 21 + (note * 7 + number) % 88, 64])),
        )
    )


def fill(path: Path, first: int, count: int) -> None:
    """Write takes, two an hour."""
    with HistoryFile(path) as history:
        history.save_piece(a_piece())
        for start in range(first, first + count, 500):
            takes = []
            for number in range(start, min(start + 500, first + count)):
                events = events_of(number)
                takes.append(
                    replace(
                        a_take(f"take {number}", events=events, note_count=NOTES),
                        started_at=MOMENT + timedelta(minutes=30 * number),
                        content_hash=fingerprint(events),
                    )
                )
            history.save_takes(takes)


def main() -> None:
    """Print the figures."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 20_000
    with tempfile.TemporaryDirectory() as folder:
        home, studio = Path(folder) / "home.sqlite3", Path(folder) / "studio.sqlite3"
        fill(home, 0, count)
        fill(studio, count - count // 20, count // 10)  # half of them known at home
        began = perf_counter()
        with (
            closing(sqlite3.connect(home)) as source,
            closing(sqlite3.connect(Path(folder) / "copy")) as target,
        ):
            source.backup(target)
        copied = perf_counter() - began
        with HistoryFile(home) as history:
            began = perf_counter()
            first = merge_history(history, studio, Path(folder) / "scratch")
            merged = perf_counter() - began
            began = perf_counter()
            merge_history(history, studio, Path(folder) / "scratch")
            again = perf_counter() - began
        print(f"{count} takes at home ({home.stat().st_size / 1e6:.0f} MB), {count // 10} there")
        print(f"copying the history with SQLite alone   {copied:6.2f} s")
        print(f"merging {first.merged.new_takes} new takes                  {merged:6.2f} s")
        print(f"merging again                           {again:6.2f} s")


if __name__ == "__main__":
    main()
