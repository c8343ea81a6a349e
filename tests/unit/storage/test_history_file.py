import gc
import threading
from dataclasses import fields, replace
from datetime import date, timedelta
from fractions import Fraction

import numpy as np
import pytest

from companion.errors import HistoryInUse
from companion.history.edits import DeleteTakes
from companion.history.summaries import heat_strip
from companion.score.model import Hand, Position
from companion.score.sections.section_map import Section, SectionMap
from companion.storage.history_file import HistoryFile
from companion.storage.pieces import ScoreFile
from tests.unit.storage.history_examples import (
    MOMENT,
    a_match,
    a_piece,
    a_result,
    a_section_map,
    a_stretch,
    a_take,
    some_events,
    some_results,
)

# The shelf


def test_a_piece_comes_back_as_it_was_saved(history):
    piece = a_piece(
        "other",
        score_path="/music/übung.mxl",
        part="P2",
        performance_date=date(2026, 6, 20),
        opened_at=MOMENT,
    )
    history.save_piece(piece)
    assert history.piece("other") == piece


def test_the_piece_opened_last_stands_first_on_the_shelf(history):
    history.save_piece(a_piece("early", opened_at=MOMENT + timedelta(hours=1)))
    history.save_piece(a_piece("late", opened_at=MOMENT + timedelta(hours=2)))
    assert [piece.piece_id for piece in history.shelf()] == ["late", "early", "piece"]


def test_a_piece_off_the_shelf_keeps_its_takes_and_can_be_opened_again(history):
    history.save_take(a_take())
    history.take_off_shelf("piece")
    assert history.shelf() == ()
    assert len(history.takes_of("piece")) == 1
    history.mark_opened("piece")
    assert [piece.piece_id for piece in history.shelf()] == ["piece"]


def test_a_piece_is_found_by_its_score_and_part(history):
    history.save_piece(a_piece("left part", score_hash="h", part="P1"))
    history.save_piece(a_piece("right part", score_hash="h", part="P2"))
    assert history.piece_with_score("h", "P2").piece_id == "right part"
    assert history.piece_with_score("h", "P3") is None


def test_our_copy_of_a_score_is_kept_byte_for_byte(history):
    content = bytes(range(256)) * 5
    history.save_score_file("h", ScoreFile("mill.mxl", content))
    history.save_score_file("h", ScoreFile("same again.mxl", content))
    assert history.score_file("h") == ScoreFile("mill.mxl", content)
    assert history.score_file("unknown") is None


def test_hands_and_view_of_a_piece_are_remembered(history):
    assert history.hands("piece") == {}
    assert history.view("piece") == ""
    history.set_hands("piece", {"n7": Hand.LEFT, "n2": Hand.RIGHT})
    history.set_view("piece", '{"zoom": 1.5}')
    history.save_piece(a_piece(title="Rain on the old mill"))  # does not touch them
    assert history.hands("piece") == {"n7": Hand.LEFT, "n2": Hand.RIGHT}
    assert history.view("piece") == '{"zoom": 1.5}'


# The section map


def test_the_last_saved_map_is_in_force_and_earlier_ones_are_kept(history):
    assert history.section_map("piece") is None
    first, second = a_section_map(4), a_section_map(5)
    for section_map in (first, second, second, first):
        history.save_section_map("piece", section_map)
    assert history.section_map("piece") == first
    versions = history.section_map_versions("piece")
    assert [saved.version for saved in versions] == [1, 2, 3]  # saving the same again is none
    assert history.section_map("piece", version=2) == second


def test_a_border_inside_a_measure_comes_back_exactly(history):
    border = Position(3, Fraction(7, 3))
    section_map = SectionMap(
        sections=(
            Section(section_id="a", name="A", start=Position(0), end=border),
            Section(section_id="b", name="B", start=border, end=Position(9)),
        )
    )
    history.save_section_map("piece", section_map)
    assert history.section_map("piece") == section_map


# Takes


def test_a_take_comes_back_with_every_event(history):
    take = a_take(name="evening", remark="left hand sleepy", instrument="Digital piano")
    history.save_take(take)
    assert history.take("take") == take


def test_lists_of_takes_are_newest_first_and_without_events(history):
    history.save_takes([a_take("one"), a_take("three", minutes=9), a_take("two", minutes=5)])
    takes = history.takes_of("piece")
    assert [take.take_id for take in takes] == ["three", "two", "one"]
    assert all(take.events == () for take in takes)


def test_takes_without_a_piece_have_their_own_list(history):
    history.save_take(a_take("stray", piece_id=None))
    assert history.takes_of("piece") == ()
    assert [take.take_id for take in history.takes_of(None)] == ["stray"]


