"""The window with a history that cannot be used, breaks while it is used, or cannot be written."""

from __future__ import annotations

import os

import pytest

from companion.desktop.message_strip import MessageStrip, Tone
from companion.desktop.unkept_dialog import UnkeptDialog
from companion.errors import HistoryUnavailable
from companion.midi.files import read_take
from companion.practice.history_care import open_history, stand_ins_folder
from companion.storage.backups import backups_of
from companion.storage.history_file import HistoryFile

LONG_MS = 120_000  # for worker processes on a busy machine; never waited for where all is well


def opened(companion, qtbot):
    qtbot.waitUntil(lambda: companion.stand.score is not None, timeout=LONG_MS)
    qtbot.waitUntil(lambda: not companion.opening.loading, timeout=LONG_MS)
    companion.spare_time.finish()
    return companion


def play(companion, qtbot, count=24):
    """Play the first notes of the score; the take that they make."""
    for note in companion.stand.score.notes[:count]:
        companion.piano.play_on_screen(bytes((0x90, note.pitch, 70)))
        companion.piano.play_on_screen(bytes((0x80, note.pitch, 64)))
    with qtbot.waitSignal(companion.piano.take_finished, timeout=LONG_MS) as finished:
        companion.piano.end_take()
    return finished.args[0]


@pytest.fixture
def told(monkeypatch):
    """All messages that were shown; the next one may come at once."""
    told, show = [], MessageStrip.show_message

    def tell(strip, sentence, *arguments, **more):
        told.append(sentence)
        show(strip, sentence, *arguments, **more)

    monkeypatch.setattr(MessageStrip, "show_message", tell)
    return told


def was_told(qtbot, told, words):
    qtbot.waitUntil(lambda: any(words in sentence for sentence in told), timeout=LONG_MS)


def damage(path):
    """Break the file under the program, as a failing disk does: everything but its head."""
    with path.open("r+b") as file:
        size = os.fstat(file.fileno()).st_size
        file.seek(4096)
        file.write(b"\x55" * (size - 4096))


@pytest.fixture
def copied(told, companion, places, qtbot):
    """A program with a take, of which there is a copy, and one that is later than the copy."""
    take = play(companion, qtbot)
    qtbot.waitUntil(lambda: companion.history.take(take.take_id) is not None, timeout=LONG_MS)
    qtbot.waitUntil(lambda: companion.window.listener._model.rowCount() == 1, timeout=LONG_MS)
    qtbot.waitUntil(lambda: companion.keeping._job is None, timeout=LONG_MS)
    for earlier in backups_of(places.history):  # that of the start is without the take
        earlier.unlink()
    companion.history.back_up(companion._calendar.today)
    companion.history.tidy()
    return companion


def test_damage_met_while_the_program_runs_is_offered_to_be_mended_at_once(
    copied, told, places, qtbot
):
    window, history = copied.window, copied.history
    piece_id = copied.stand.piece.piece_id
    history._connections._close_all()  # what SQLite has in memory would hide the damage
    damage(places.history)
    copied.takes._refresh()
    qtbot.waitUntil(lambda: "is damaged" in window.messages.text, timeout=LONG_MS)
    qtbot.waitUntil(lambda: window.messages._button.isVisible(), timeout=LONG_MS)
    assert window.messages._button.text() == "Put the copy back"
    assert "last good copy" in window.messages.text
    played = play(copied, qtbot, 12)  # before anything is done about it
    assert window.messages._button.isVisible()  # although the journal has its troubles too
    window.messages._button.click()
    was_told(qtbot, told, "copy is in place")
    qtbot.waitUntil(lambda: history.take(played.take_id) is not None, timeout=LONG_MS)
    assert history.path == places.history
    assert len(history.takes_of(piece_id)) == 2
    qtbot.waitUntil(lambda: window.listener._model.rowCount() == 2, timeout=LONG_MS)
    assert list(places.history.parent.glob("*set-aside*.sqlite3"))


def test_damaged_history_is_shown_from_its_copy_and_put_in_order(
    copied, told, program, places, own_score, qtbot
):
    piece_id = copied.stand.piece.piece_id
    copied.end()
    places.history.write_bytes(b"rubbish" * 5000)
    companion = opened(program(), qtbot)
    window = companion.window
    assert "damaged" in window.messages.text
    assert companion.stand.piece.piece_id == piece_id
    qtbot.waitUntil(lambda: window.listener._model.rowCount() == 1, timeout=LONG_MS)
    assert "kept aside" in window.listener._notice.text()
    take = play(companion, qtbot, 12)
    qtbot.waitUntil(lambda: window.listener._model.rowCount() == 2, timeout=LONG_MS)
    companion.keeping.put_back()
    qtbot.waitUntil(lambda: companion.history.path == places.history, timeout=LONG_MS)
    was_told(qtbot, told, "copy is in place")
    assert window.listener._notice.text() == ""
    assert companion.history.take(take.take_id).piece_id == piece_id
    again = play(companion, qtbot, 12)
    qtbot.waitUntil(lambda: companion.history.take(again.take_id) is not None, timeout=LONG_MS)
    companion.end()
    with open_history(places.history).history as history:
        assert len(history.takes_of(piece_id)) == 3
    assert not stand_ins_folder(places.history, places.cache).exists()


