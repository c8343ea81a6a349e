"""Merging histories: in any order, any number of times, nothing lost and nothing doubled.

A merge is right when it is the join of a semilattice: idempotent, commutative, associative (see
Shapiro et al. 2011, "Conflict-free replicated data types", sec. 3, state-based objects). Histories
are made by what a pianist does, on machines that know nothing of each other.
"""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from datetime import date, timedelta

import hypothesis
from hypothesis import strategies as st

from companion.history import edits
from companion.history.fingerprints import fingerprint
from companion.history.model import RawEvent, TakeSource
from companion.score.model import Hand
from companion.storage import documents, pieces, sections, takes, words
from companion.storage.edited import carry_out
from companion.storage.merging.merge import merge_into
from companion.storage.migrations import migrate
from tests.unit.storage.history_examples import (
    MOMENT,
    a_piece,
    a_section_map,
    a_take,
    an_entry,
    some_events,
)

KEPT = {
    "pieces": "piece_id, title, composer, score_hash, part, performance_date, added_at, opened_at,"
    " removed_at, hands",
    "score_files": "*",
    "section_maps": "*",
    "takes": "*",
    "take_events": "*",
    "piece_documents": "*",
    "entries": "*",
    "words": "*",
}
"""Everything that is kept but what is about one machine only (path of the score, view)."""

PIECES = {  # two machines give the same score different ids
    "mill at home": "mill",
    "mill in the studio": "mill",
    "barge": "barge",
}


def shifted(events, seconds):
    """The same playing as a file brings it back: strokes moved by less than a tick."""
    return tuple(
        RawEvent(event.at_seconds + seconds * (number % 2), event.message)
        for number, event in enumerate(events)
    )


def recordings():
    """Takes by id: two of the piano, one of them exported and imported twice, and another."""
    evening, morning = some_events(4), some_events(5, first_key=50)
    made = {
        "evening": a_take("evening", events=evening),
        "evening again": a_take(
            "evening again", minutes=3, events=shifted(evening, 0.0004), source=TakeSource.FILE
        ),
        "evening once more": a_take(
            "evening once more", minutes=9, events=shifted(evening, -0.0003), source=TakeSource.FILE
        ),
        "morning": a_take("morning", minutes=600, events=morning),
    }
    made["morning"] = replace(made["morning"], from_memory=True)
    return {
        take_id: replace(take, content_hash=fingerprint(take.events), piece_id=None)
        for take_id, take in made.items()
    }


TAKES = recordings()
TITLES = st.sampled_from(["", "Rain on the mill", "The barge"])
WORDS = st.sampled_from(["", "slower", "left hand alone"])

TAKEN = st.tuples(st.just("take"), st.sampled_from(sorted(TAKES)), st.sampled_from(sorted(PIECES)))
DEEDS = st.one_of(
    TAKEN,
    TAKEN,
    st.tuples(st.just("piece"), st.sampled_from(sorted(PIECES)), TITLES),
    TAKEN,
    st.tuples(st.just("delete"), st.sampled_from(sorted(TAKES))),
    st.tuples(st.just("restore"), st.sampled_from(sorted(TAKES))),
    st.tuples(st.just("empty bin"), st.integers(0, 5)),
    st.tuples(st.just("rename"), st.sampled_from(sorted(TAKES)), WORDS),
    st.tuples(st.just("annotate"), st.sampled_from(sorted(TAKES)), WORDS),
    st.tuples(st.just("memory"), st.sampled_from(sorted(TAKES)), st.booleans()),
    st.tuples(st.just("move"), st.sampled_from(sorted(TAKES)), st.sampled_from(sorted(PIECES))),
    st.tuples(st.just("map"), st.sampled_from(sorted(PIECES)), st.integers(2, 4)),
    st.tuples(st.just("document"), st.sampled_from(sorted(PIECES)), WORDS),
    st.tuples(st.just("date"), st.sampled_from(sorted(PIECES)), st.integers(0, 3)),
    st.tuples(st.just("hands"), st.sampled_from(sorted(PIECES)), st.sampled_from(list(Hand))),
    st.tuples(st.just("off shelf"), st.sampled_from(sorted(PIECES))),
    st.tuples(st.just("entry"), st.sampled_from(sorted(PIECES)), st.integers(0, 3)),
)
HISTORIES = st.lists(st.tuples(st.integers(0, 20), DEEDS), max_size=14)


