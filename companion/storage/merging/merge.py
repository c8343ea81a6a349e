"""Merging: every table in its turn, inside one transaction of the history that is open."""

from __future__ import annotations

import sqlite3

from companion.errors import EditRefused
from companion.progress import Progress, Report, no_report
from companion.storage import words
from companion.storage.merging.outcome import Merged
from companion.storage.merging.pieces import (
    Documents,
    Maps,
    homes_of,
    merge_documents,
    merge_entries,
    merge_maps,
    merge_pieces,
    merge_score_files,
    read_documents,
    read_maps,
    read_pieces,
)
from companion.storage.merging.said import Said, read_words, union, write_words
from companion.storage.merging.takes import (
    TakeRow,
    joined,
    one_of_each_recording,
    read_takes,
    write_takes,
)

_DOING = "Merging the two histories"


def merge_into(
    connection: sqlite3.Connection, other: sqlite3.Connection, report: Report = no_report
) -> Merged:
    """Bring everything that another history keeps into this one.

    Parameters
    ----------
    connection
        The history that is open, inside a transaction.
    other
        A looked-through copy of the other one (:mod:`companion.storage.merging.other_history`).
    report
        May raise :class:`companion.errors.Cancelled`; the transaction must then be taken back.

    Raises
    ------
    EditRefused
        The two do not belong together, or something is being played just now.
    """
    if connection.execute("SELECT 1 FROM takes WHERE state = 'open' LIMIT 1").fetchone():
        raise EditRefused(
            "Something is being played just now. Merge the histories when the take is over."
        )
    said_by_us, said_by_them = read_words(connection), read_words(other)
    our_pieces, their_pieces = read_pieces(connection), read_pieces(other)
    homes = homes_of(our_pieces, their_pieces)
    report(Progress(done=0, total=0, doing=_DOING))

    our_maps: Maps = {}
    maps: Maps = {}
    read_maps(connection, homes, our_maps)
    read_maps(connection, homes, maps)
    read_maps(other, homes, maps)
    our_documents: Documents = {}
    documents: Documents = {}
    read_documents(connection, homes, said_by_us, our_documents)
    read_documents(connection, homes, said_by_us, documents)
    read_documents(other, homes, said_by_them, documents)
    ours = read_takes(connection, homes, said_by_us, from_other=False)
    theirs = read_takes(other, homes, said_by_them, from_other=True)
    together = joined(ours, theirs, gone=_gone(ours, said_by_us) | _gone(theirs, said_by_them))
    staying, take_homes = one_of_each_recording(together, connection, other)
    report(Progress(done=0, total=0, doing=_DOING))

    merge_pieces(connection, our_pieces, their_pieces, said_by_us, said_by_them, homes)
    titles = {row.piece_id: row.title for row in read_pieces(connection)}
    merge_score_files(connection, other)
    maps_replaced = merge_maps(connection, our_maps, maps, titles)
    documents_replaced = merge_documents(connection, our_documents, documents, titles)
    new_entries = merge_entries(connection, other, homes)
    for done, _ in enumerate(write_takes(connection, other, ours, staying)):
        if done % 50 == 0:
            report(Progress(done=done, total=len(theirs), doing=_DOING))
    write_words(connection, union(said_by_us, said_by_them, homes=homes | take_homes))
    known = {row.piece_id for row in our_pieces}
    return Merged(
        new_takes=len(staying.keys() - ours.keys() - _stand_for(ours, take_homes)),
        new_pieces=len(
            {homes[row.piece_id] for row in their_pieces} - {homes[one] for one in known}
        ),
        new_entries=new_entries,
        doubles=len(take_homes),
        thrown_away=sum(
            not row.thrown_away.filled and staying[take_id].thrown_away.filled
            for take_id, row in ours.items()
            if take_id in staying
        ),
        pieces_renamed={one: homes[one] for one in known if homes[one] != one},
        maps_replaced=tuple(maps_replaced),
        documents_replaced=tuple(documents_replaced),
    )


def _gone(takes: dict[str, TakeRow], said: Said) -> dict[str, str]:
    """When the takes were thrown away that a history does not hold any more."""
    return {
        subject: said_at
        for (subject, field), said_at in said.items()
        if field == words.BIN and subject not in takes
    }


def _stand_for(ours: dict[str, TakeRow], take_homes: dict[str, str]) -> set[str]:
    """Takes that stay in the place of takes of ours, because they hold the same recording."""
    return {home for take_id, home in take_homes.items() if take_id in ours}
