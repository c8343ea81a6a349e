"""The demo takes that travel with the sample scores: demo data, and labelled so everywhere.

They were played by the simulated pianist. Their files carry no date but a number of days before
today and a time of day, so that the first start of the program shows days that lie just behind.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from pathlib import Path

from companion.history.fingerprints import fingerprint
from companion.history.model import Take, TakeSource, new_id
from companion.midi.files import RecordedTake, read_take
from companion.resources import sample_scores_folder

EXAMPLE_NAME = "example.mid"
_FILE_NAME = re.compile(r"(?P<days>\d\d)-days-before-at-(?P<hour>\d\d)(?P<minute>\d\d)\.mid")


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoTake:
    """A recorded demo take and when it is said to have been played (UTC)."""

    path: Path
    started_at: datetime

    def read(self) -> RecordedTake:
        """Read the file."""
        return read_take(self.path)


def demo_takes(
    score_file: str | Path, *, now: datetime, folder: Path | None = None
) -> tuple[DemoTake, ...]:
    """Demo takes of a sample score, oldest first; none for any other score.

    Parameters
    ----------
    score_file
        Path of the score; its name says which sample it is.
    now
        The present moment in the player's time zone: today is its date.
    folder
        Where the takes are; None for those that travel with the program.
    """
    takes = []
    for path in _takes_folder(score_file, folder).glob("*.mid"):
        named = _FILE_NAME.fullmatch(path.name)
        if named:
            day = now.date() - timedelta(days=int(named["days"]))
            at = time(int(named["hour"]), int(named["minute"]))
            started_at = datetime.combine(day, at, tzinfo=now.tzinfo).astimezone(UTC)
            takes.append(DemoTake(path=path, started_at=started_at))
    return tuple(sorted(takes, key=lambda take: take.started_at))


def example_take(score_file: str | Path, *, folder: Path | None = None) -> Path | None:
    """One whole take of a sample score with mistakes and a restart in it, None for other scores."""
    path = _takes_folder(score_file, folder) / EXAMPLE_NAME
    return path if path.is_file() else None


def as_take(demo_take: DemoTake, *, piece_id: str, zone: str) -> Take:
    """The demo take as a take of the history, marked as demo data."""
    recorded = demo_take.read()
    return Take(
        take_id=new_id(),
        piece_id=piece_id,
        started_at=demo_take.started_at,
        zone=zone,
        source=TakeSource.DEMO,
        duration_seconds=recorded.duration_seconds,
        note_count=recorded.note_count,
        instrument="Simulated pianist",
        events=recorded.events,
        content_hash=fingerprint(recorded.events),
    )


def _takes_folder(score_file: str | Path, folder: Path | None) -> Path:
    takes = sample_scores_folder() / "takes" if folder is None else folder
    return takes / Path(score_file).stem