BIN_DEEDS = st.one_of(
    st.just(("take", "morning", "barge")),
    st.just(("delete", "morning")),
    st.just(("restore", "morning")),
    st.tuples(st.just("empty bin"), st.integers(0, 20)),
    st.tuples(st.just("rename"), st.just("morning"), WORDS),
    st.tuples(st.just("memory"), st.just("morning"), st.booleans()),
)
BIN_HISTORIES = st.lists(st.tuples(st.integers(0, 20), BIN_DEEDS), max_size=8)
"""One take that goes into the bin and out of it, on several machines."""


def history_of(deeds):
    """Return a history in which some things were done, at some hours after the first moment."""
    connection = sqlite3.connect(":memory:", isolation_level=None)
    migrate(connection)
    connection.execute("PRAGMA foreign_keys = ON")
    for hour, deed in sorted(deeds, key=lambda dated: dated[0]):
        _do(connection, MOMENT + timedelta(hours=hour), *deed)
    return connection


def _do(connection, now, deed, name, what=None):
    if name in PIECES:
        known = pieces.piece_with_score(connection, PIECES[name], "")
        if known is None:
            known = a_piece(name, score_hash=PIECES[name])
            pieces.save_piece(connection, known, now)
        name = known.piece_id  # a machine has one piece for each score
    if deed == "piece":
        pieces.save_piece(
            connection,
            replace(pieces.piece(connection, name), title=what, opened_at=now),
            now,
        )
        file = pieces.ScoreFile(f"{what}.mxl", PIECES_BYTES)
        pieces.save_score_file(connection, "bytes", file)
    elif deed == "take":
        if takes.take(connection, name) is None:
            _do(connection, now, "piece", what, "")
            piece_id = pieces.piece_with_score(connection, PIECES[what], "").piece_id
            takes.save_take(connection, replace(TAKES[name], piece_id=piece_id))
    elif deed == "empty bin":
        takes.empty_bin(connection, MOMENT + timedelta(hours=name))
    elif deed in {"delete", "restore", "rename", "annotate", "memory", "move"}:
        if takes.take(connection, name) is None:
            return
        if deed == "move":
            _do(connection, now, "piece", what, "")
            what = pieces.piece_with_score(connection, PIECES[what], "").piece_id
        edit = {
            "delete": lambda: edits.DeleteTakes((name,)),
            "restore": lambda: edits.RestoreTakes((name,)),
            "rename": lambda: edits.RenameTake(name, "", what),
            "annotate": lambda: edits.AnnotateTake(name, "", what),
            "memory": lambda: edits.MarkMemory((name,), what),
            "move": lambda: edits.MoveTake(name, None, what),
        }[deed]()
        carry_out(connection, edit, now)
    elif deed == "map":
        sections.save_section_map(connection, name, a_section_map(what), now)
    elif deed == "document":
        documents.save_document(connection, name, "grouping", what, now)
    elif deed == "date":
        pieces.set_performance_date(connection, name, date(2026, 6, what) if what else None, now)
    elif deed == "hands":
        pieces.set_hands(connection, name, {"n1": what}, now)
    elif deed == "off shelf":
        pieces.take_off_shelf(connection, name, now)
    else:
        entry = an_entry(f"entry {what} of {name}", piece_id=name)
        documents.add_entries(connection, [entry])


PIECES_BYTES = b"<score-partwise/>"


def copy_of(connection):
    copy = sqlite3.connect(":memory:", isolation_level=None)
    connection.backup(copy)
    copy.execute("PRAGMA foreign_keys = ON")
    return copy


def merged(one, *others):
    result = copy_of(one)
    for other in others:
        result.execute("BEGIN")
        merge_into(result, other)
        result.execute("COMMIT")
        assert result.execute("PRAGMA foreign_key_check").fetchall() == []
    return result


