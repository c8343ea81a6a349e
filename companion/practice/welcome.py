"""What a sample score brings with it at its first opening: demo takes, said to be demo data."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from companion.history.days import zone_named
from companion.history.model import Take
from companion.progress import Progress, Report, no_report
from companion.resources import sample_scores_folder


def is_sample(path: str | Path) -> bool:
    """Whether a file is one of the scores that travel with the program."""
    return Path(path).resolve().parent == sample_scores_folder().resolve()


def read_demo_takes(
    path: str, piece_id: str, zone: str, report: Report = no_report
) -> tuple[Take, ...]:
    """Read the demo takes of a sample score, in a worker process; none for other scores.

    Parameters
    ----------
    path
        The score file.
    piece_id
        The piece the takes are filed with.
    zone
        IANA name of the player's time zone, in which days are counted back from today.
    """
    from companion.demo.takes import as_take, demo_takes

    found = demo_takes(path, now=datetime.now(zone_named(zone)))
    takes = []
    for done, demo in enumerate(found):
        report(Progress(done=done, total=len(found), doing="Reading demo takes"))
        takes.append(as_take(demo, piece_id=piece_id, zone=zone))
    return tuple(takes)
