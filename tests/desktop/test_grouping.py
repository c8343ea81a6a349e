"""Groups and fingers in the score, and drills that are listened to."""

from __future__ import annotations

import pytest

from companion.analysis.fingering.spans import HandSize
from companion.analysis.grouping.model import Way
from companion.history.drilled import DRILLED, events_of, record_of
from companion.practice.grouping import FINGERS, GROUPING
from companion.score.model import Hand

LONG_MS = 120_000


@pytest.fixture
def own_score():
    """The sample that is full of running notes, as it is."""
    from companion.resources import sample_scores_folder

    return sample_scores_folder() / "study_in_d_minor.musicxml"


@pytest.fixture
def wiring(companion, qtbot):
    wiring = companion.further.grouping
    companion.window.actions_by_id["show_groups"].setChecked(True)
    qtbot.waitUntil(lambda: wiring.grouping is not None, timeout=LONG_MS)
    return wiring


@pytest.fixture
def page(companion, wiring, qtbot):
    companion.further.drilling  # noqa: B018 - built now
    companion.window.actions_by_id["page_grouping"].trigger()
    page = companion.window.pages.grouping
    qtbot.waitUntil(lambda: bool(page.drill_titles), timeout=LONG_MS)
    return page


def a_note(wiring, step=2):
    return wiring.grouping.runs[0].run.steps[step][0]


def lane(companion):
    return companion.score_view._groups


def trigger(companion, name):
    companion.window.actions_by_id[name].trigger()


def test_groups_are_drawn_and_a_clicked_note_names_its_group(companion, wiring):
    assert lane(companion).groups
    companion.score_view.note_clicked.emit(a_note(wiring))
    assert companion.window.group_row.words.startswith("Right hand, measure 1:")


def test_a_border_is_set_kept_undone_and_redone(companion, wiring, qtbot):
    piece_id = companion.stand.piece.piece_id
    before = wiring.grouping
    wiring.choose_note(a_note(wiring, 3))
    companion.window.group_row.border_asked.emit()
    assert wiring.grouping.runs[0].begins != before.runs[0].begins
    assert companion.history.document(piece_id, GROUPING)
    trigger(companion, "undo")
    qtbot.waitUntil(lambda: wiring.grouping == before, timeout=LONG_MS)
    assert companion.history.document(piece_id, GROUPING) == ""
    trigger(companion, "redo")
    qtbot.waitUntil(
        lambda: wiring.grouping is not None and wiring.grouping != before, timeout=LONG_MS
    )


def test_a_run_is_grouped_in_another_way_and_back(companion, wiring):
    before = wiring.grouping.runs[0].begins
    wiring.choose_note(a_note(wiring))
    row = companion.window.group_row
    row.way_chosen.emit(Way.BEAT)
    assert wiring.grouping.runs[0].way is Way.BEAT
    assert wiring.grouping.runs[0].begins != before
    row.reset_asked.emit()
    assert wiring.grouping.runs[0].begins == before


def test_several_fingers_are_suggested_and_one_suggestion_is_set(companion, wiring):
    wiring.choose_note(a_note(wiring))
    row = companion.window.group_row
    row.fingers_asked.emit()
    assert sum("point" in text for text in row.finger_texts) >= 2
    row.suggestion_taken.emit(0)
    group = wiring.grouping.group_of(a_note(wiring))
    assert set(wiring.fingers.by_id) == set(group.note_ids)
    assert len(lane(companion).fingers) == len(group.note_ids)
    trigger(companion, "undo")
    assert wiring.fingers.fingers == ()
    assert companion.history.document(companion.stand.piece.piece_id, FINGERS) == ""


def test_a_finger_that_is_set_is_kept_in_every_suggestion(companion, wiring):
    note_id = a_note(wiring)
    wiring.choose_note(note_id)
    companion.window.group_row.finger_set.emit(3)
    wiring._suggest()
    assert all(dict(each.fingers)[note_id] == 3 for each in wiring._suggestions)


def test_the_whole_piece_is_fingered_in_the_background_and_hidden_again(companion, wiring, qtbot):
    companion.further.fingers  # noqa: B018 - built now
    row = companion.window.group_row
    row.whole_piece_toggled.emit(True)
    qtbot.waitUntil(lambda: bool(lane(companion).fingers), timeout=LONG_MS)
    shown = lane(companion).fingers
    assert len(shown) == sum(note.expected for note in companion.stand.score.notes)
    assert not any(sign.own for sign in shown)
    wiring.choose_note(a_note(wiring))
    row.finger_set.emit(3)
    qtbot.waitUntil(lambda: companion.further.fingers._job is None, timeout=LONG_MS)
    assert sum(sign.own for sign in lane(companion).fingers) == 1
    row.whole_piece_toggled.emit(False)
    assert len(lane(companion).fingers) == 1


def test_looking_for_fingers_can_be_cancelled(companion, wiring, qtbot):
    companion.further.fingers  # noqa: B018 - built now
    companion.window.group_row.whole_piece_toggled.emit(True)
    assert companion.window.progress.isVisibleTo(companion.window)
    companion.window.progress.cancel_asked.emit()
    qtbot.waitUntil(lambda: companion.further.fingers._job is None, timeout=LONG_MS)
    assert not companion.window.progress.isVisibleTo(companion.window)


