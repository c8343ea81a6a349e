"""Builds the golden history file of the present format, on purpose and by hand.

Usage: python -m tests.golden.databases.build

Run it once when a version of the program is released with a new format; files of released formats
are never built again, because what old programs wrote does not change. Before the release of a
format, run it after every change of the schema. What is in the file is invented.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

from companion.history.edits import DeleteTakes
from companion.history.model import TakeSource
from companion.score.model import Hand
from companion.storage.history_file import HistoryFile
from companion.storage.migrations import MIGRATIONS
from companion.storage.pieces import ScoreFile
from tests.unit.storage.history_examples import (
    MOMENT,
    a_piece,
    a_section_map,
    a_take,
    an_entry,
    some_events,
    some_results,
)

FOLDER = Path(__file__).parent
SCORE = b"<score-partwise version='4.0'/>"
FINISHED = a_take(name="evening", remark="Schön langsam", instrument="Digital piano")
THROWN_AWAY = a_take("thrown away", minutes=5, source=TakeSource.SCREEN)
BY_HEART = a_take("by heart", minutes=7, from_memory=True)
CUT_OFF = a_take("cut off", minutes=9, events=(), content_hash="", note_count=0)


GROUPING = '{"n1":"by beat"}'
RECITED = an_entry(content='{"key":"D minor"}')


def fill(history: HistoryFile) -> None:
    """Write a little of everything."""
    history.save_piece(
        a_piece(
            score_path="/music/mill.mxl",
            part="P2",
            performance_date=date(2026, 6, 20),
            opened_at=MOMENT,
        )
    )
    history.save_score_file("hash of piece", ScoreFile("mill.mxl", SCORE))
    history.set_hands("piece", {"n3": Hand.LEFT})
    history.set_view("piece", "page 2")
    history.save_section_map("piece", a_section_map(3))
    history.save_section_map("piece", a_section_map(4))
    history.save_document("piece", "grouping", GROUPING)
    history.add_entries([RECITED])
    history.save_takes([FINISHED, THROWN_AWAY])
    history.save_results([some_results()])
    history.apply(DeleteTakes(("thrown away",)))
    history.save_take(BY_HEART)
    history.begin_take(CUT_OFF)
    history.write_chunk("cut off", 0, some_events(3)[:4])
    history.write_chunk("cut off", 1, some_events(3)[4:5])


def main() -> None:
    """Build the file of the present format."""
    path = FOLDER / f"history-format-{len(MIGRATIONS)}.sqlite3"
    path.unlink(missing_ok=True)
    with HistoryFile(path, now=lambda: MOMENT) as history:
        fill(history)
    path.with_name(path.name + ".lock").unlink(missing_ok=True)
    print(f"built {path}")


if __name__ == "__main__":
    main()