def test_a_take_of_a_piece_that_the_file_does_not_know_is_kept_and_filed_with_none(history):
    history.begin_take(a_take(piece_id="nowhere", events=()))
    history.save_take(a_take(piece_id="nowhere"))
    assert history.take("take") == a_take(piece_id=None)
    assert [take.take_id for take in history.takes_of(None)] == ["take"]


def test_several_takes_are_saved_all_or_none(history):
    with pytest.raises(Exception, match="NOT NULL"):
        history.save_takes([a_take("good"), replace(a_take("bad"), note_count=None)])
    assert history.take("good") is None


def test_ids_of_all_finished_takes_are_listed_oldest_first(history):
    history.save_takes([a_take("new", minutes=9), a_take("old"), a_take("no piece", piece_id=None)])
    history.begin_take(a_take("being played", events=()))
    history.apply(DeleteTakes(("old",)))
    assert set(history.take_ids()) == {"new", "old", "no piece"}
    assert history.take_ids()[-1] == "new"


def test_takes_in_the_bin_go_for_good_only_when_it_is_emptied(history):
    history.save_take(a_take())
    history.save_results([some_results()])
    history.apply(DeleteTakes(("take",)))
    assert history.empty_bin(MOMENT) == 0  # thrown away at MOMENT, not before it
    assert history.take("take") is not None
    assert history.empty_bin(MOMENT + timedelta(days=1)) == 1
    assert history.take("take") is None
    assert history.match_of("take", "basis") is None


# Journal rows


def test_an_open_take_is_recovered_from_its_chunks(history):
    events = some_events(6)
    history.begin_take(a_take(events=(), duration_seconds=0.0, note_count=0))
    history.write_chunk("take", 0, events[:5])
    history.write_chunk("take", 1, events[5:11])
    assert history.takes_of("piece") == ()  # not in the lists while it is open
    (recovered,) = history.recover_open_takes()
    assert recovered.recovered
    assert recovered.events == events[:11]
    assert recovered.note_count == 6
    assert recovered.duration_seconds == events[10].at_seconds
    assert history.take("take") == recovered
    assert history.recover_open_takes() == ()


def test_an_open_take_without_a_note_is_dropped_at_recovery(history):
    history.begin_take(a_take(events=()))
    assert history.recover_open_takes() == ()
    assert history.take("take") is None


def test_writing_a_chunk_again_replaces_it(history):
    events = some_events(4)
    history.begin_take(a_take(events=()))
    history.write_chunk("take", 0, events[:2])
    history.write_chunk("take", 0, events[:4])
    assert history.take("take").events == events[:4]


# Results


def test_results_come_back_as_they_were_saved(history):
    history.save_take(a_take())
    results = some_results(stretches=(a_stretch(0, 4), a_stretch(4, 8)))
    history.save_results([results])
    found = history.section_results("piece", "basis", results.stretches)
    assert sorted(found, key=lambda row: row.stretch) == list(results.sections)
    assert history.match_of("take", "basis") == a_match()
    assert heat_strip(history.measure_counts("piece", "basis")) == results.measures


def test_results_on_another_basis_are_not_shown_and_are_replaced(history):
    history.save_take(a_take())
    history.save_results([some_results(basis="old")])
    assert history.section_results("piece", "new", [a_stretch()]) == ()
    assert history.measure_counts("piece", "new").shape == (0, 8)
    assert history.match_of("take", "new") is None
    history.save_results([some_results(basis="new", accuracy=0.5)])
    (row,) = history.section_results("piece", "new", [a_stretch()])
    assert row.accuracy == 0.5
    assert history.section_results("piece", "old", [a_stretch()]) == ()


def test_only_the_stretches_of_a_moved_border_are_missing(history):
    history.save_take(a_take("one"))
    history.save_take(a_take("two", minutes=3))
    before = (a_stretch(0, 4), a_stretch(4, 8), a_stretch(8, 12))
    after = (a_stretch(0, 5), a_stretch(5, 8), a_stretch(8, 12))
    history.save_results([some_results("one", stretches=before)])
    assert history.missing_stretches("piece", "basis", after) == {
        "two": after,  # never worked out, and the newest first
        "one": (a_stretch(0, 5), a_stretch(5, 8)),
    }
    added = replace(some_results("one", stretches=after[:2]), match=None, measures=())
    history.save_results([added, some_results("two", stretches=after)])
    assert history.missing_stretches("piece", "basis", after) == {}
    assert history.missing_stretches("piece", "basis", before) == {"two": before[:2]}
    assert len(history.section_results("piece", "basis", after)) == 6
    assert heat_strip(history.measure_counts("piece", "basis"))[0].plays == 2  # counted once each


def test_a_take_in_which_nothing_of_a_section_was_played_is_not_missing(history):
    history.save_take(a_take())
    results = replace(some_results(stretches=(a_stretch(0, 4), a_stretch(4, 8))), sections=())
    history.save_results([results])
    assert history.missing_stretches("piece", "basis", results.stretches) == {}


