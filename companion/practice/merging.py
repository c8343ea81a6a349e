"""Merging the history of another machine, or a copy of one, into the open history.

The pianist takes the history file (or one of its copies) from the studio home on whatever carries
it. The open history gains what it lacks, whichever way round and however often that is done; the
other file is only read. What was derived from takes is worked out again afterwards.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from companion.errors import EditRefused
from companion.history.spots import SPOTS
from companion.practice.history_care import is_stand_in
from companion.practice.packets.document import DOCUMENT_KINDS
from companion.practice.planning.document import PLAN
from companion.progress import Report, no_report
from companion.storage.backups import backup_folder, copy_soundly
from companion.storage.merging.other_history import other_history

if TYPE_CHECKING:
    from companion.storage.history_file import HistoryFile
    from companion.storage.merging.outcome import Merged

COPIES_KEPT = 3
"""So many of the copies that are made before merging are kept."""

_BEFORE = "before-merging"


@dataclass(frozen=True, slots=True, kw_only=True)
class MergedHistory:
    """What came of merging: the figures, and where the history as it was before lies."""

    merged: Merged
    copy_before: Path

    @property
    def is_news(self) -> bool:
        """Whether anything of this history is another than before."""
        merged = self.merged
        return bool(
            merged.new_takes
            or merged.new_pieces
            or merged.new_entries
            or merged.doubles
            or merged.thrown_away
            or merged.pieces_renamed
            or merged.maps_replaced
            or merged.documents_replaced
        )

    @property
    def sentences(self) -> tuple[str, ...]:
        """What to tell the pianist."""
        merged = self.merged
        if not self.is_news:
            return ("There was nothing new in the other history.",)
        told = [_counted(merged)]
        if merged.doubles:
            told.append(
                "A recording that was in both is kept once."
                if merged.doubles == 1
                else f"{merged.doubles} recordings that were in both are kept once."
            )
        if merged.thrown_away:
            told.append(
                "A take that was thrown away there is in the bin here."
                if merged.thrown_away == 1
                else f"{merged.thrown_away} takes that were thrown away there are in the bin here."
            )
        told += [
            f"“{replaced.title}” has the sections of the other machine now, which were changed "
            "later; yours are kept as an earlier version."
            for replaced in merged.maps_replaced
            if replaced.was_worked_on
        ]
        told += [
            f"“{title}” has {kinds} of the other machine now; yours are kept in the history."
            for title, kinds in _by_title(merged)
        ]
        return tuple(told)


def _counted(merged: Merged) -> str:
    found = [
        _so_many(merged.new_takes, "take", "takes"),
        _so_many(merged.new_pieces, "piece", "pieces"),
        _so_many(merged.new_entries, "entry", "entries"),
    ]
    there = [words for words in found if words]
    if not there:
        return "Nothing new was played on the other machine."
    listed = there[0] if len(there) == 1 else f"{', '.join(there[:-1])} and {there[-1]}"
    return f"{listed} came from the other history."


def _so_many(count: int, one: str, several: str) -> str:
    if not count:
        return ""
    return f"1 {one}" if count == 1 else f"{count} {several}"


def _by_title(merged: Merged) -> list[tuple[str, str]]:
    kinds: dict[str, list[str]] = {}
    told = {**DOCUMENT_KINDS, PLAN: "choices for the plan", SPOTS: "marked spots"}
    for replaced in merged.documents_replaced:
        if replaced.kind in told:  # others are of the program's own making
            kinds.setdefault(replaced.title, []).append(told[replaced.kind])
    return [(title, ", ".join(sorted(names))) for title, names in kinds.items()]


def merge_history(
    history: HistoryFile,
    other: Path,
    scratch_folder: Path,
    *,
    now: datetime | None = None,
    report: Report = no_report,
) -> MergedHistory:
    """Merge another history file, or a copy of one, into the open history.

    All or nothing: before it a copy of the history is put beside its other copies, and a file that
    cannot be used, or a cancelled merge, leaves the history as it was.

    Parameters
    ----------
    scratch_folder
        Where a copy of the other file is put meanwhile: the cache folder.

    Raises
    ------
    HistoryNotMerged
        The other file is missing, damaged, hostile, or was written by a newer program.
    EditRefused
        The two do not belong together, or something is being played just now.
    HistoryUnavailable
        The open history cannot be written.
    """
    if is_stand_in(history.path, scratch_folder):
        raise EditRefused(
            "Your own history cannot be written at present, so another one cannot be merged into "
            "it. Nothing was changed."
        )
    moment = now or datetime.now(UTC)
    with other_history(other, scratch_folder, report) as connection:
        folder = backup_folder(history.path)
        copy = folder / f"{history.path.stem}-{_BEFORE}-{moment:%Y-%m-%d-%H%M%S}.sqlite3"
        copy_soundly(history.path, copy)
        merged = history.merge(connection, report)
        history.tidy()
    _thin_out(folder, history.path.stem)
    return MergedHistory(merged=merged, copy_before=copy)


def _thin_out(folder: Path, stem: str) -> None:
    copies = sorted(folder.glob(f"{stem}-{_BEFORE}-*.sqlite3"), reverse=True)
    for old in copies[COPIES_KEPT:]:
        old.unlink(missing_ok=True)
