"""Merging history files: what is told, what is refused, and that a refusal changes nothing."""

from __future__ import annotations

import random
import shutil
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import timedelta

import pytest

from companion.errors import Cancelled, CompanionError, EditRefused
from companion.history import edits
from companion.history.fingerprints import fingerprint
from companion.history.model import TakeSource
from companion.practice.merging import COPIES_KEPT, merge_history
from companion.storage.history_file import HistoryFile
from companion.storage.merging.other_history import HistoryNotMerged
from companion.storage.migrations import MIGRATIONS
from companion.storage.pieces import ScoreFile
from tests.golden.databases.build import FINISHED, FOLDER
from tests.unit.storage.history_examples import (
    MOMENT,
    a_piece,
    a_section_map,
    a_take,
    an_entry,
    some_events,
    some_results,
)


def rows(path):
    with closing(sqlite3.connect(path)) as connection:
        return list(connection.iterdump())


@pytest.fixture
def home(tmp_path):
    with HistoryFile(tmp_path / "home" / "history.sqlite3", now=lambda: MOMENT) as history:
        history.save_piece(a_piece())
        history.save_take(a_take("at home"))
        yield history


@pytest.fixture
def studio_path(tmp_path):
    return tmp_path / "studio" / "history.sqlite3"


def later(hours):
    return lambda: MOMENT + timedelta(hours=hours)


@pytest.fixture
def studio(studio_path):
    """The other machine gave the same score another id."""
    events = some_events(6, first_key=40)
    with HistoryFile(studio_path, now=later(2)) as history:
        history.save_piece(a_piece("a piece", score_hash="hash of piece"))
        history.save_take(
            a_take(
                "in the studio",
                piece_id="a piece",
                minutes=120,
                events=events,
                content_hash=fingerprint(events),
            )
        )
    return studio_path


@pytest.fixture
def scratch(tmp_path):
    return tmp_path / "scratch"


def test_takes_of_both_machines_stand_with_the_one_piece(home, studio, scratch):
    outcome = merge_history(home, studio, scratch)
    (piece,) = home.shelf()
    assert piece.piece_id == "a piece"
    assert {take.take_id for take in home.takes_of("a piece")} == {"at home", "in the studio"}
    assert home.take("in the studio").events == some_events(6, first_key=40)
    assert outcome.merged.new_takes == 1
    assert outcome.merged.pieces_renamed == {"piece": "a piece"}
    assert outcome.sentences == ("1 take came from the other history.",)
    assert list(scratch.iterdir()) == []


def test_the_history_as_it_was_lies_beside_it(home, studio, scratch):
    outcome = merge_history(home, studio, scratch)
    with HistoryFile(outcome.copy_before) as before:
        assert before.take_ids() == ("at home",)


def test_only_the_last_copies_from_before_merging_are_kept(home, studio, scratch):
    for minute in range(COPIES_KEPT + 2):
        last = merge_history(home, studio, scratch, now=MOMENT + timedelta(minutes=minute))
    copies = sorted(last.copy_before.parent.iterdir())
    assert len(copies) == COPIES_KEPT
    assert copies[-1] == last.copy_before


def test_merging_again_says_that_there_was_nothing_new(home, studio, scratch):
    merge_history(home, studio, scratch)
    again = merge_history(home, studio, scratch)
    assert again.sentences == ("There was nothing new in the other history.",)


def test_the_other_file_is_only_read_also_while_its_window_is_open(home, studio, scratch):
    before = rows(studio)
    with HistoryFile(studio) as open_there:
        open_there.save_take(a_take("just played", piece_id="a piece", minutes=200))
        merge_history(home, studio, scratch)
    assert home.take("just played") is not None
    assert len(rows(studio)) > len(before)  # what was played, nothing of ours
    with HistoryFile(studio) as there:
        assert there.take("at home") is None


def test_a_recording_imported_on_both_machines_is_there_once(home, studio_path, scratch):
    with HistoryFile(studio_path) as studio:
        studio.save_piece(a_piece())
        studio.save_take(a_take("imported", remark="even now", source=TakeSource.FILE))
    outcome = merge_history(home, studio_path, scratch)
    (take,) = home.takes_of("piece")
    assert take.remark == "even now"
    assert "A recording that was in both is kept once." in outcome.sentences


def test_two_takes_of_the_piano_are_never_taken_for_one(home, studio_path, scratch):
    with HistoryFile(studio_path) as studio:
        studio.save_piece(a_piece())
        studio.save_take(a_take("the same key a week later", minutes=10_080))
    merge_history(home, studio_path, scratch)
    assert len(home.takes_of("piece")) == 2