def test_damaged_history_without_a_copy_is_begun_anew(told, program, places, own_score, qtbot):
    places.history.write_bytes(b"rubbish" * 5000)
    companion = opened(program(str(own_score)), qtbot)
    assert companion.window.messages._button.text() == "Begin a new history"
    take = play(companion, qtbot)
    companion.window.messages._button.click()
    was_told(qtbot, told, "new history is begun")
    assert companion.history.take(take.take_id) is not None
    assert companion.history.path == places.history


def test_second_window_shows_the_history_and_its_takes_come_home(
    told, companion, program, places, own_score, qtbot
):
    first_take = play(companion, qtbot)
    qtbot.waitUntil(lambda: companion.history.take(first_take.take_id) is not None, timeout=LONG_MS)
    second = opened(program(str(own_score)), qtbot)
    assert "open in another window" in second.window.messages.text
    assert second.history.take(first_take.take_id) is not None
    take = play(second, qtbot, 12)
    qtbot.waitUntil(lambda: second.window.listener._model.rowCount() == 2, timeout=LONG_MS)
    second.end()  # while the first still holds the history
    assert companion.history.take(take.take_id) is None
    companion._look_after_history()
    qtbot.waitUntil(lambda: companion.history.take(take.take_id) is not None, timeout=LONG_MS)
    was_told(qtbot, told, "A take that was kept aside")
    qtbot.waitUntil(lambda: companion.window.listener._model.rowCount() == 2, timeout=LONG_MS)


def test_closing_after_the_other_window_asks_nothing(companion, program, places, own_score, qtbot):
    second = opened(program(str(own_score)), qtbot)
    take = play(second, qtbot)
    companion.end()
    assert second.window.close()
    with HistoryFile(places.history) as history:
        assert history.take(take.take_id) is not None


def test_closing_before_the_other_window_offers_midi_files(
    companion, program, places, own_score, qtbot, tmp_path, monkeypatch
):
    second = opened(program(str(own_score)), qtbot)
    take = play(second, qtbot)
    assert not second.window.close()
    dialog = second.window.findChild(UnkeptDialog)
    assert dialog.isVisible()
    dialog.stay.click()
    assert second.window.isVisible()
    folder = tmp_path / "saved"
    folder.mkdir()
    monkeypatch.setattr(
        "companion.desktop.wiring.history_wiring.QFileDialog.getExistingDirectory",
        lambda *_: str(folder),
    )
    assert not second.window.close()
    second.keeping._dialog.save.click()
    assert not second.window.isVisible()
    (saved,) = folder.iterdir()
    assert read_take(saved).note_count == take.note_count


def test_ending_by_a_signal_asks_nothing_and_keeps_the_takes(
    companion, program, places, own_score, qtbot
):
    second = opened(program(str(own_score)), qtbot)
    for note in second.stand.score.notes[:9]:
        second.piano.play_on_screen(bytes((0x90, note.pitch, 70)))
        second.piano.play_on_screen(bytes((0x80, note.pitch, 64)))
    second.end()  # in the middle of a take
    assert not second.window.isVisible()
    (left,) = stand_ins_folder(places.history, places.cache).glob("*/history.sqlite3")
    with HistoryFile(left) as stand_in:
        (take,) = stand_in.takes_of(second.stand.piece.piece_id)
        assert take.note_count == 9


def test_full_disk_is_told_and_what_was_played_is_offered_and_kept_aside(
    told, companion, places, qtbot, monkeypatch
):
    def full(*_):
        raise HistoryUnavailable("The disk is full.")

    for name in ("begin_take", "write_chunk", "save_take"):
        monkeypatch.setattr(companion.history, name, full)
    take = play(companion, qtbot)
    was_told(qtbot, told, "disk is full")
    assert not companion.window.close()
    dialog = companion.keeping._dialog
    assert "without MIDI files it is lost" in dialog.accessibleDescription()
    dialog.close_window.click()
    assert not companion.window.isVisible()
    monkeypatch.undo()
    (left,) = stand_ins_folder(places.history, places.cache).glob("*/history.sqlite3")
    with HistoryFile(left) as stand_in:
        assert stand_in.take(take.take_id).piece_id == companion.stand.piece.piece_id


def test_offer_comes_back_behind_later_messages_until_it_is_taken_or_closed(companion, qtbot):
    strip, done = companion.window.messages, []
    strip.show_message(
        "It is broken.", button="Mend it", act=lambda: done.append(1), comes_back=True
    )
    strip.show_message("broken")  # says less than is said already
    assert strip._button.text() == "Mend it"
    strip.show_message("The take was moved.", Tone.CALM)
    assert strip.text == "The take was moved."
    strip._timer.timeout.emit()  # the time of the calm message is over
    assert strip.text == "It is broken."
    strip._button.click()
    assert (done, strip.text) == ([1], "")
    strip.show_message("Something else.")
    strip._close.click()
    assert strip.text == ""


def test_history_that_is_deleted_while_the_program_runs_is_there_again_with_the_take(
    told, companion, places, qtbot
):
    companion.history.path.unlink()
    take = play(companion, qtbot)
    was_told(qtbot, told, "was deleted or moved while it was open")
    assert companion.further.journal.flush(LONG_MS / 1000)
    companion.end()
    with HistoryFile(places.history) as history:
        assert len(history.take(take.take_id).events) == len(take.events)
        assert history.shelf()
