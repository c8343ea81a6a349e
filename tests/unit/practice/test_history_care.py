from datetime import date, timedelta

import pytest

from companion.errors import HistoryDamaged
from companion.history.edits import DeleteTakes
from companion.practice.history_care import (
    BIN_KEPT_DAYS,
    LookedAfter,
    last_copy,
    look_after,
    open_history,
    open_or_stand_in,
    replace_damaged,
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
    kept_until = thrown.deleted_at + timedelta(days=BIN_KEPT_DAYS)
    assert look_after(history, TODAY, path.parent, kept_until) == LookedAfter()
    assert history.take("take 3") is not None
    look_after(history, TODAY, path.parent, kept_until + timedelta(days=1))
    assert history.take("take 3") is None
    assert last_copy(path).day == TODAY
    history.close()


def test_a_copy_that_cannot_be_made_is_told_and_no_error(path):
    (path.parent / "backups").write_text("in the way")
    history = open_history(path).history
    told = look_after(history, TODAY, path.parent).sentence
    assert "No copy of your practice history could be made today" in told
    history.close()


@pytest.fixture
def copied(path):
    """A history with a copy of it, and a take that is later than the copy; closed."""
    history = open_history(path).history
    look_after(history, TODAY, path.parent)
    history.save_take(a_take("later"))
    history.close()
    return path


def test_a_damaged_history_is_replaced_by_its_last_good_copy_and_kept(copied, tmp_path):
    copied.write_bytes(b"rubbish" * 2000)
    with pytest.raises(HistoryDamaged):
        open_history(copied)
    opened = open_or_stand_in(copied, tmp_path / "cache")
    assert opened.damaged
    assert "last good copy of it, of 02 March 2026" in opened.sentence
    assert "kept aside" in opened.sentence
    history = opened.history
    assert len(history.takes_of("piece")) == 20  # those of the copy are seen at once
    history.save_take(a_take("while damaged", events=some_events(9)))
    assert replace_damaged(history, copied, opened.copy, tmp_path / "cache", MOMENT) == 1
    assert history.path == copied
    assert len(history.takes_of("piece")) == 21
    history.close()
    with open_history(copied).history as again:
        assert again.take("while damaged") is not None
    aside = copied.with_name("history-set-aside-2026-03-02-173000.sqlite3")
    assert aside.read_bytes() == b"rubbish" * 2000
    assert not (tmp_path / "cache" / "stand-ins").exists()


def test_takes_that_a_damaged_file_still_tells_are_saved_too(copied, tmp_path):
    with open_history(copied).history as history:
        history.save_takes(a_take(f"new {n}", events=some_events(30 + n)) for n in range(40))
    whole = copied.read_bytes()
    copied.write_bytes(whole[:-20_000] + b"\x55" * 20_000)
    history = open_history(copied).history  # opens: the damage is deeper
    brought = replace_damaged(history, copied, last_copy(copied), tmp_path / "cache", MOMENT)
    assert 1 <= brought < 41
    assert len(history.take_ids()) == 20 + brought
    assert all(history.take(take_id) is not None for take_id in history.take_ids())
    history.close()
    (aside,) = copied.parent.glob("*set-aside*.sqlite3")
    assert aside.read_bytes()[-20_000:] == b"\x55" * 20_000


def test_without_a_copy_there_is_nothing_to_offer_but_a_new_history(path, tmp_path):
    assert last_copy(path) is None
    path.write_bytes(b"rubbish" * 2000)
    opened = open_or_stand_in(path, tmp_path / "cache")
    assert (opened.damaged, opened.copy) == (True, None)
    assert "Nothing of it can be shown" in opened.sentence
    opened.history.save_take(a_take("meanwhile"))
    assert replace_damaged(opened.history, path, None, tmp_path / "cache", MOMENT) == 1
    assert opened.history.take_ids() == ("meanwhile",)
    opened.history.close()


def test_what_was_kept_aside_comes_into_the_history_and_that_is_told(path, tmp_path):
    first = open_history(path).history
    second = open_or_stand_in(path, tmp_path / "cache")
    assert "open in another window" in second.sentence
    assert "What you see is a copy" in second.sentence
    assert not second.damaged
    assert len(second.history.takes_of("piece")) == 20
    second.history.save_take(a_take("in the second window", events=some_events(7)))
    assert look_after(first, TODAY, tmp_path / "cache") == LookedAfter()  # it is still at work
    second.history.close()
    looked_after = look_after(first, TODAY, tmp_path / "cache")
    assert [take.take_id for take in looked_after.brought] == ["in the second window"]
    assert looked_after.sentence.startswith("A take that was kept aside")
    assert first.take("in the second window").piece_id == "piece"
    first.close()
