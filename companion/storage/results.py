"""What was worked out from takes: matches, section results, counts per measure.

All of it is derived. A take's results stand on one *basis* at a time; saving them on another basis
replaces them. Within a basis, results of further stretches are added, and those of stretches that
are no section any more stay until they are forgotten, so that undoing an edit finds them again.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from operator import attrgetter
from typing import TYPE_CHECKING, Any

from companion.history.results import (
    FIGURES,
    SectionGlance,
    SectionResult,
    Stretch,
    TakeResults,
)
from companion.history.summaries import COUNTS_OF_A_MEASURE
from companion.listening.measuring.take_measures import MeasureErrors
from companion.listening.notes import Hands, Match
from companion.storage.attempts import forget_attempts, pack_attempts, write_attempts
from companion.storage.match_packing import pack_match, unpack_match
from companion.storage.moments import moment_to_text, text_to_moment

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_COUNT = "<i4"  # numpy is imported where it is used: the window opens sooner without it

_FIGURE_COLUMNS = ", ".join(f'"{name}"' for name in FIGURES)  # "right" is a word of SQL
_figures_of = attrgetter(*FIGURES)


@dataclass(frozen=True, slots=True)
class PackedResults:
    """Results as they will be written.

    Packing takes longer than writing, so it is done before the file is held.
    """

    take_id: str
    basis: str
    keys: frozenset[str]
    measures: bytes
    match: bytes | None
    rows: tuple[tuple[object, ...], ...]
    attempts: bytes


def pack_results(results: TakeResults) -> PackedResults:
    """Make results ready to be written."""
    return PackedResults(
        take_id=results.take_id,
        basis=results.basis,
        keys=frozenset(stretch.key for stretch in results.stretches),
        measures=_pack_measures(results.measures),
        match=pack_match(results.match) if results.match is not None else None,
        rows=tuple(
            (row.take_id, row.stretch.key, row.hands.value, *_figures_of(row))
            for row in results.sections
        ),
        attempts=pack_attempts(results.attempts),
    )


def write_results(connection: sqlite3.Connection, packed: PackedResults) -> bool:
    """Keep what was worked out from one take.

    Results with a match replace all earlier ones of the take; those without are added to results
    on the same basis.

    Returns
    -------
    bool
        False when the world has moved on while they were worked out and nothing was written: the
        take is gone, or its results stand on another basis by now.
    """
    written = (
        _add_stretches(connection, packed) if packed.match is None else _replace(connection, packed)
    )
    if written:
        connection.executemany(
            f"""
            INSERT OR REPLACE INTO section_results (take_id, stretch, hands, {_FIGURE_COLUMNS})
            VALUES (?, ?, ?{", ?" * len(FIGURES)})
            """,
            packed.rows,
        )
        write_attempts(
            connection,
            packed.take_id,
            packed.basis,
            packed.attempts,
            beside=packed.match is None,
        )
    return written


def _replace(connection: sqlite3.Connection, packed: PackedResults) -> bool:
    connection.execute("DELETE FROM section_results WHERE take_id = ?", (packed.take_id,))
    cursor = connection.execute(
        """
        INSERT OR REPLACE INTO take_results (take_id, basis, stretches, measures, match)
        SELECT take_id, ?, ?, ?, ? FROM takes WHERE take_id = ?
        """,
        (
            packed.basis,
            _keys_to_text(packed.keys),
            packed.measures,
            packed.match,
            packed.take_id,
        ),
    )
    return cursor.rowcount > 0


def _add_stretches(connection: sqlite3.Connection, packed: PackedResults) -> bool:
    row = connection.execute(
        "SELECT stretches FROM take_results WHERE take_id = ? AND basis = ?",
        (packed.take_id, packed.basis),
    ).fetchone()
    if row is None:
        return False
    connection.execute(
        "UPDATE take_results SET stretches = ? WHERE take_id = ?",
        (_keys_to_text(_text_to_keys(row[0]) | packed.keys), packed.take_id),
    )
    return True


def section_results(
    connection: sqlite3.Connection,
    piece_id: str,
    basis: str,
    stretches: Iterable[Stretch],
    since: datetime | None = None,
) -> tuple[SectionResult, ...]:
    """Return the rows of a piece's takes for the stretches that are asked for, oldest first.

    ``since`` leaves out takes that began before that moment.
    """
    by_key = {stretch.key: stretch for stretch in stretches}
    rows = connection.execute(
        f"""
        SELECT take_id, stretch, started_at, zone, hands, {_FIGURE_COLUMNS}
        FROM takes JOIN take_results USING (take_id) JOIN section_results USING (take_id)
        WHERE piece_id = ? AND deleted_at IS NULL AND basis = ? AND started_at >= ?
        ORDER BY started_at
        """,
        (piece_id, basis, _from(since)),
    )
    return tuple(_section_result(row, by_key[row[1]]) for row in rows if row[1] in by_key)


def _section_result(row: Sequence[Any], stretch: Stretch) -> SectionResult:
    take_id, _, started_at, zone, hands, *figures = row
    values: dict[str, Any] = dict(zip(FIGURES, figures, strict=True))
    values["complete"] = bool(values["complete"])
    return SectionResult(
        take_id=take_id,
        stretch=stretch,
        started_at=text_to_moment(started_at),
        zone=zone,
        hands=Hands(hands),
        **values,
    )


def section_glances(
    connection: sqlite3.Connection,
    piece_id: str,
    basis: str,
    stretches: Iterable[Stretch],
    since: datetime | None = None,
) -> tuple[SectionGlance, ...]:
    """Return what the section map is drawn from: as :func:`section_results`, but quick."""
    by_key = {stretch.key: stretch for stretch in stretches}
    hands_named = {hands.value: hands for hands in Hands}
    moments: dict[str, datetime] = {}
    rows = connection.execute(
        """
        SELECT take_id, stretch, started_at, zone, hands,
            complete, accuracy, running_tempo_quarters_per_minute, stops
        FROM takes JOIN take_results USING (take_id) JOIN section_results USING (take_id)
        WHERE piece_id = ? AND deleted_at IS NULL AND basis = ? AND started_at >= ?
        ORDER BY started_at
        """,
        (piece_id, basis, _from(since)),
    )
    glances = []
    for take_id, key, started_at, zone, hands, complete, accuracy, tempo, stops in rows:
        stretch = by_key.get(key)
        if stretch is None:
            continue
        moment = moments.get(started_at)
        if moment is None:
            moment = moments[started_at] = text_to_moment(started_at)
        glances.append(
            SectionGlance(
                take_id,
                stretch,
                moment,
                zone,
                hands_named[hands],
                bool(complete),
                accuracy,
                tempo,
                stops,
            )
        )
    return tuple(glances)


def measure_counts(
    connection: sqlite3.Connection, piece_id: str, basis: str, since: datetime | None = None
) -> NDArray[np.int32]:
    """Return the counts per measure of a piece's takes, for ``summaries.heat_strip``."""
    import numpy as np

    rows = connection.execute(
        """
        SELECT measures FROM takes JOIN take_results USING (take_id)
        WHERE piece_id = ? AND deleted_at IS NULL AND basis = ? AND started_at >= ?
        """,
        (piece_id, basis, _from(since)),
    )
    packed = b"".join(measures for (measures,) in rows)
    counts = np.frombuffer(packed, dtype=_COUNT)
    return counts.reshape(-1, len(COUNTS_OF_A_MEASURE))


