"""Key and chord under the score: analysed, shown, corrected, kept, undone."""

from __future__ import annotations

from itertools import pairwise

import pytest
from PySide6.QtGui import QPdfWriter

from companion.analysis.corrections import text_to_corrections
from companion.desktop.harmony.wording import spaced
from companion.practice.harmony import CORRECTIONS

LONG_MS = 120_000


def trigger(companion, name):
    companion.window.actions_by_id[name].trigger()


@pytest.fixture
def wiring(companion, qtbot):
    wiring = companion.further.harmony
    companion.window.actions_by_id["show_harmony"].setChecked(True)
    qtbot.waitUntil(lambda: wiring.harmony is not None, timeout=LONG_MS)
    qtbot.waitUntil(lambda: companion.score_view.is_complete, timeout=LONG_MS)
    return wiring


def lane(companion):
    return companion.score_view._harmony


def first_label(companion):
    return lane(companion).labels[0]


def test_numerals_stand_below_their_system_and_above_the_next(companion, wiring):
    index = companion.score_view._index
    assert len(lane(companion).labels) == len(wiring.harmony.spans)
    assert first_label(companion).key
    for number in range(len(lane(companion).labels)):
        page, box = lane(companion).box_of(number)
        measure = index.measure(lane(companion).labels[number].measure_index)
        assert measure.page == page
        assert box.top() >= measure.system.box.bottom
        below = [s for s in index.pages[page].systems if s.index == measure.system.index + 1]
        assert all(box.bottom() <= system.box.y for system in below)


def test_no_numeral_stands_on_another(companion, wiring):
    boxes = [lane(companion).box_of(n) for n in range(len(lane(companion).labels))]
    for (page, box), (next_page, next_box) in pairwise(boxes):
        assert page != next_page or not box.intersects(next_box)


def test_the_lane_can_be_hidden(companion, wiring):
    companion.window.actions_by_id["show_harmony"].setChecked(False)
    assert lane(companion).box_of(0) is None


def test_another_reading_is_written_into_the_score_and_undone(companion, wiring):
    span = wiring.harmony.spans[1]
    dialog = wiring.ask(span)
    dialog.type("a: V4/3")
    assert dialog.understood == "A minor, V 4/3"
    dialog.accept()
    assert wiring.harmony.spans[1].numeral == "V43"
    assert lane(companion).labels[1].own
    kept = companion.history.document(companion.stand.piece.piece_id, CORRECTIONS)
    assert [each.numeral for each in text_to_corrections(kept)] == ["V43"]
    trigger(companion, "undo")
    assert wiring.harmony.spans[1].numeral == span.numeral
    assert companion.history.document(companion.stand.piece.piece_id, CORRECTIONS) == ""


def test_a_numeral_alone_is_read_in_the_key_that_stands_there(companion, wiring):
    dialog = wiring.ask(wiring.harmony.spans[0])
    dialog.type("IV6")
    assert dialog.understood.startswith(wiring.harmony.spans[0].key.spoken_name)
    dialog.reject()


def test_what_makes_no_sense_cannot_be_written(companion, wiring):
    dialog = wiring.ask(wiring.harmony.spans[0])
    dialog.type("banana")
    assert dialog.understood.startswith("Not understood")
    assert not dialog._ok.isEnabled()
    dialog.reject()


def test_the_analysis_comes_back_where_a_correction_is_given_up(companion, wiring):
    before = wiring.harmony.spans[0].numeral
    dialog = wiring.ask(wiring.harmony.spans[0])
    dialog.type("bVI")
    dialog.accept()
    assert wiring.harmony.spans[0].numeral != before
    wiring.ask(wiring.harmony.spans[0])._restore()
    assert wiring.harmony.spans[0].numeral == before


def test_the_place_being_played_is_named(companion, wiring):
    span = wiring.harmony.spans[2]
    assert wiring.name_at(span.start_quarters) == (
        f"{span.key.spoken_name}, {spaced(span.numeral)}"
    )
    assert wiring.name_at(-5) == ""


def test_corrections_are_there_when_the_piece_is_opened_again(companion, wiring, qtbot):
    dialog = wiring.ask(wiring.harmony.spans[0])
    dialog.type("bVI")
    dialog.accept()
    with qtbot.waitSignal(companion.stand.piece_laid, timeout=LONG_MS):
        companion.shelf.open_piece(companion.stand.piece.piece_id)
    qtbot.waitUntil(lambda: wiring.harmony is not None, timeout=LONG_MS)
    assert wiring.harmony.spans[0].numeral == "bVI"


def test_the_lane_is_printed_with_the_score(companion, wiring, tmp_path):
    def printed(name):
        writer = QPdfWriter(str(tmp_path / name))
        companion.score_view.print_score(writer)
        return (tmp_path / name).stat().st_size

    with_lane = printed("with.pdf")
    companion.window.actions_by_id["show_harmony"].setChecked(False)
    assert printed("without.pdf") < with_lane
