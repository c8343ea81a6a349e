from datetime import date, timedelta

import pytest

from companion.errors import HistoryDamaged
from companion.history.edits import DeleteTakes
from companion.practice.history_care import (
    BIN_KEPT_DAYS,
    last_copy,
    look_after,
    open_history,
    put_back,
)
from tests.unit.storage.history_examples import MOMENT, a_piece, a_take, some_events

TODAY = date(2026, 3, 2)


@pytest.fixture
def path(tmp_path):
    where = tmp_path / "history.sqlite3"
    history = open_history(where).history
    history.save_piece(a_piece())
    history.save_takes(a_take(f"take {n}", events=some_events(40)) for n in range(20))
    history.close()
    return where


def test_takes_that_were_cut_off_are_told_at_the_start(path):
    opened = open_history(path)
    assert (opened.recovered, opened.sentence) == ((), "")
    opened.history.begin_take(a_take("cut off", events=()))
    opened.history.write_chunk("cut off", 0, some_events(3))
    opened.history.close()
    again = open_history(path)
    assert [take.take_id for take in again.recovered] == ["cut off"]
    assert again.sentence.endswith("What you had played was kept: 3 notes.")
    again.history.close()


def test_looking_after_makes_the_copy_of_the_day_and_empties_old_rubbish(path):
    history = open_history(path).history
    history.apply(DeleteTakes(("take 3",)))
    (thrown,) = history.takes_of("piece", in_bin=True)
    assert look_after(history, TODAY, thrown.deleted_at + timedelta(days=BIN_KEPT_DAYS)) == ""
    assert history.take("take 3") is not None
    assert look_after(history, TODAY, thrown.deleted_at + timedelta(days=BIN_KEPT_DAYS + 1)) == ""
    assert history.take("take 3") is None
    assert last_copy(path).day == TODAY
    history.close()


def test_a_copy_that_cannot_be_made_is_told_and_no_error(path):
    (path.parent / "backups").write_text("in the way")
    history = open_history(path).history
    assert "No copy of your practice history could be made today" in look_after(history, TODAY)
    history.close()


def test_a_damaged_history_is_replaced_by_its_last_good_copy_and_kept(path):
    history = open_history(path).history
    look_after(history, TODAY)
    history.save_take(a_take("later"))
    history.close()
    path.write_bytes(b"rubbish" * 2000)
    with pytest.raises(HistoryDamaged):
        open_history(path)
    copy = last_copy(path)
    assert "is of 02 March 2026" in copy.sentence
    opened = put_back(path, copy, MOMENT)
    assert len(opened.history.takes_of("piece")) == 20
    opened.history.close()
    aside = path.with_name("history-set-aside-2026-03-02-173000.sqlite3")
    assert aside.read_bytes() == b"rubbish" * 2000


def test_without_a_copy_there_is_nothing_to_offer(path):
    assert last_copy(path) is None
