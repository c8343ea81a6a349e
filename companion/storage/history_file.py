"""The history file as one object: every question and every edit the program has for it.

Each method is one transaction. The SQL stands in the modules per subject; this one hands them this
thread's connection and turns SQLite's troubles into sentences.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import UTC, date, datetime
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Self

from companion.history.model import Entry, Piece, RawEvent, Take, TakeSource
from companion.progress import Report, no_report
from companion.score.model import Hand
from companion.score.sections.section_map import SectionMap
from companion.storage import backups, documents, pieces, sections, takes, words
from companion.storage.connections import Connections
from companion.storage.late_module import LateModule
from companion.storage.migrations import MIGRATIONS, Migration
from companion.storage.opening import bring_to_present_format, locked

if TYPE_CHECKING:
    import sqlite3

    import numpy as np
    from numpy.typing import NDArray

    from companion.history.edits import AnyEdit
    from companion.history.knowing.played import PlayedStretch
    from companion.history.knowing.touched import Touched
    from companion.history.results import SectionGlance, SectionResult, Stretch, TakeResults
    from companion.listening.notes import Match
    from companion.storage import attempts, edited, results
    from companion.storage.merging import merge
    from companion.storage.merging.outcome import Merged
else:
    attempts = LateModule("companion.storage.attempts")
    edited = LateModule("companion.storage.edited")
    results = LateModule("companion.storage.results")
    merge = LateModule("companion.storage.merging.merge")


def _now() -> datetime:
    return datetime.now(UTC)


class HistoryFile:
    """The practice history, open.

    May be used from any thread. Opening brings an older file to the present format, after copying
    it to the backups.

    Parameters
    ----------
    path
        The file; it and its folder are created when missing.
    now
        Gives the present moment (UTC), replaced in tests.

    Raises
    ------
    HistoryTooNew
        A newer program wrote the file. Nothing was changed.
    HistoryDamaged
        The file is broken. Nothing was changed; a copy can be restored from the backups.
    HistoryInUse
        Another window or program holds the file.
    HistoryUnavailable
        The file cannot be opened or written.
    """

    def __init__(
        self,
        path: Path,
        *,
        now: Callable[[], datetime] = _now,
        migrations: Sequence[Migration] = MIGRATIONS,
    ) -> None:
        self.path = path
        self._now = now
        self._lock = locked(path)
        try:
            bring_to_present_format(path, migrations)
        except BaseException:
            self._lock.release()
            raise
        self._connections = Connections(path)

    def when_damaged(self, tell: Callable[[], None]) -> None:
        """Call something whenever the file is found damaged, in the thread that met it."""
        self._connections.on_damage = tell

    def when_written_again(self, tell: Callable[[], None]) -> None:
        """Call something when the file had gone and was written again, in the thread that did."""
        self._connections.on_written_again = tell

    def go_on_with(self, path: Path, prepare: Callable[[], None] = lambda: None) -> None:
        """Leave this file and go on with another, which may be a new one in the same place.

        Whoever holds this object goes on with the other file. Waits for the threads that are at
        work on the history, and is waited for by those that come.

        Parameters
        ----------
        path
            The file to go on with.
        prepare
            Called while the present file is closed and the other one is held, for instance to put
            a copy there.

        Raises
        ------
        HistoryUnavailable
            Or one of the errors below it. The object then goes on with the file that it had.
        """

        def change() -> Path:
            elsewhere = path != self.path
            lock = locked(path) if elsewhere else self._lock
            try:
                prepare()
                bring_to_present_format(path, MIGRATIONS)
            except BaseException:
                if elsewhere:
                    lock.release()
                raise
            if elsewhere:
                self._lock.release()
            self._lock, self.path = lock, path
            return path

        self._connections.exchange(change)

    def close(self) -> None:
        """Close the file; no thread may be at work on it any more."""
        self._connections.close()
        self._lock.release()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        self.close()

    # The shelf

    def save_piece(self, piece: Piece) -> None:
        """Put a piece on the shelf, or bring the one with its id up to date."""
        with self._connections.writing() as connection:
            pieces.save_piece(connection, piece, self._now())

    def piece(self, piece_id: str) -> Piece | None:
        """Return a piece, also one that was taken off the shelf."""
        with self._connections.reading() as connection:
            return pieces.piece(connection, piece_id)

    def shelf(self) -> tuple[Piece, ...]:
        """Return the pieces on the shelf, the one opened last first."""
        with self._connections.reading() as connection:
            return pieces.shelf(connection)

    def piece_with_score(self, score_hash: str, part: str = "") -> Piece | None:
        """Return the piece with this score and part, None when it is new."""
        with self._connections.reading() as connection:
            return pieces.piece_with_score(connection, score_hash, part)

    def mark_opened(self, piece_id: str) -> None:
        """Note that a piece is on the stand now."""
        with self._connections.writing() as connection:
            pieces.mark_opened(connection, piece_id, self._now())

    def take_off_shelf(self, piece_id: str) -> None:
        """Hide a piece; its takes and sections are kept."""
        with self._connections.writing() as connection:
            pieces.take_off_shelf(connection, piece_id, self._now())

    def save_score_file(self, score_hash: str, score_file: pieces.ScoreFile) -> None:
        """Keep a copy of a score file; the same score is kept once."""
        with self._connections.writing() as connection:
            pieces.save_score_file(connection, score_hash, score_file)

    def score_file(self, score_hash: str) -> pieces.ScoreFile | None:
        """Return our copy of a score file."""
        with self._connections.reading() as connection:
            return pieces.score_file(connection, score_hash)

    def set_hands(self, piece_id: str, hands: Mapping[str, Hand]) -> None:
        """Keep the hands that the pianist gave to notes, by note id."""
        with self._connections.writing() as connection:
            pieces.set_hands(connection, piece_id, hands, self._now())

    def hands(self, piece_id: str) -> dict[str, Hand]:
        """Return the hands that the pianist gave to notes, by note id."""
        with self._connections.reading() as connection:
            return pieces.hands(connection, piece_id)

    def set_view(self, piece_id: str, view: str) -> None:
        """Keep what the window wants to remember of a piece (place, zoom): text of its own."""
        with self._connections.writing() as connection:
            pieces.set_view(connection, piece_id, view)

    def view(self, piece_id: str) -> str:
        """Return what the window remembered of a piece, "" for nothing."""
        with self._connections.reading() as connection:
            return pieces.view(connection, piece_id)

    # The section map

    def save_section_map(self, piece_id: str, section_map: SectionMap) -> None:
        """Put a section map in force; earlier ones are kept."""
        with self._connections.writing() as connection:
            sections.save_section_map(connection, piece_id, section_map, self._now())

    def section_map(self, piece_id: str, version: int | None = None) -> SectionMap | None:
        """Return the section map in force, or an earlier version."""
        with self._connections.reading() as connection:
            return sections.section_map(connection, piece_id, version)

    def section_map_versions(self, piece_id: str) -> tuple[sections.SavedVersion, ...]:
        """Return all versions of a piece's section map, oldest first."""
        with self._connections.reading() as connection:
            return sections.section_map_versions(connection, piece_id)

    # Decisions about a piece, and what was done away from takes

    def document(self, piece_id: str, kind: str) -> str:
        """Return the document of a kind that is in force, "" when there is none."""
        with self._connections.reading() as connection:
            return documents.document(connection, piece_id, kind)

    def save_document(self, piece_id: str, kind: str, content: str) -> None:
        """Put a document in force; an empty one is removed."""
        with self._connections.writing() as connection:
            documents.save_document(connection, piece_id, kind, content, self._now())

    def add_entries(self, entries: Iterable[Entry]) -> None:
        """Add entries, all or none; one that is there already is left as it is."""
        several = tuple(entries)
        with self._connections.writing() as connection:
            documents.add_entries(connection, several)

    def entries_of(self, piece_id: str | None, kind: str) -> tuple[Entry, ...]:
        """Return the entries of a kind with a piece (None: with no piece), oldest first."""
        with self._connections.reading() as connection:
            return documents.entries_of(connection, piece_id, kind)

    def entries_of_kind(self, kind: str) -> tuple[Entry, ...]:
        """Return the entries of a kind with whichever piece, oldest first."""
        with self._connections.reading() as connection:
            return documents.entries_of_kind(connection, kind)

    # Takes

    def begin_take(self, take: Take) -> None:
        """Write the row of a take that is being played; see :mod:`companion.storage.journal`."""
        with self._connections.writing() as connection:
            takes.begin_take(connection, take)

    def write_chunk(self, take_id: str, chunk: int, events: Sequence[RawEvent]) -> None:
        """Write some events of a take that is being played."""
        with self._connections.writing() as connection:
            takes.write_chunk(connection, take_id, chunk, events)

    def save_take(self, take: Take) -> None:
        """Write a whole take with its events."""
        with self._connections.writing() as connection:
            takes.save_take(connection, take)

    def save_takes(self, several: Iterable[Take]) -> None:
        """Write whole takes, all or none of them."""
        complete = tuple(several)  # made before the file is held
        with self._connections.writing() as connection:
            for take in complete:
                takes.save_take(connection, take)
                if take.source is TakeSource.FILE and take.deleted_at is None:
                    # who imports a recording anew that was thrown away wants it back
                    words.note(connection, take.take_id, words.BIN, self._now())

    def recover_open_takes(self) -> tuple[Take, ...]:
        """Close the takes that were cut off with the program; call it before a take is begun."""
        with self._connections.writing() as connection:
            return takes.recover_open_takes(connection)

    def take(self, take_id: str) -> Take | None:
        """Return a take with its events, also one in the bin."""
        with self._connections.reading() as connection:
            return takes.take(connection, take_id)

    def takes_of(
        self, piece_id: str | None, *, in_bin: bool = False, newest: int | None = None
    ) -> tuple[Take, ...]:
        """Return the takes of a piece (None: of no piece) without events, newest first."""
        with self._connections.reading() as connection:
            return takes.takes_of(connection, piece_id, in_bin=in_bin, newest=newest)

    def takes_with_content(self, content_hash: str) -> tuple[Take, ...]:
        """Return the takes outside the bin with this fingerprint, with their events."""
        with self._connections.reading() as connection:
            return takes.takes_with_content(connection, content_hash)

    def playing_times(self, since: datetime) -> tuple[tuple[datetime, str, float], ...]:
        """Return beginning, zone and seconds of all takes of any piece since a moment."""
        with self._connections.reading() as connection:
            return takes.playing_times(connection, since)

    def take_ids(self) -> tuple[str, ...]:
        """Return the ids of all finished takes, of whichever piece, those in the bin included."""
        with self._connections.reading() as connection:
            return takes.take_ids(connection)

    def empty_bin(self, thrown_away_before: datetime) -> int:
        """Remove takes that were thrown away before a moment, for good; return how many."""
        with self._connections.writing() as connection:
            return takes.empty_bin(connection, thrown_away_before)

    # Results

    def save_results(self, several: Iterable[TakeResults]) -> None:
        """Keep what was worked out from takes; of takes that are gone meanwhile, nothing."""
        packed = [results.pack_results(worked_out) for worked_out in several]
        with self._connections.writing() as connection:
            for one in packed:
                results.write_results(connection, one)

    def section_results(
        self,
        piece_id: str,
        basis: str,
        stretches: Iterable[Stretch],
        since: datetime | None = None,
    ) -> tuple[SectionResult, ...]:
        """Return the rows of a piece for these stretches, oldest take first."""
        with self._connections.reading() as connection:
            return results.section_results(connection, piece_id, basis, stretches, since)

    def section_glances(
        self,
        piece_id: str,
        basis: str,
        stretches: Iterable[Stretch],
        since: datetime | None = None,
    ) -> tuple[SectionGlance, ...]:
        """Return what the section map is drawn from: as ``section_results``, but quick."""
        with self._connections.reading() as connection:
            return results.section_glances(connection, piece_id, basis, stretches, since)

    def played_stretches(
        self,
        piece_id: str,
        basis: str,
        stretches: Iterable[Stretch],
        day_starts_at_hour: int,
        before: date | None = None,
    ) -> dict[Stretch, PlayedStretch]:
        """Return the cold takes and the days of each of these stretches that was played.

        ``before`` leaves out what was played on that practice day or later.
        """
        with self._connections.reading() as connection:
            return attempts.played_stretches(
                connection, piece_id, basis, stretches, day_starts_at_hour, before
            )

    def touched_sections(
        self, piece_id: str, basis: str, stretches: Sequence[Stretch], day_starts_at_hour: int
    ) -> Touched:
        """Return which take touched which of these stretches."""
        with self._connections.reading() as connection:
            return attempts.touched_sections(
                connection, piece_id, basis, stretches, day_starts_at_hour
            )

    def measure_counts(
        self, piece_id: str, basis: str, since: datetime | None = None
    ) -> NDArray[np.int32]:
        """Return the counts per measure of all takes, for ``summaries.heat_strip``."""
        with self._connections.reading() as connection:
            return results.measure_counts(connection, piece_id, basis, since)

    def measure_counts_by_take(
        self, piece_id: str, basis: str, since: datetime | None = None
    ) -> dict[str, NDArray[np.int64]]:
        """Return the counts per measure of each take, by take id."""
        with self._connections.reading() as connection:
            return results.measure_counts_by_take(connection, piece_id, basis, since)

    def match_of(self, take_id: str, basis: str) -> Match | None:
        """Return the match of a take, None when it must be worked out."""
        with self._connections.reading() as connection:
            return results.match_of(connection, take_id, basis)

    def missing_stretches(
        self, piece_id: str, basis: str, stretches: Iterable[Stretch]
    ) -> dict[str, tuple[Stretch, ...]]:
        """Return what is still to be worked out for each take, newest take first."""
        with self._connections.reading() as connection:
            return results.missing_stretches(connection, piece_id, basis, stretches)

    def keep_only_stretches(self, piece_id: str, stretches: Iterable[Stretch]) -> None:
        """Forget the results of a piece's takes in all other stretches."""
        with self._connections.writing() as connection:
            results.keep_only_stretches(connection, piece_id, stretches)

    def forget_results(self, piece_id: str) -> None:
        """Throw away everything derived of a piece; it can be worked out again."""
        with self._connections.writing() as connection:
            results.forget_results(connection, piece_id)

    # Another history

    def merge(self, other: sqlite3.Connection, report: Report = no_report) -> Merged:
        """Bring in what a looked-through copy of another history keeps, all of it or nothing.

        See :func:`companion.practice.merging.merge_history`.
        """
        with self._connections.writing() as connection:
            return merge.merge_into(connection, other, report)

    # Edits

    def apply(self, edit: AnyEdit) -> None:
        """Carry out an edit, all of it or nothing."""
        with self._connections.writing() as connection:
            edited.carry_out(connection, edit, self._now())

    # Care of the file: from a thread that may wait

    def tidy(self) -> None:
        """Move what was written lately from the log beside the file into the file.

        Writing never does it by itself, because it may wait for the disk.
        """
        self._connections.move_log_into_file()

    def back_up(self, today: date) -> Path | None:
        """Make the copy of the day if it is missing: after the start, in any thread."""
        with self._connections.at_work():
            return backups.back_up(self.path, today)
