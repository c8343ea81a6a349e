"""Room for signs: as near as may be, touching nothing; and the lane on a real page."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtWidgets import QGraphicsScene

from companion.analysis.fingering.suggest import finger_score
from companion.analysis.grouping.proposal import propose_grouping
from companion.desktop.score_view.group_lane import FingerSign, GroupLane, GroupLine
from companion.desktop.score_view.harmony_lane import HarmonyLabel, HarmonyLane
from companion.desktop.score_view.lane_room import Rect, Room, pieces_of, turned
from companion.desktop.score_view.outlines import GlyphPaths
from companion.desktop.score_view.printing import ON_PAPER
from companion.desktop.score_view.score_index import ScoreIndex
from companion.desktop.score_view.sheet import SheetItem
from companion.resources import sample_scores_folder
from companion.score.engraving.engraver import engrave
from companion.score.engraving.model import Layout, Outline
from companion.score.reading.reader import read_score

places = st.floats(0, 40, allow_nan=False)
rects = st.builds(
    lambda x, y, width, height: Rect(x, -y, x + width, -y + height),
    places,
    st.floats(0, 8),
    st.floats(0.1, 6),
    st.floats(0.1, 3),
)


@given(st.lists(rects, max_size=12), places)
def test_a_sign_touches_nothing_and_never_comes_nearer_than_its_note(print_there, x):
    room = Room(print_there)
    bottom = room.free_bottom(x, x + 1.4, 0.0, 1.7)
    assert bottom <= 0.0
    if bottom < 0.0:
        assert not any(
            rect.left < x + 1.4
            and rect.right > x
            and rect.top < bottom
            and rect.bottom > bottom - 1.7
            for rect in print_there
        )


def test_a_sign_stands_beneath_words_that_leave_room_for_it():
    words = Rect(0.0, -6.0, 20.0, -4.0)
    assert Room([words]).free_bottom(5.0, 6.0, 0.0, 1.7) == 0.0
    assert Room([words]).free_bottom(5.0, 6.0, -3.0, 1.7) == -6.0


def test_a_slur_is_in_the_way_where_it_is_and_not_all_around():
    slur = Outline((("M", (0.0, 0.0)), ("C", (3.0, -8.0, 7.0, -8.0, 10.0, 0.0))), 0.1, filled=True)
    room = Room(pieces_of(slur, {}))
    assert room.free_bottom(4.5, 5.5, 0.0, 1.7) == 0.0
    assert room.free_bottom(0.0, 1.0, 0.0, 1.7) < 0.0


@given(rects)
def test_turning_the_page_twice_changes_nothing(rect):
    assert turned(turned(rect)) == rect


@pytest.fixture(scope="module")
def study():
    return read_score(sample_scores_folder() / "study_in_d_minor.musicxml")


@pytest.fixture(scope="module")
def page(study):
    pages = []
    engrave(study.musicxml, Layout(title=study.title), emit=pages.append)
    return pages[0]


@pytest.fixture
def drawn(qapp, study, page):
    """The first page with brackets and fingers; the scene keeps the items alive."""
    index = ScoreIndex()
    index.add_page(page)
    index.set_notes(study.notes, study.measures)
    scene = QGraphicsScene()
    sheet = SheetItem(page.width, page.height, "", ON_PAPER, cached=False)
    scene.addItem(sheet)
    for _ in sheet.build(page, GlyphPaths()):
        pass
    grouping = propose_grouping(study)
    hands = {note.note_id: note.playing_hand for note in study.notes}
    lane = GroupLane(index, {page.index: sheet}, ON_PAPER, cached=False)
    lane.set_content(
        [
            GroupLine(group.note_ids, group.goal_ids, run.run.hand)
            for run in grouping.runs
            for group in run.groups
        ],
        [
            FingerSign(note_id, finger, hands[note_id])
            for suggestion in finger_score(study, grouping=grouping)
            for note_id, finger in suggestion.fingers
        ],
    )
    lane.show(True)
    yield lane, sheet, page, index
    scene.clear()


def test_brackets_and_fingers_of_a_page_touch_no_notehead(drawn):
    lane, _, page, _ = drawn
    (item,) = lane._items[page.index]
    signs = item._drawn.paths[0][1]
    heads = [head.box for head in page.noteheads]
    assert heads
    assert not [
        box for box in heads if signs.intersects(_qrect(box.x, box.y, box.width, box.height))
    ]


def test_the_tempo_mark_moves_up_to_stand_above_them_and_back_when_they_are_hidden(drawn):
    lane, sheet, page, _ = drawn
    words = sheet.words_above[0]
    assert words.y() < 0
    (item,) = lane._items[page.index]
    moved = words.rect().translated(words.pos())
    assert not item._drawn.paths[0][1].intersects(moved)
    lane.show(False)
    assert words.y() == 0


def test_numerals_keep_clear_of_the_fingers_of_the_left_hand(drawn):
    lane, sheet, page, index = drawn
    last = page.systems[0].last_measure
    labels = [HarmonyLabel(measure, 0.0, "V65") for measure in range(last + 1)]
    below = [sign.rect for sign in lane.written_on(page.index) if sign.below and sign.system == 0]
    assert below

    def touching(**more):
        harmony = HarmonyLane(index, {page.index: sheet}, ON_PAPER, cached=False, **more)
        harmony.set_labels(labels)
        harmony.show(True)
        boxes = [harmony.box_of(number)[1] for number in range(len(labels))]
        harmony.show(False)
        return [
            box
            for box in boxes
            for rect in below
            if box.intersects(
                _qrect(rect.left, rect.top, rect.right - rect.left, rect.bottom - rect.top)
            )
        ]

    assert touching()
    assert not touching(signs_on=lane.written_on)


def _qrect(x, y, width, height):
    from PySide6.QtCore import QRectF

    return QRectF(x, y, width, height)