def test_own_hands_are_checked_kept_for_the_pianist_and_asked(companion, wiring):
    dialog = companion.further.fingers.ask_for_hands()
    dialog.set_stretch(Hand.RIGHT, (1, 4), 19)
    assert "enclose" in dialog.trouble
    assert not dialog._ok.isEnabled()
    dialog.set_stretch(Hand.RIGHT, (1, 4), 14)
    dialog.set_stretch(Hand.RIGHT, (1, 5), 17)
    assert dialog.trouble == ""
    dialog.accept()
    assert wiring.hands.right.span(1, 5).max_practical == 17
    assert wiring.hands.left.size is HandSize.MEDIUM
    assert companion.view.settings.right_hand.split()[3] == "17"


def test_printed_fingers_are_kept_and_not_written_twice(companion, wiring):
    group = wiring.grouping.group_of(a_note(wiring))
    first = group.note_ids[0]
    wiring._printed = {first: 5}
    wiring.choose_note(first)
    row = companion.window.group_row
    row.fingers_asked.emit()
    assert "Keep to the printed fingers" in [text.replace("&", "") for text in row.finger_texts]
    assert all(dict(each.fingers)[first] == 5 for each in wiring._suggestions)
    row.suggestion_taken.emit(0)
    assert first not in wiring.fingers.by_id
    assert first not in {sign.note_id for sign in lane(companion).fingers}
    row.printed_toggled.emit(False)
    assert wiring.locked.get(first) is None
    row.finger_set.emit(2)
    assert (first, 2) in {(sign.note_id, sign.finger) for sign in lane(companion).fingers}


def test_a_note_outside_all_runs_is_told(companion, wiring):
    inside = {n for run in wiring.grouping.runs for n in run.run.note_ids}
    outside = next(n.note_id for n in companion.stand.score.notes if n.note_id not in inside)
    wiring.choose_note(outside)
    assert companion.window.group_row.words == "This note is in no run of equal short notes."


def play(companion, drill, *, quarter_seconds=0.6, late_ms=0.0):
    """Play a drill into the piano, as messages with times of their own."""
    from companion.midi.listener import TimedMessage

    origin = 100.0
    for step in drill.steps:
        at = origin + float(step.onset_quarters) * quarter_seconds
        at += late_ms / 1000 * step.group
        for note_id in step.note_ids:
            key = next(n.pitch for n in drill.notes if n.note_id == note_id)
            companion.piano.heard_aside.emit(TimedMessage(at, bytes((0x90, key, 70))))
            off = TimedMessage(at + 0.05, bytes((0x80, key, 0)))
            companion.piano.heard_aside.emit(off)


def test_a_drill_is_listened_to_judged_and_kept_beside_the_takes(companion, wiring, page):
    drilling = companion.further.drilling
    takes_before = companion.history.take_ids()
    page.group_chosen.emit(1)
    two = next(d for d in drilling._drills if d.title.startswith("Two groups"))
    page.choose_drill(two.drill_id)
    page._play.click()
    play(companion, two, late_ms=80.0)
    drilling._judge()
    assert page.results.startswith("Try 1, clean")
    assert "+80 ms at the borders" in page.results
    piece_id = companion.stand.piece.piece_id
    (entry,) = companion.history.entries_of(piece_id, DRILLED)
    assert record_of(entry).clean == 1
    assert record_of(entry).border_delay_ms == pytest.approx(80.0, abs=1.0)
    assert len(events_of(entry)) == 2 * len(two.note_ids)
    page._play.click()
    assert companion.history.take_ids() == takes_before


def test_the_rhythm_of_a_drill_is_shown_in_notes(companion, wiring, page, qtbot):
    drilling = companion.further.drilling
    page.group_chosen.emit(1)
    widths = []
    for words in ("One group", "Long-short"):
        drill = next(d for d in drilling._drills if d.title.startswith(words))
        page.choose_drill(drill.drill_id)
        qtbot.waitUntil(
            lambda d=drill: d.drill_id in wiring._engraved and not page.notation.isNull(),
            timeout=LONG_MS,
        )
        assert page._notation.accessibleDescription().startswith(words)
        heads = wiring._engraved[drill.drill_id].noteheads
        assert len(heads) == sum(len(step.note_ids) for step in drill.steps)
        widths.append(page.notation.width())
    assert widths[1] > widths[0]


def test_leaving_the_page_ends_the_drill(companion, wiring, page):
    page._play.click()
    assert companion.piano._aside
    trigger(companion, "page_score")
    assert not companion.piano._aside


def test_another_drill_ends_the_one_before(companion, wiring, page):
    page._play.click()
    page.choose_drill(companion.further.drilling._drills[1].drill_id)
    assert not companion.piano._aside


def test_the_drills_of_a_group_open_from_the_score(companion, wiring, page):
    trigger(companion, "page_score")
    note_id = wiring.grouping.runs[1].run.steps[1][0]
    wiring.choose_note(note_id)
    companion.window.group_row.drill_asked.emit()
    assert companion.window.page == "page_grouping"
    assert page.chosen_run_id == wiring.grouping.runs[1].run.run_id
