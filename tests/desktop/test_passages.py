"""Passages of a take: in words, on the map, and browsed one by one in the window."""

from __future__ import annotations

import time

import pytest

from companion.desktop.score_view.marks import MarkKind
from companion.history.model import TakeSource
from companion.listening.notes import Verdict
from companion.midi.listener import TimedMessage

LONG_MS = 120_000  # for worker processes on a busy machine; never waited for where all is well


def play(companion, stretches, *, wrong=()):
    """Play measures of the score through the piano; ``wrong`` are the strokes to spoil."""
    score, clock, stroke = companion.stand.score, time.perf_counter(), 0
    messages = []
    for first, last in stretches:
        start = score.measures[first].start_quarters
        for note in score.notes:
            if not first <= note.measure_index <= last:
                continue
            at = clock + float(note.onset_quarters - start) * 0.5
            pitch = note.pitch + (1 if stroke in wrong else 0)
            stroke += 1
            messages.append((at, bytes((0x90, pitch, 70))))
            messages.append((at + float(note.duration_quarters) * 0.45, bytes((0x80, pitch, 0))))
        clock += float(score.measures[last].end_quarters - start) * 0.5 + 0.2
    for at, message in sorted(messages, key=lambda one: one[0]):
        companion.piano._hear(TimedMessage(at, message), TakeSource.SCREEN)


@pytest.fixture
def played(companion, qtbot):
    """A take: measures 1 to 6, then again from 3, with a wrong key in the second passage."""
    companion.piano._tick_timer.stop()  # the take is played faster than the clock goes
    companion.piano.sitting.wait_for_follower(LONG_MS / 1000)
    notes = companion.stand.score.notes
    first = sum(note.measure_index <= 5 for note in notes)
    play(companion, [(0, 5), (2, 4)], wrong={first + 8})
    qtbot.waitUntil(lambda: bool(companion.window.map_view.overlay.leaps), timeout=LONG_MS)
    companion.live_leaps = companion.window.map_view.overlay.leaps
    companion.live_marks = companion.score_view.marks
    companion.piano.sitting.finish()
    qtbot.waitUntil(lambda: companion.window.passage_row.isVisible(), timeout=LONG_MS)
    return companion


def trigger(companion, name):
    companion.window.actions_by_id[name].trigger()


def test_return_is_drawn_while_playing_and_after_the_take(played):
    assert [leap.goes_back for leap in played.live_leaps] == [True]
    leaps = played.window.map_view.overlay.leaps
    assert [leap.end.measure_index for leap in leaps] == [2]
    assert leaps[0].start.measure_index >= 5


def test_right_and_wrong_keys_are_marked_while_playing(played):
    kinds = [mark.kind for mark in played.live_marks]
    assert kinds.count(MarkKind.RIGHT) > 20
    assert MarkKind.WRONG in kinds


def test_passages_are_browsed_one_by_one(played):
    row, overlay = played.window.passage_row, played.window.map_view.overlay
    assert row.words == "The whole take, 2 passages"
    trigger(played, "passage_after")
    assert row.words.startswith("Passage 1 of 2: measures 1–")
    assert MarkKind.WRONG not in {mark.kind for mark in played.score_view.marks}
    trigger(played, "passage_after")
    assert row.words == "Passage 2 of 2: measures 3–5, both hands, after a restart"
    assert MarkKind.WRONG in {mark.kind for mark in played.score_view.marks}
    assert overlay.stretch is not None
    assert overlay.stretch.start.measure_index == 2
    assert overlay.chosen_leap == overlay.leaps[0]
    assert not played.window.actions_by_id["passage_after"].isEnabled()


def test_figures_are_those_of_the_passage_that_is_shown(played):
    def figures():
        return {line.title: line.value for line in played.window.listener.figures}

    def words():
        return played.window.listener._take.text()

    def right_in(passage):
        match = played.takes.passages._worked.match
        return sum(n.verdict is Verdict.RIGHT and n.passage == passage for n in match.notes)

    wholly = figures()
    assert wholly["Right"].startswith(f"{right_in(0) + right_in(1)} of ")
    assert wholly["Wrong"] == "1"
    trigger(played, "passage_after")
    assert figures()["Right"] == f"{right_in(0)} of {right_in(0)}"
    assert (figures()["Wrong"], figures()["Accuracy"]) == ("0", "100 %")
    assert words() == "The last take, passage 1 of 2: both hands"
    trigger(played, "passage_after")
    assert figures()["Right"].startswith(f"{right_in(1)} of ")
    assert figures()["Wrong"] == "1"
    trigger(played, "whole_take")
    assert figures() == wholly
    assert words() == "The last take: both hands"


def test_whole_take_comes_back(played):
    for name in ("passage_after", "passage_after", "whole_take"):
        trigger(played, name)
    assert played.takes.passages.chosen is None
    assert played.window.map_view.overlay.stretch is None
    assert MarkKind.WRONG in {mark.kind for mark in played.score_view.marks}


def test_new_take_clears_what_was_shown_of_the_last(played):
    play(played, [(0, 0)])
    assert not played.window.passage_row.isVisible()
    assert played.window.map_view.overlay.leaps == ()


def test_map_is_painted_with_returns_and_stretch(played):
    view = played.window.map_view
    before = view.grab().toImage()
    trigger(played, "passage_after")
    trigger(played, "passage_after")
    assert view.grab().toImage() != before


def test_marks_of_the_last_take_are_there_again_at_the_next_start_and_can_be_put_away(
    played, program, qtbot
):
    marks = played.score_view.marks
    played.end()
    again = program(None)
    again.spare_time.finish()
    row = again.window.passage_row
    qtbot.waitUntil(lambda: not row.isHidden(), timeout=LONG_MS)
    assert row.words.startswith("Take of ")
    assert again.score_view.marks == marks
    assert again.window.page == "page_score"
    trigger(again, "put_marks_away")
    assert row.isHidden()
    assert again.score_view.marks == []
    assert not again.window.actions_by_id["put_marks_away"].isEnabled()
