"""Merging the shelf: pieces, their scores, section maps, documents and entries."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from companion.errors import EditRefused
from companion.storage import words
from companion.storage.merging.outcome import DocumentReplaced, MapReplaced
from companion.storage.merging.rules import MapVersion, Word, in_order, latest
from companion.storage.merging.said import Said

SET_ASIDE = "document set aside by merging"
"""Kind of the entries that keep a document which another one took the place of."""

_COLUMNS = (
    "piece_id, title, composer, score_hash, score_path, part, performance_date, added_at,"
    " opened_at, removed_at, hands, view"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceRow:
    """A row of the shelf as it is stored."""

    piece_id: str
    title: str
    composer: str
    score_hash: str
    score_path: str
    part: str
    performance_date: str | None
    added_at: str
    opened_at: str | None
    removed_at: str | None
    hands: str
    view: str


def read_pieces(connection: sqlite3.Connection) -> list[PieceRow]:
    """Return the whole shelf, with the pieces that were taken off it."""
    names = _COLUMNS.replace(" ", "").split(",")
    return [
        PieceRow(**dict(zip(names, row, strict=True)))
        for row in connection.execute(f"SELECT {_COLUMNS} FROM pieces ORDER BY piece_id")
    ]


def homes_of(ours: Iterable[PieceRow], theirs: Iterable[PieceRow]) -> dict[str, str]:
    """Return the id under which each piece stands from now on.

    Raises
    ------
    EditRefused
        One id means different scores in the two histories: they do not belong to one person.
    """
    of_score: dict[tuple[str, str], set[str]] = defaultdict(set)
    score_of: dict[str, tuple[str, str]] = {}
    for row in (*ours, *theirs):
        score = (row.score_hash, row.part)
        if score_of.setdefault(row.piece_id, score) != score:
            raise EditRefused(
                f"“{row.title}” has another score in the other history, although it is the same "
                "piece there. The two histories were not merged, and nothing was changed."
            )
        of_score[score].add(row.piece_id)
    return {piece_id: min(ids) for ids in of_score.values() for piece_id in ids}


def merge_pieces(
    connection: sqlite3.Connection,
    ours: list[PieceRow],
    theirs: list[PieceRow],
    said_by_us: Said,
    said_by_them: Said,
    homes: Mapping[str, str],
) -> None:
    """Write the merged shelf, and file everything of ours under the ids that hold from now on."""
    groups: dict[str, list[tuple[PieceRow, Said]]] = defaultdict(list)
    for row in ours:
        groups[homes[row.piece_id]].append((row, said_by_us))
    of_ours = {home: len(rows) for home, rows in groups.items()}
    for row in theirs:
        groups[homes[row.piece_id]].append((row, said_by_them))
    places = ", ".join("?" * len(_COLUMNS.split(",")))
    updates = ", ".join(
        f"{name} = excluded.{name}" for name in _COLUMNS.replace(" ", "").split(",")[1:]
    )
    for home, rows in groups.items():
        merged = _merged(home, rows, rows[: of_ours.get(home, 0)] or rows)
        connection.execute(
            f"INSERT INTO pieces ({_COLUMNS}) VALUES ({places})"
            f" ON CONFLICT (piece_id) DO UPDATE SET {updates}",
            merged,
        )
    for row in ours:
        home = homes[row.piece_id]
        if home != row.piece_id:
            _move_to(connection, row.piece_id, home)


def _merged(
    home: str, rows: list[tuple[PieceRow, Said]], local: list[tuple[PieceRow, Said]]
) -> tuple[str | None, ...]:
    titled = max((row.opened_at or "", row.title, row.composer) for row, _ in rows)
    here = max((row for row, _ in local), key=lambda row: (row.opened_at or "", row.piece_id))
    shelf = latest(
        *(
            Word.of(
                max(said.get((row.piece_id, words.SHELF), ""), row.removed_at or ""),
                row.removed_at,
            )
            for row, said in rows
        )
    )
    day = latest(
        *(Word.of(said.get((row.piece_id, words.DATE)), row.performance_date) for row, said in rows)
    )
    hands = latest(
        *(
            Word.of(said.get((row.piece_id, words.HANDS)), "" if row.hands == "{}" else row.hands)
            for row, said in rows
        )
    )
    return (
        home,
        titled[1],
        titled[2],
        here.score_hash,
        here.score_path,
        here.part,
        day.or_none,
        min(row.added_at for row, _ in rows),
        titled[0] or None,
        shelf.or_none,
        hands.value or "{}",
        here.view,
    )


def _move_to(connection: sqlite3.Connection, piece_id: str, home: str) -> None:
    for table in ("takes", "entries"):
        connection.execute(f"UPDATE {table} SET piece_id = ? WHERE piece_id = ?", (home, piece_id))
    for table in ("section_maps", "piece_documents"):  # both were read, and are written anew
        connection.execute(f"DELETE FROM {table} WHERE piece_id = ?", (piece_id,))
    connection.execute("DELETE FROM pieces WHERE piece_id = ?", (piece_id,))


def merge_score_files(connection: sqlite3.Connection, other: sqlite3.Connection) -> None:
    """Add the scores that are new; of one score under two names the lesser name is kept."""
    known = dict(connection.execute("SELECT score_hash, file_name FROM score_files"))
    for score_hash, file_name in other.execute(
        "SELECT score_hash, file_name FROM score_files"
    ).fetchall():
        if score_hash in known:
            if file_name < known[score_hash]:
                connection.execute(
                    "UPDATE score_files SET file_name = ? WHERE score_hash = ?",
                    (file_name, score_hash),
                )
            continue
        (content,) = other.execute(
            "SELECT content FROM score_files WHERE score_hash = ?", (score_hash,)
        ).fetchone()
        connection.execute(
            "INSERT INTO score_files (score_hash, file_name, content) VALUES (?, ?, ?)",
            (score_hash, file_name, content),
        )


@dataclass(slots=True)
class _Maps:
    versions: set[MapVersion]
    in_force: list[MapVersion]


Maps = dict[str, _Maps]


def read_maps(connection: sqlite3.Connection, homes: Mapping[str, str], into: Maps) -> None:
    """Add the section maps of one history; the last of each piece was in force there."""
    last: dict[str, MapVersion] = {}
    for piece_id, saved_at, content in connection.execute(
        "SELECT piece_id, saved_at, content FROM section_maps ORDER BY piece_id, version"
    ):
        version = MapVersion.of(saved_at, content)
        into.setdefault(homes[piece_id], _Maps(set(), [])).versions.add(version)
        last[piece_id] = version
    for piece_id, version in last.items():
        into[homes[piece_id]].in_force.append(version)


def merge_maps(
    connection: sqlite3.Connection, ours: Maps, both: Maps, titles: Mapping[str, str]
) -> list[MapReplaced]:
    """Write the versions of all maps; return the maps of ours that another took the place of."""
    replaced = []
    connection.execute("DELETE FROM section_maps")
    for piece_id, maps in both.items():
        in_force = max(maps.in_force)
        for number, version in enumerate(in_order(maps.versions, in_force), 1):
            connection.execute(
                "INSERT INTO section_maps (piece_id, version, saved_at, content)"
                " VALUES (?, ?, ?, ?)",
                (piece_id, number, version.saved_at, version.content),
            )
        before = max(ours[piece_id].in_force) if piece_id in ours else None
        if before is not None and before.content != in_force.content:
            replaced.append(
                MapReplaced(
                    piece_id=piece_id,
                    title=titles[piece_id],
                    content_before=before.content,
                    was_worked_on=before.worked_on,
                )
            )
    return replaced


Documents = dict[tuple[str, str], set[Word]]


def read_documents(
    connection: sqlite3.Connection, homes: Mapping[str, str], said: Said, into: Documents
) -> None:
    """Add the documents of one history, and its word that one was removed."""
    there = set()
    for piece_id, kind, changed_at, content in connection.execute(
        "SELECT piece_id, kind, changed_at, content FROM piece_documents"
    ):
        there.add((piece_id, words.of_document(kind)))
        into.setdefault((homes[piece_id], kind), set()).add(Word.of(changed_at, content))
    start = words.of_document("")
    for (piece_id, field), said_at in said.items():
        if field.startswith(start) and piece_id in homes and (piece_id, field) not in there:
            kind = field.removeprefix(start)
            into.setdefault((homes[piece_id], kind), set()).add(Word.of(said_at, ""))


def merge_documents(
    connection: sqlite3.Connection,
    ours: Documents,
    documents: Documents,
    titles: Mapping[str, str],
) -> list[DocumentReplaced]:
    """Write the later document of each kind, and keep the others as entries.

    Returns the documents of ours that another one took the place of.
    """
    replaced = []
    connection.execute("DELETE FROM piece_documents")
    for (piece_id, kind), candidates in documents.items():
        in_force = latest(*candidates)
        if in_force.filled:
            connection.execute(
                "INSERT INTO piece_documents (piece_id, kind, changed_at, content)"
                " VALUES (?, ?, ?, ?)",
                (piece_id, kind, in_force.said_at, in_force.value),
            )
        for lost in candidates - {in_force}:
            if lost.filled:
                _set_aside(connection, piece_id, kind, lost)
        before = latest(*ours.get((piece_id, kind), {in_force}))
        if before.filled and before.value != in_force.value:
            replaced.append(DocumentReplaced(piece_id=piece_id, title=titles[piece_id], kind=kind))
    return replaced


def _set_aside(connection: sqlite3.Connection, piece_id: str, kind: str, lost: Word) -> None:
    name = hashlib.sha256("\0".join((kind, lost.said_at, lost.value)).encode()).hexdigest()
    connection.execute(
        """
        INSERT INTO entries (entry_id, piece_id, kind, happened_at, zone, content)
        VALUES (?, ?, ?, ?, 'UTC', ?) ON CONFLICT (entry_id) DO NOTHING
        """,
        (
            name[:32],
            piece_id,
            SET_ASIDE,
            lost.said_at,
            json.dumps({"kind": kind, "content": lost.value}, ensure_ascii=False),
        ),
    )


def merge_entries(
    connection: sqlite3.Connection, other: sqlite3.Connection, homes: Mapping[str, str]
) -> int:
    """Add the entries that are new; return how many they are."""
    new = 0
    for entry_id, piece_id, *rest in other.execute(
        "SELECT entry_id, piece_id, kind, happened_at, zone, content FROM entries"
    ):
        cursor = connection.execute(
            """
            INSERT INTO entries (entry_id, piece_id, kind, happened_at, zone, content)
            VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT (entry_id) DO NOTHING
            """,
            (entry_id, None if piece_id is None else homes[piece_id], *rest),
        )
        new += cursor.rowcount
    return new