def test_takes_in_the_bin_count_nowhere(history):
    history.save_take(a_take())
    history.save_results([some_results()])
    history.apply(DeleteTakes(("take",)))
    assert history.section_results("piece", "basis", [a_stretch()]) == ()
    assert history.measure_counts("piece", "basis").size == 0
    assert history.missing_stretches("piece", "other basis", [a_stretch()]) == {}


def test_results_of_a_take_that_is_gone_meanwhile_are_left_out(history):
    history.save_take(a_take("here"))
    history.save_results([some_results("gone"), some_results("here")])
    assert history.match_of("gone", "basis") is None
    assert history.match_of("here", "basis") == a_match()


def test_stretches_for_results_that_were_replaced_meanwhile_are_left_out(history):
    history.save_take(a_take())
    history.save_results([some_results(basis="new")])
    late = replace(some_results(basis="old", stretches=(a_stretch(4, 8),)), match=None)
    history.save_results([late])
    both = (a_stretch(), a_stretch(4, 8))
    assert history.missing_stretches("piece", "new", both) == {"take": (a_stretch(4, 8),)}
    assert len(history.section_results("piece", "new", both)) == 1


def test_results_at_borders_of_long_ago_are_forgotten(history):
    old, kept = a_stretch(0, 4), a_stretch(0, 5)
    history.save_takes([a_take("one"), a_take("two", minutes=1)])
    history.save_results(
        [some_results("one", stretches=(old, kept)), some_results("two", stretches=(kept,))]
    )
    history.keep_only_stretches("piece", [kept])
    assert len(history.section_results("piece", "basis", [old, kept])) == 2
    assert history.missing_stretches("piece", "basis", [old, kept]) == {
        "two": (old,),
        "one": (old,),
    }


def test_a_glance_is_a_row_with_fewer_figures(history):
    history.save_takes([a_take("one"), a_take("two", minutes=1)])
    history.save_results([some_results("one"), some_results("two", accuracy=None)])
    rows = history.section_results("piece", "basis", [a_stretch()])
    glances = history.section_glances("piece", "basis", [a_stretch()])
    assert len(glances) == 2
    for glance, row in zip(glances, rows, strict=True):
        for field in fields(glance):
            assert getattr(glance, field.name) == getattr(row, field.name)
    assert history.section_glances("piece", "basis", [a_stretch(1, 2)]) == ()


def test_writing_leaves_the_log_alone_until_the_file_is_tidied(history, path):
    before = path.stat().st_mtime_ns, path.stat().st_size
    history.save_takes(a_take(f"{n}", events=some_events(60) * 20) for n in range(80))
    assert (path.stat().st_mtime_ns, path.stat().st_size) == before
    history.tidy()
    assert path.stat().st_size > before[1] + 1_000_000


def test_forgetting_results_leaves_the_takes(history):
    history.save_take(a_take())
    history.save_results([some_results()])
    history.forget_results("piece")
    assert history.missing_stretches("piece", "basis", [a_stretch()]) == {"take": (a_stretch(),)}
    assert history.take("take") == a_take()


def test_an_empty_piece_has_an_empty_table_of_measures(history):
    counts = history.measure_counts("piece", "basis")
    assert counts.shape == (0, 8)
    assert counts.dtype == np.int32  # as it is stored: half a million rows are not copied
    assert heat_strip(counts) == ()


def test_a_row_without_figures_keeps_them_empty(history):
    history.save_take(a_take())
    history.save_results([some_results(accuracy=None, tempo=None)])
    (row,) = history.section_results("piece", "basis", [a_stretch()])
    assert row == a_result(accuracy=None, tempo=None)


# Threads and windows


def test_threads_write_at_the_same_time_without_losing_anything(history):
    def play(name: str) -> None:
        for number in range(20):
            history.save_take(a_take(f"{name} {number}"))

    threads = [threading.Thread(target=play, args=(name,)) for name in "abcd"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(history.takes_of("piece")) == 80


def test_a_thread_that_has_ended_leaves_no_open_file_behind(history):
    def look() -> None:
        history.shelf()

    for _ in range(30):
        thread = threading.Thread(target=look)
        thread.start()
        thread.join()
    gc.collect()
    assert len(history._connections._all) == 1  # that of this thread


def test_a_second_window_is_told_that_the_history_is_in_use(history, path):
    with pytest.raises(HistoryInUse, match="open in another window"):
        HistoryFile(path)
    history.save_take(a_take())  # the first one is not disturbed


def test_a_closed_history_can_be_opened_again(path):
    HistoryFile(path).close()
    with HistoryFile(path) as again:
        assert again.shelf() == ()