def measure_counts_by_take(
    connection: sqlite3.Connection, piece_id: str, basis: str, since: datetime | None = None
) -> dict[str, NDArray[np.int64]]:
    """Return the counts per measure of each take of a piece, by take id."""
    import numpy as np

    rows = connection.execute(
        """
        SELECT take_id, measures FROM takes JOIN take_results USING (take_id)
        WHERE piece_id = ? AND deleted_at IS NULL AND basis = ? AND started_at >= ?
        """,
        (piece_id, basis, _from(since)),
    )
    return {
        take_id: np.frombuffer(measures, dtype=_COUNT)
        .astype(np.int64)
        .reshape(-1, len(COUNTS_OF_A_MEASURE))
        for take_id, measures in rows
    }


def match_of(connection: sqlite3.Connection, take_id: str, basis: str) -> Match | None:
    """Return the match of a take on this basis, None when it must be worked out."""
    row = connection.execute(
        "SELECT match FROM take_results WHERE take_id = ? AND basis = ?", (take_id, basis)
    ).fetchone()
    return unpack_match(row[0]) if row else None


def missing_stretches(
    connection: sqlite3.Connection, piece_id: str, basis: str, stretches: Iterable[Stretch]
) -> dict[str, tuple[Stretch, ...]]:
    """Return what is still to be worked out for each take of a piece, newest take first.

    Takes with nothing to do are left out; a take without results on this basis has them all to do.
    """
    wanted = tuple(stretches)
    rows = connection.execute(
        """
        SELECT takes.take_id, stretches
        FROM takes LEFT JOIN take_results
            ON take_results.take_id = takes.take_id AND basis = ?
        WHERE piece_id = ? AND state = 'closed' AND deleted_at IS NULL
        ORDER BY started_at DESC
        """,
        (basis, piece_id),
    )
    missing_from: dict[str | None, tuple[Stretch, ...]] = {None: wanted}
    to_do = {}
    for take_id, done in rows:
        if done not in missing_from:  # few different lists: nearly all takes share one
            keys = _text_to_keys(done)
            missing_from[done] = tuple(s for s in wanted if s.key not in keys)
        if done is None or missing_from[done]:
            to_do[take_id] = missing_from[done]
    return to_do


