"""Recorded standard MIDI files as takes, with the moment at which they were played.

A file may hold a whole hour: it is cut at its silences. The moment of its first note is, in this
order, what the pianist says, what the file says (ours do), or a guess from when the file was last
changed: recorders save when the playing ends. What is in the history already is not taken again.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from companion.errors import TakeUnreadable
from companion.history.fingerprints import fingerprint, same_playing
from companion.history.model import RawEvent, Take, TakeSource, new_id
from companion.listening.takes import DEFAULT_SILENCE_SECONDS, CutTake, cut_into_takes
from companion.midi.files import read_take
from companion.progress import Progress, Report, no_report
from companion.storage.history_file import HistoryFile


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedFile:
    """A file that was read: its takes, not saved yet.

    ``moment_is_guessed`` says that nothing but the date of the file told when it was played;
    ``remarks`` are plain sentences about what was unusual in it.
    """

    path: Path
    takes: tuple[Take, ...]
    moment_is_guessed: bool
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RefusedFile:
    """A file of which nothing was taken, and one plain sentence why.

    ``is_known`` says that all of it is in the history already.
    """

    path: Path
    sentence: str
    is_known: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ImportOutcome:
    """What an import came to.

    Parameters
    ----------
    saved
        The new takes.
    known_already
        How many takes were in the history already.
    refused
        Files of which nothing was taken.
    guessed
        In how many of the files that were taken nothing said when they were played.
    """

    saved: tuple[Take, ...]
    known_already: int
    refused: tuple[RefusedFile, ...]
    guessed: int = 0

    @property
    def sentences(self) -> tuple[str, ...]:
        """What to tell the pianist, in a few sentences however many files there were."""
        told = []
        if self.saved:
            count = len(self.saved)
            told.append("A take was imported." if count == 1 else f"{count} takes were imported.")
        if self.guessed:
            which = (
                "The file does not say when it was"
                if self.guessed == 1
                else f"{self.guessed} files do not say when they were"
            )
            told.append(f"{which} played; the date of the file was taken.")
        known = [file for file in self.refused if file.is_known]
        if len(known) == 1:
            told.append(known[0].sentence)
        elif known:
            told.append(f"{len(known)} files are in your history already; they were left out.")
        unusable = [file.sentence for file in self.refused if not file.is_known]
        told += unusable[:_MOST_TOLD]
        if len(unusable) > _MOST_TOLD:
            told.append(f"{len(unusable) - _MOST_TOLD} more files could not be used.")
        return tuple(told) or ("There was nothing to import.",)


_MOST_TOLD = 3


def read_recorded_file(
    path: Path,
    *,
    piece_id: str | None,
    zone: str,
    first_note_at: datetime | None = None,
    silence_seconds: float = DEFAULT_SILENCE_SECONDS,
) -> RecordedFile:
    """Read a recorded file and cut it into takes.

    Parameters
    ----------
    piece_id
        The piece the takes are filed with.
    zone
        IANA name of the zone in which it was played.
    first_note_at
        Moment of the first note as the pianist gives it, timezone-aware; None to find out.
    silence_seconds
        Silence that ends a take.

    Raises
    ------
    TakeUnreadable
        The file is broken or holds no notes.
    """
    recorded = read_take(path)
    guessed = first_note_at is None and recorded.started_at is None
    began_at = first_note_at or recorded.started_at or _guess(path, recorded.duration_seconds)
    cuts = cut_into_takes(recorded.events, silence_seconds)
    takes = tuple(_take(cut, piece_id, began_at, zone, path.stem) for cut in cuts)
    return RecordedFile(path=path, takes=takes, moment_is_guessed=guessed, remarks=recorded.remarks)


def import_files(
    history: HistoryFile,
    paths: Iterable[Path],
    *,
    piece_id: str | None,
    zone: str,
    first_note_at: datetime | None = None,
    silence_seconds: float = DEFAULT_SILENCE_SECONDS,
    report: Report = no_report,
) -> ImportOutcome:
    """Import recorded files; a file that cannot be used does not stop the others.

    Each file is saved whole or not at all, so a cancelled import leaves whole files behind. The
    order of the files makes no difference.
    """
    files = tuple(paths)
    saved: list[Take] = []
    refused: list[RefusedFile] = []
    known_already = guessed = 0
    for done, path in enumerate(files):
        report(Progress(done=done, total=len(files), doing=f"Importing {path.name}"))
        try:
            recorded = read_recorded_file(
                path,
                piece_id=piece_id,
                zone=zone,
                first_note_at=first_note_at,
                silence_seconds=silence_seconds,
            )
        except TakeUnreadable as error:
            refused.append(RefusedFile(path, str(error)))
            continue
        fresh = tuple(take for take in recorded.takes if not is_known(history, take))
        known_already += len(recorded.takes) - len(fresh)
        if not fresh:
            refused.append(
                RefusedFile(
                    path,
                    f"“{path.name}” is in your history already; it was left out.",
                    is_known=True,
                )
            )
            continue
        history.save_takes(fresh)
        saved.extend(fresh)
        guessed += recorded.moment_is_guessed
    report(Progress(done=len(files), total=len(files), doing="Importing takes"))
    return ImportOutcome(
        saved=tuple(saved),
        known_already=known_already,
        refused=tuple(refused),
        guessed=guessed,
    )


def is_known(history: HistoryFile, take: Take) -> bool:
    """Say whether the history holds this playing already, outside the bin."""
    return any(
        same_playing(known.events, take.events)
        for known in history.takes_with_content(take.content_hash)
    )


def _guess(path: Path, duration_seconds: float) -> datetime:
    saved_at = datetime.fromtimestamp(path.stat().st_mtime, tz=UTC)
    return saved_at - timedelta(seconds=duration_seconds)


def _take(
    cut: CutTake, piece_id: str | None, file_began_at: datetime, zone: str, name: str
) -> Take:
    events = tuple(RawEvent(message.at_seconds, message.message) for message in cut.messages)
    return Take(
        take_id=new_id(),
        piece_id=piece_id,
        started_at=(file_began_at + timedelta(seconds=cut.began_seconds)).astimezone(UTC),
        zone=zone,
        source=TakeSource.FILE,
        duration_seconds=cut.duration_seconds,
        note_count=cut.note_count,
        name=name,
        events=events,
        content_hash=fingerprint(events),
    )