def kept(connection):
    return {
        table: sorted(connection.execute(f"SELECT {columns} FROM {table}"), key=repr)
        for table, columns in KEPT.items()
    }


@hypothesis.settings(max_examples=50)
@hypothesis.given(HISTORIES, HISTORIES)
def test_the_order_of_two_histories_makes_no_difference(first, second):
    one, other = history_of(first), history_of(second)
    assert kept(merged(one, other)) == kept(merged(other, one))


@hypothesis.settings(max_examples=80)
@hypothesis.given(BIN_HISTORIES, BIN_HISTORIES, BIN_HISTORIES)
def test_what_goes_into_the_bin_and_out_of_it_has_one_last_word(first, second, third):
    one, two, three = history_of(first), history_of(second), history_of(third)
    together = kept(merged(one, two, three))
    assert kept(merged(three, one, two)) == together
    assert kept(merged(one, merged(two, three))) == together
    for history in (one, two, three):
        assert kept(merged(history, one, two, three)) == together


@hypothesis.settings(max_examples=50)
@hypothesis.given(HISTORIES, HISTORIES, HISTORIES)
def test_the_grouping_of_three_histories_makes_no_difference(first, second, third):
    one, two, three = history_of(first), history_of(second), history_of(third)
    assert kept(merged(merged(one, two), three)) == kept(merged(one, merged(two, three)))


@hypothesis.settings(max_examples=40)
@hypothesis.given(HISTORIES, HISTORIES)
def test_merging_again_changes_nothing(first, second):
    one, other = history_of(first), history_of(second)
    once = merged(one, other)
    assert kept(merged(once, other)) == kept(once)
    assert kept(merged(once, one)) == kept(once)
    assert kept(merged(once, once)) == kept(once)


@hypothesis.settings(max_examples=40)
@hypothesis.given(HISTORIES, HISTORIES)
def test_no_recording_is_lost_and_none_is_there_twice(first, second):
    """The same evening was recorded here, and imported there."""
    one = history_of([*first, (0, ("take", "evening", "barge"))])
    other = history_of([*second, (0, ("take", "evening again", "mill in the studio"))])
    hashes = {
        row[0]
        for connection in (one, other)
        for row in connection.execute("SELECT content_hash FROM takes")
    }
    both = merged(one, other)
    found = [row[0] for row in both.execute("SELECT content_hash FROM takes")]
    assert sorted(found) == sorted(hashes)
    for (take_id,) in both.execute("SELECT take_id FROM takes").fetchall():
        assert takes.take(both, take_id).events == TAKES[take_id].events


@hypothesis.given(HISTORIES, HISTORIES)
@hypothesis.settings(max_examples=30)
def test_every_version_of_a_map_and_every_entry_is_still_there(first, second):
    one, other = history_of(first), history_of(second)
    both = merged(one, other)
    for connection in (one, other):
        for query in (
            "SELECT saved_at, content FROM section_maps",
            "SELECT entry_id FROM entries",
        ):
            assert set(connection.execute(query)) <= set(both.execute(query))


@hypothesis.given(HISTORIES, HISTORIES)
@hypothesis.settings(max_examples=30)
def test_what_is_said_after_merging_holds_against_an_older_copy(first, second):
    take_id = "morning"
    second = [*second, (0, ("take", take_id, "barge"))]
    both = merged(history_of(first), history_of(second))
    old = copy_of(both)
    now = MOMENT + timedelta(hours=30)
    for edit in (
        edits.DeleteTakes((take_id,)),
        edits.RestoreTakes((take_id,)),
        edits.RenameTake(take_id, "", ""),
        edits.MarkMemory((take_id,), False),
    ):
        carry_out(both, edit, now)  # at the same moment, as far as the clock can tell
    again = merged(both, old)
    assert takes.take(again, take_id).deleted_at is None
    assert takes.take(again, take_id).name == ""
    assert not takes.take(again, take_id).from_memory
    assert (take_id, words.BIN) in {
        (subject, field) for subject, field in again.execute("SELECT subject, field FROM words")
    }