def test_a_take_thrown_away_there_is_in_the_bin_here_until_it_is_fetched_back(
    home, studio_path, scratch
):
    shutil.copytree(home.path.parent, studio_path.parent)
    with HistoryFile(studio_path, now=later(1)) as studio:
        studio.apply(edits.DeleteTakes(("at home",)))
    outcome = merge_history(home, studio_path, scratch)
    assert home.takes_of("piece") == ()
    assert "A take that was thrown away there is in the bin here." in outcome.sentences
    home.apply(edits.RestoreTakes(("at home",)))
    merge_history(home, studio_path, scratch)
    assert [take.take_id for take in home.takes_of("piece")] == ["at home"]


def test_a_copy_does_not_bring_back_what_was_thrown_away_for_good(home, scratch, tmp_path):
    copy = tmp_path / "copy" / "history.sqlite3"
    shutil.copytree(home.path.parent, copy.parent)
    home.apply(edits.DeleteTakes(("at home",)))
    home.empty_bin(MOMENT + timedelta(days=100))
    merge_history(home, copy, scratch)
    assert home.takes_of("piece") == ()
    home.empty_bin(MOMENT + timedelta(days=100))
    assert home.take("at home") is None


def test_the_sections_changed_later_are_in_force_and_the_others_are_kept(home, studio, scratch):
    home.save_section_map("piece", a_section_map(3))
    with HistoryFile(studio, now=later(3)) as there:
        there.save_section_map("a piece", a_section_map(4))
    outcome = merge_history(home, studio, scratch)
    assert home.section_map("a piece") == a_section_map(4)
    assert home.section_map("a piece", version=1) == a_section_map(3)
    assert len(outcome.merged.maps_replaced) == 1


def test_a_proposal_of_the_other_machine_does_not_replace_a_map_that_was_worked_on(
    home, studio, scratch
):
    def proposed(count):
        found = a_section_map(count)
        sections = tuple(
            replace(one, why="double bar", purpose="", how_to_play="",
                    target_quarters_per_minute=None)
            for one in found.sections
        )  # fmt: skip
        return replace(found, sections=sections)

    home.save_section_map("piece", a_section_map(3))
    with HistoryFile(studio, now=later(3)) as there:
        there.save_section_map("a piece", proposed(4))
    merge_history(home, studio, scratch)
    assert home.section_map("a piece") == a_section_map(3)


def test_a_document_that_is_replaced_is_kept_as_an_entry(home, studio, scratch):
    home.save_document("piece", "grouping", "ours")
    with HistoryFile(studio, now=later(3)) as there:
        there.save_document("a piece", "grouping", "theirs")
    outcome = merge_history(home, studio, scratch)
    assert home.document("a piece", "grouping") == "theirs"
    (entry,) = home.entries_of("a piece", "document set aside by merging")
    assert entry.content == '{"kind": "grouping", "content": "ours"}'
    assert "yours are kept in the history" in " ".join(outcome.sentences)


def test_a_score_that_only_the_other_machine_has_comes_with_its_file(home, studio, scratch):
    with HistoryFile(studio) as there:
        there.save_piece(a_piece("barge"))
        there.save_score_file("hash of barge", ScoreFile("barge.mxl", b"<score-partwise/>"))
        there.add_entries([an_entry(piece_id="barge")])
    outcome = merge_history(home, studio, scratch)
    assert home.piece("barge") is not None
    assert home.score_file("hash of barge").file_name == "barge.mxl"
    assert outcome.sentences[0] == "1 take, 1 piece and 1 entry came from the other history."


def test_results_of_takes_that_stay_are_kept_and_no_results_are_brought(home, studio, scratch):
    home.save_results([some_results("at home")])
    with HistoryFile(studio) as there:
        there.save_results([some_results("in the studio")])
    merge_history(home, studio, scratch)
    missing = home.missing_stretches("a piece", "basis", some_results("at home").stretches)
    assert set(missing) == {"in the studio"}


@pytest.mark.parametrize("old", sorted(FOLDER.glob("*.sqlite3")), ids=lambda path: path.stem)
def test_a_history_of_an_older_format_is_brought_up_to_date_in_a_copy(scratch, tmp_path, old):
    copy = tmp_path / old.name
    shutil.copy(old, copy)
    before = copy.read_bytes()
    with HistoryFile(tmp_path / "new" / "history.sqlite3") as new:
        merge_history(new, copy, scratch)
        assert new.take("take") == FINISHED
        assert new.take("cut off").note_count == 3
    assert copy.read_bytes() == before


def test_a_newer_history_is_refused(home, studio, scratch):
    with closing(sqlite3.connect(studio)) as connection:
        connection.execute(f"PRAGMA user_version = {len(MIGRATIONS) + 1}")
    before = rows(home.path)
    with pytest.raises(HistoryNotMerged, match="newer version of this program"):
        merge_history(home, studio, scratch)
    assert rows(home.path) == before


