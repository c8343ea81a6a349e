"""Naming key and chord away from the keyboard: typed, played, given up; kept over days."""

from __future__ import annotations

import pytest

from companion.analysis.harmony import HarmonySpan
from companion.analysis.spelling import pitch_class
from companion.history.recited import RECITED, recited_of

LONG_MS = 120_000


@pytest.fixture
def reciting(companion, qtbot):
    wiring = companion.further.reciting
    companion.window.actions_by_id["page_harmony"].trigger()
    qtbot.waitUntil(lambda: companion.further.harmony.harmony is not None, timeout=LONG_MS)
    return wiring


@pytest.fixture
def page(companion, reciting):
    return companion.window.pages.harmony


def place(reciting) -> HarmonySpan:
    return reciting._places[reciting._asked]


def right_answer(span):
    return f"{span.key.spoken_name}: {span.numeral}"


def kept(companion):
    piece_id = companion.stand.piece.piece_id
    return [recited_of(entry) for entry in companion.history.entries_of(piece_id, RECITED)]


def answer(page, text):
    page.recite._answer.setText(text)
    page.recite._give.click()


def test_the_key_plan_names_the_keys_in_order(companion, page):
    areas = companion.further.harmony.harmony.key_areas
    assert page.key_lines == tuple(area.key.spoken_name for area in areas)


def test_right_answers_are_counted_kept_and_summed_up(companion, reciting, page):
    page.recite.begun.emit("", 3)
    for _ in range(3):
        assert "easure" in page.recite._place.text()
        answer(page, right_answer(place(reciting)))
        assert page.recite._reading.text()
        page.recite._give.click()
    assert page.recite.summary == "3 of 3 named all right."
    assert [each.all_right for each in kept(companion)] == [True, True, True]
    total = [
        companion.further.reciting._page._recited.line(row).recited.asked
        for row in range(page._recited.rowCount())
    ]
    assert sum(total) >= 3


def test_what_is_not_understood_is_not_counted(companion, reciting, page):
    page.recite.begun.emit("", 1)
    answer(page, "banana")
    assert page.recite._heard.text().startswith("This is not understood")
    assert page.recite.asking
    assert kept(companion) == []


def test_what_is_given_up_counts_as_wrong(companion, reciting, page):
    page.recite.begun.emit("", 1)
    page.recite._pass.click()
    assert page.recite._reading.text().startswith(place(reciting).key.spoken_name)
    page.recite._give.click()
    assert page.recite.summary == "0 of 1 named all right."
    assert [each.parts for each in kept(companion)] == [(False, False, False, False)]


def test_a_chord_held_on_the_piano_is_an_answer_and_no_take(companion, reciting, page, qtbot):
    takes_before = companion.history.take_ids()
    page.recite.begun.emit("", 1)
    span = place(reciting)
    fifths = span.chord.notes_fifths(span.key.tonic_fifths)
    members = [pitch_class(each) for each in fifths]
    bass = members[span.inversion]
    keys = [36 + bass, *(60 + member for member in members if member != bass)]
    for key in keys:
        companion.piano.play_on_screen(bytes((0x90, key, 70)))
    qtbot.waitUntil(lambda: not page.recite.asking, timeout=5000)
    for key in keys:
        companion.piano.play_on_screen(bytes((0x80, key, 0)))
    assert kept(companion)[0].parts == (None, True, True, True)
    page.recite._give.click()
    companion.piano.end_take()
    assert companion.history.take_ids() == takes_before


def test_after_the_last_place_the_piano_is_listened_to_again(companion, reciting, page, qtbot):
    page.recite.begun.emit("", 1)
    page.recite.ended.emit()
    companion.piano.play_on_screen(bytes((0x90, 60, 70)))
    companion.piano.play_on_screen(bytes((0x80, 60, 0)))
    assert companion.piano.sitting.in_take


def test_only_places_of_the_chosen_section_are_asked(companion, reciting, page):
    section = companion.stand.section_map.leaves[1]
    page.recite.begun.emit(section.section_id, 50)
    assert reciting._places
    assert all(section.contains(span.position) for span in reciting._places)


def test_the_notes_can_be_shown_and_that_is_kept(companion, reciting, page):
    page.recite._show_notes.setChecked(True)
    page.recite.begun.emit("", 1)
    assert page.recite._picture.isVisibleTo(page)
    assert page.recite._picture.pixmap().width() > 100
    answer(page, right_answer(place(reciting)))
    assert kept(companion)[0].with_score


def test_another_piece_ends_the_questions(companion, reciting, page, qtbot):
    page.recite.begun.emit("", 2)
    with qtbot.waitSignal(companion.stand.piece_laid, timeout=LONG_MS):
        companion.shelf.open_piece(companion.stand.piece.piece_id)
    assert not reciting._places
