"""Commands from the piano, marked spots, and care for the hands."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from fractions import Fraction

import pytest

from companion.desktop.piano_keys_dialog import PianoKeysDialog, trigger_name
from companion.history.model import Take, TakeSource, new_id
from companion.history.spots import SPOTS, spots_from
from companion.midi.commands import Trigger, TriggerKind
from companion.score.model import Position

LONG_MS = 120_000
LOWEST = bytes([0x90, 21, 64])


@pytest.mark.parametrize(
    ("trigger", "name"),
    [
        (None, "none"),
        (Trigger(TriggerKind.KEY, 21), "key A0"),  # the lowest of 88 keys
        (Trigger(TriggerKind.PEDAL, 67), "left pedal"),
    ],
)
def test_keys_and_pedals_have_the_names_that_pianists_use(qapp, trigger, name):
    assert trigger_name(trigger) == name


def test_only_one_row_waits_for_its_key(qtbot):
    dialog = PianoKeysDialog({"one": "First", "two": "Second"})
    qtbot.addWidget(dialog)
    armed = []
    dialog.armed.connect(armed.append)
    dialog._press["one"].click()
    dialog._press["two"].click()
    dialog.chosen()
    assert armed == ["one", "two", ""]
    assert not any(press.isChecked() for press in dialog._press.values())


def test_a_key_is_learnt_by_pressing_it_and_then_is_no_music(companion, qtbot):
    wiring, piano = companion.further.commanding, companion.further.piano
    dialog = wiring.ask()
    dialog._press["mark_spot"].click()
    piano.play_on_screen(LOWEST)
    piano.play_on_screen(bytes([0x80, 21, 0]))
    assert dialog._shown["mark_spot"].text() == "key A0"
    dialog.reject()
    begun = []
    piano.take_begun.connect(begun.append)
    with qtbot.waitSignal(piano.commanded) as told:
        piano.play_on_screen(LOWEST)
    assert told.args == ["mark_spot"]
    assert begun == []


def test_a_spot_is_kept_shown_on_the_page_of_today_and_undone(companion, qtbot):
    today = companion.further.today
    today.mark_spot(Position(2, Fraction(1)))
    kept = companion.stand.document(SPOTS)
    assert [spot.position for spot in spots_from(kept)] == [Position(2, Fraction(1))]
    assert "Measure 3 is marked." in companion.window.messages.text
    companion.window.show_page("page_today")
    page = companion.window.pages.today
    qtbot.waitUntil(lambda: len(page.content.spots) == 1, timeout=LONG_MS)
    assert page.content.spots[0].text.startswith("Measure 3, marked ")
    page._remove_spot.click()
    assert companion.stand.document(SPOTS) == ""
    companion.window.actions_by_id["undo"].trigger()
    assert companion.stand.document(SPOTS) == kept


def test_the_next_turn_is_shown_in_words(companion, qtbot):
    companion.window.actions_by_id["next_turn"].trigger()
    qtbot.waitUntil(lambda: companion.window.messages.text.startswith("Next: "), timeout=LONG_MS)


def a_take(minutes, ago_minutes=0.0):
    begun = datetime.now(UTC) - timedelta(minutes=minutes + ago_minutes)
    return Take(
        take_id=new_id(),
        piece_id=None,
        started_at=begun,
        zone="UTC",
        source=TakeSource.PIANO,
        duration_seconds=60.0 * minutes,
        note_count=2,
    )


def test_a_break_is_proposed_after_25_minutes_of_playing_and_blocks_nothing(companion):
    care, messages = companion.further.care, companion.window.messages
    care.take_finished(a_take(14, ago_minutes=14.5))
    assert "a break" not in messages.text
    care.take_finished(a_take(14))
    assert "28 minutes: a break of five would be good" in messages.text
    assert companion.window.isEnabled()


def test_no_break_is_proposed_to_who_wants_none(companion):
    companion.further.settings.change("break_after_minutes", 0)
    companion.further.care.take_finished(a_take(60))
    assert "a break" not in companion.window.messages.text


def test_a_sudden_rise_of_the_weeks_is_told_with_what_it_was_before(companion, qtbot):
    for week, minutes in ((1, 60), (2, 60), (3, 60), (0, 150)):
        take = a_take(minutes, ago_minutes=60 * 24 * 7 * week + 60)
        companion.history.save_take(take)
    care, told = companion.further.care, []
    care.told.connect(told.append)
    qtbot.waitUntil(lambda: not care._reading.busy, timeout=LONG_MS)
    care.use_calendar(companion.further.today._calendar)
    qtbot.waitUntil(lambda: bool(told), timeout=LONG_MS)
    assert told[-1][0].startswith("2.5 hours in the last seven days, 60 minutes a week before")