def keep_only_stretches(
    connection: sqlite3.Connection, piece_id: str, stretches: Iterable[Stretch]
) -> None:
    """Forget the results of a piece's takes in all other stretches: borders of long ago."""
    kept = {stretch.key for stretch in stretches}
    lists = connection.execute(
        """
        SELECT DISTINCT stretches FROM take_results JOIN takes USING (take_id) WHERE piece_id = ?
        """,
        (piece_id,),
    ).fetchall()
    for (text,) in lists:
        keys = _text_to_keys(text)
        if keys <= kept:
            continue
        takes_with_it = (
            "SELECT take_id FROM take_results JOIN takes USING (take_id)"
            " WHERE piece_id = ? AND stretches = ?"
        )
        for key in sorted(keys - kept):
            connection.execute(
                f"DELETE FROM section_results WHERE stretch = ? AND take_id IN ({takes_with_it})",
                (key, piece_id, text),
            )
        take_ids = connection.execute(takes_with_it, (piece_id, text)).fetchall()
        forget_attempts(connection, (take_id for (take_id,) in take_ids), keys - kept)
        connection.execute(
            f"UPDATE take_results SET stretches = ? WHERE take_id IN ({takes_with_it})",
            (_keys_to_text(keys & kept), piece_id, text),
        )


def forget_results(connection: sqlite3.Connection, piece_id: str) -> None:
    """Throw away everything derived of a piece; it can be worked out again."""
    for table in ("attempts", "section_results", "take_results"):
        connection.execute(
            f"DELETE FROM {table} WHERE take_id IN (SELECT take_id FROM takes WHERE piece_id = ?)",
            (piece_id,),
        )


def _from(since: datetime | None) -> str:
    return moment_to_text(since) if since is not None else ""  # sorts before every moment


def _pack_measures(measures: Iterable[MeasureErrors]) -> bytes:
    import numpy as np

    table = [[getattr(row, name) for name in COUNTS_OF_A_MEASURE] for row in measures]
    return np.array(table, dtype=_COUNT).tobytes()


def _keys_to_text(keys: Iterable[str]) -> str:
    return " ".join(sorted(keys))


def _text_to_keys(text: str) -> set[str]:
    return set(text.split())
