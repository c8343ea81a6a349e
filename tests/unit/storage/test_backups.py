import threading
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from companion.storage.backups import (
    DAYS_KEPT,
    MONTHS_KEPT,
    WEEKS_KEPT,
    back_up,
    backups_of,
    days_to_keep,
)
from companion.storage.history_file import HistoryFile
from tests.unit.storage.history_examples import a_take, some_events

TODAY = date(2026, 3, 2)

days = st.lists(st.dates(date(2024, 1, 1), date(2026, 3, 2)), unique=True)


def test_the_copy_of_the_day_is_made_once(history):
    copy = history.back_up(TODAY)
    assert copy.name == "history-2026-03-02.sqlite3"
    history.save_take(a_take())
    assert history.back_up(TODAY) is None
    assert history.back_up(TODAY + timedelta(days=1)) is not None
    assert [path.name for path in backups_of(history.path)] == [
        "history-2026-03-03.sqlite3",
        "history-2026-03-02.sqlite3",
    ]


def test_a_copy_is_a_history_that_opens_on_its_own(history):
    history.save_take(a_take())
    copy = history.back_up(TODAY)
    assert {path.name for path in copy.parent.iterdir()} == {copy.name}
    with HistoryFile(copy) as opened:
        assert opened.take("take") == a_take()


def test_a_copy_can_be_made_while_takes_are_written(history):
    stop = threading.Event()
    written = []

    def play():
        while not stop.is_set():
            history.save_take(a_take(f"take {len(written)}", events=some_events(100)))
            written.append(None)

    player = threading.Thread(target=play)
    player.start()
    try:
        copies = [back_up(history.path, TODAY + timedelta(days=n)) for n in range(5)]
    finally:
        stop.set()
        player.join()
    sizes = []
    for copy in copies:
        with HistoryFile(copy) as opened:
            takes = opened.takes_of("piece")
            assert all(opened.take(take.take_id).events == some_events(100) for take in takes)
            sizes.append(len(takes))
    assert sizes == sorted(sizes)
    assert len(history.takes_of("piece")) == len(written)


def test_old_copies_are_thinned_out_and_other_files_left_alone(history):
    folder = history.path.parent / "backups"
    folder.mkdir()
    for number in range(1, 120):
        day = TODAY - timedelta(days=number)
        (folder / f"history-{day.isoformat()}.sqlite3").touch()
    (folder / "history-before-format-2.sqlite3").touch()
    (folder / "notes.txt").touch()
    history.back_up(TODAY)
    assert (folder / "history-before-format-2.sqlite3").exists()
    assert (folder / "notes.txt").exists()
    assert [path.stem[-10:] for path in backups_of(history.path)] == [
        # seven days (the Sunday is also the newest of its week and of February), three more
        # weeks, three more months; worked out with a calendar
        "2026-03-02", "2026-03-01", "2026-02-28", "2026-02-27", "2026-02-26", "2026-02-25",
        "2026-02-24", "2026-02-22", "2026-02-15", "2026-01-31", "2025-12-31", "2025-11-30",
    ]  # fmt: skip


@given(days)
def test_the_newest_copies_are_always_kept(made_on):
    kept = days_to_keep(made_on, TODAY)
    assert kept <= set(made_on)
    assert set(sorted(made_on)[-DAYS_KEPT:]) <= kept
    assert len(kept) <= DAYS_KEPT + WEEKS_KEPT + MONTHS_KEPT


@given(days)
def test_thinning_out_again_removes_nothing_more(made_on):
    kept = days_to_keep(made_on, TODAY)
    assert days_to_keep(kept, TODAY) == kept


def test_copies_of_a_day_to_come_are_kept_because_the_clock_may_have_been_wrong():
    ahead = date(2031, 1, 1)
    assert ahead in days_to_keep([ahead, *(TODAY - timedelta(days=n) for n in range(9))], TODAY)