def spoil(path, *statements):
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA ignore_check_constraints = ON")
        for statement in statements:
            connection.execute(statement)
        connection.commit()


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE takes SET started_at = 'yesterday'",
        "UPDATE takes SET started_at = '2026-03-02T17:30:00+00:00'",
        "UPDATE takes SET source = 'the neighbour'",
        "UPDATE takes SET duration_seconds = -1",
        "UPDATE takes SET piece_id = 'no such piece'",
        "UPDATE takes SET remark = printf('%.*c', 200000, 'x')",
        "UPDATE pieces SET hands = '[1]'",
        "UPDATE pieces SET performance_date = 'soon'",
        "INSERT INTO section_maps SELECT piece_id, 9, added_at, '{}' FROM pieces",
        "INSERT INTO words VALUES ('in the studio', 'bin', '9999-12-31T23:59:59.999999+00:00')",
        "CREATE TRIGGER later AFTER INSERT ON takes BEGIN DELETE FROM takes; END",
        "DROP TABLE entries",
        "INSERT INTO score_files VALUES (printf('%.*c', 64, 'a'), 'mill.mxl', x'00')",
        f"INSERT INTO section_maps SELECT piece_id, 9, added_at, '{'[' * 5000}' FROM pieces",
    ],
    ids=range(14),
)
def test_a_file_that_somebody_has_tampered_with_is_refused(home, studio, scratch, statement):
    spoil(studio, statement)
    before = rows(home.path)
    with pytest.raises(HistoryNotMerged, match=r"damaged, or is no practice history\."):
        merge_history(home, studio, scratch)
    assert rows(home.path) == before
    assert list(scratch.iterdir()) == []


def test_a_broken_file_is_refused(home, studio, scratch):
    data = bytearray(studio.read_bytes())
    data[4096:30000] = b"\xff" * (30000 - 4096)
    studio.write_bytes(data)
    before = rows(home.path)
    with pytest.raises(HistoryNotMerged, match="damaged"):
        merge_history(home, studio, scratch)
    assert rows(home.path) == before


@pytest.mark.parametrize("seed", range(12))
def test_a_file_with_damaged_bytes_is_merged_or_refused_and_never_blamed_on_ours(
    home, studio, scratch, seed
):
    with HistoryFile(studio) as there:
        there.save_document("a piece", "grouping", "groups " * 400)
        there.add_entries([an_entry(piece_id="a piece", content="words " * 400)])
    data = bytearray(studio.read_bytes())
    chance = random.Random(seed)
    for _ in range(chance.randint(1, 60)):
        data[chance.randrange(100, len(data))] = chance.randrange(256)
    studio.write_bytes(data)
    met = []
    home.when_damaged(lambda: met.append("damage"))
    before = rows(home.path)
    try:
        merge_history(home, studio, scratch)
    except CompanionError:
        assert rows(home.path) == before
    assert met == []
    assert home.take("at home") == a_take("at home", piece_id=home.shelf()[0].piece_id)


def test_events_that_are_none_are_refused(home, studio, scratch):
    spoil(studio, "UPDATE take_events SET events = x'000000000000f87f03903c40'")  # not a number
    before = rows(home.path)
    with pytest.raises(EditRefused, match="A take of the other history is damaged"):
        merge_history(home, studio, scratch)
    assert rows(home.path) == before


@pytest.mark.parametrize("content", [b"", b"MThd", b"SQLite format 3\0" + b"\0" * 200])
def test_a_file_that_is_no_history_is_refused(home, scratch, tmp_path, content):
    other = tmp_path / "something"
    other.write_bytes(content)
    with pytest.raises(HistoryNotMerged, match="no practice history"):
        merge_history(home, other, scratch)


def test_a_missing_file_is_refused(home, scratch, tmp_path):
    with pytest.raises(HistoryNotMerged, match="There is no practice history “gone”"):
        merge_history(home, tmp_path / "gone", scratch)


def test_one_id_that_means_two_scores_is_refused(home, studio_path, scratch):
    with HistoryFile(studio_path) as there:
        there.save_piece(a_piece(score_hash="another"))
    with pytest.raises(EditRefused, match="has another score in the other history"):
        merge_history(home, studio_path, scratch)


def test_nothing_is_merged_while_something_is_played(home, studio, scratch):
    home.begin_take(a_take("running", events=(), content_hash=""))
    with pytest.raises(EditRefused, match="being played just now"):
        merge_history(home, studio, scratch)


def test_nothing_is_merged_into_a_stand_in_of_which_only_takes_come_home(studio, scratch):
    with (
        HistoryFile(scratch / "stand-ins" / "x" / "history.sqlite3") as stand_in,
        pytest.raises(EditRefused, match="cannot be written at present"),
    ):
        merge_history(stand_in, studio, scratch)


def test_a_cancelled_merge_changes_nothing(home, studio, scratch):
    before = rows(home.path)

    def stop_while_writing(progress):
        if progress.total == 1:  # one take of theirs
            raise Cancelled

    with pytest.raises(Cancelled):
        merge_history(home, studio, scratch, report=stop_while_writing)
    assert rows(home.path) == before
