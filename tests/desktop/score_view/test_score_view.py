"""The engraved score in a window, seen and used as a pianist does."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from PySide6.QtCore import QEvent, QObject, QPoint, QPointF, Qt
from PySide6.QtGui import QImage, QPdfWriter
from PySide6.QtWidgets import QStackedWidget, QWidget

from companion.desktop.palette import NIGHT
from companion.desktop.score_view.ink import InkItem
from companion.desktop.score_view.marks import ON_A_NOTE, Mark, MarkKind
from companion.desktop.score_view.pencil import sign_path
from companion.desktop.score_view.score_palette import ScorePalette
from companion.desktop.score_view.score_view import ScoreView
from companion.score.engraving.model import Layout
from companion.score.model import Position

DRAWN_KINDS = [kind for kind in MarkKind if kind is not MarkKind.RIGHT]
BETWEEN_THE_NOTES = [kind for kind in MarkKind if kind not in ON_A_NOTE]


def pixels(view: ScoreView) -> np.ndarray:
    image = view._canvas.viewport().grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    raw = np.frombuffer(image.constBits(), np.uint8)
    return raw.reshape(image.height(), image.bytesPerLine() // 4, 4)[:, : image.width(), :3].copy()


def viewport_point(view: ScoreView, page: int, x: float, y: float) -> QPoint:
    sheet = view._desk.sheets[page]
    return view._canvas.mapFromScene(sheet.mapToScene(QPointF(x, y)))


def head_in_sight(view: ScoreView, number: int = 5):
    return view._index.pages[0].noteheads[number]


def changed_box(before: np.ndarray, after: np.ndarray) -> tuple[int, int, int, int]:
    rows, columns = np.nonzero((before != after).any(axis=2))
    return columns.min(), rows.min(), columns.max(), rows.max()


def test_every_note_of_the_score_can_be_addressed(view, score):
    for note in score.notes:
        placed = view._index.head(note.note_id)
        assert placed is not None
        assert note.note_id in view._desk.sheets[placed.page].heads


def test_every_tied_on_head_can_be_addressed_too(view, score):
    assert all(view._index.head(tied) for note in score.notes for tied in note.tied_ids)


@pytest.mark.parametrize("kind", [MarkKind.WRONG, MarkKind.MISSED, MarkKind.RIGHT])
def test_mark_on_a_note_changes_pixels_at_that_note_only(view, kind):
    head = head_in_sight(view)
    centre = viewport_point(view, 0, head.box.centre_x, head.box.centre_y)
    before = pixels(view)
    view.mark_note(head.note_id, kind)
    left, top, right, bottom = changed_box(before, pixels(view))
    reach = 2 * view.pixels_per_space
    assert left >= centre.x() - reach
    assert right <= centre.x() + reach
    assert top >= centre.y() - reach
    assert bottom <= centre.y() + reach


def test_wrong_note_carries_the_name_of_the_key_that_was_played(view):
    head = head_in_sight(view)
    view.mark_note(head.note_id, MarkKind.WRONG)
    without = pixels(view)
    view.mark_note(head.note_id, MarkKind.WRONG, "F#5")
    assert (without != pixels(view)).any()


@pytest.mark.parametrize("kind", BETWEEN_THE_NOTES)
def test_mark_between_the_notes_is_drawn_near_its_place(view, score, kind):
    view.set_notes(score.notes, score.measures)
    before = pixels(view)
    view.add_mark(Mark(kind=kind, position=Position(1, Fraction(1))))
    left, top, right, bottom = changed_box(before, pixels(view))
    measure = view._index.measure(1).measure
    corner = viewport_point(view, 0, measure.box.x, measure.box.y)
    end = viewport_point(view, 0, measure.box.right, measure.box.bottom)
    room = 6 * view.pixels_per_space
    assert corner.x() - room <= left
    assert right <= end.x() + room
    assert corner.y() - room <= top
    assert bottom <= end.y() + room


def test_signs_differ_in_shape_and_not_only_in_colour():
    """Black on white, no two signs cover the same area."""
    shapes = {kind: sign_path(kind, "same seed") for kind in DRAWN_KINDS}
    for kind, path in shapes.items():
        for other, other_path in shapes.items():
            if kind is other:
                continue
            alone = path.subtracted(other_path)
            assert not alone.isEmpty(), f"{kind} lies wholly inside {other}"


def test_sign_is_the_same_each_time_it_is_drawn():
    assert sign_path(MarkKind.MISSED, "n12") == sign_path(MarkKind.MISSED, "n12")


def test_two_notes_are_not_struck_through_alike():
    drawn = {str(sign_path(MarkKind.WRONG, f"n{n}").boundingRect()) for n in range(40)}
    assert len(drawn) > 5


def test_erasing_all_marks_leaves_the_page_as_it_was(view, score):
    view.set_notes(score.notes, score.measures)
    before = pixels(view)
    for number, kind in enumerate((MarkKind.WRONG, MarkKind.MISSED, MarkKind.RIGHT)):
        view.mark_note(head_in_sight(view, number).note_id, kind, "C5")
    view.add_mark(Mark(kind=MarkKind.STOP, position=Position(2)))
    assert (before != pixels(view)).any()
    view.set_marks([])
    assert view.is_complete
    assert (before == pixels(view)).all()
    assert view.marks == []


def test_marking_a_note_again_replaces_its_mark(view):
    head = head_in_sight(view)
    view.mark_note(head.note_id, MarkKind.MISSED)
    view.mark_note(head.note_id, MarkKind.WRONG, "D4")
    assert [mark.kind for mark in view.marks] == [MarkKind.WRONG]


def test_marks_written_before_the_page_is_built_appear_on_it(qtbot, pages, palette):
    widget = ScoreView(palette)
    qtbot.addWidget(widget)
    widget.set_layout(Layout())
    note_id = pages[0].noteheads[3].note_id
    widget.mark_note(note_id, MarkKind.WRONG)
    widget.add_page(pages[0])
    qtbot.waitUntil(lambda: widget.is_complete)
    assert widget._marks.item(widget.marks[0]) is not None


def test_page_sent_again_keeps_its_marks(qtbot, view, pages):
    note_id = pages[0].noteheads[3].note_id
    view.mark_note(note_id, MarkKind.MISSED)
    view.add_page(pages[0])
    qtbot.waitUntil(lambda: view.is_complete)
    assert view._marks.item(view.marks[0]).scene() is view._scene


class PaintedShares(QObject):
    """Notes which share of the viewport each paint event covers."""

    def __init__(self, viewport):
        super().__init__(viewport)
        self.shares: list[float] = []
        viewport.installEventFilter(self)

    def eventFilter(self, watched, event):
        if event.type() == QEvent.Type.Paint:
            whole = watched.width() * watched.height()
            self.shares.append(sum(r.width() * r.height() for r in event.region()) / whole)
        return False


@pytest.mark.parametrize("kind", [MarkKind.RIGHT, MarkKind.WRONG, MarkKind.MISSED])
def test_marking_a_note_repaints_a_small_part_of_the_view(qtbot, view, kind):
    qtbot.waitUntil(view.isVisible)
    view._canvas.viewport().repaint()
    painted = PaintedShares(view._canvas.viewport())
    view.mark_note(head_in_sight(view).note_id, kind)
    qtbot.waitUntil(lambda: bool(painted.shares))
    assert sum(painted.shares) < 0.02


def test_added_notes_at_one_place_stand_below_each_other(view, score):
    view.set_notes(score.notes, score.measures)
    marks = [Mark(kind=MarkKind.ADDED, position=Position(1), label=n) for n in ("C5", "D5", "E5")]
    for mark in marks:
        view.add_mark(mark)
    heights = sorted(view._marks.item(mark).pos().y() for mark in marks)
    assert np.diff(heights).min() > 2


def test_note_that_is_hidden_in_print_is_marked_at_its_time(view, score):
    hidden = replace(score.notes[4], note_id="hidden")
    view.set_notes([*score.notes, hidden], score.measures)
    mark = Mark(kind=MarkKind.MISSED, note_id="hidden")
    view.add_mark(mark)
    near = view._index.head(score.notes[4].note_id).head.box
    assert view._marks.item(mark).pos().x() == pytest.approx(near.centre_x, abs=1.5)


def test_mark_on_a_note_of_another_score_is_kept_and_draws_nothing(view):
    before = pixels(view)
    view.mark_note("no such note", MarkKind.WRONG, "C5")
    assert (before == pixels(view)).all()


def test_section_chosen_before_its_page_comes_is_tinted_when_it_does(qtbot, pages, palette):
    widget = ScoreView(palette)
    qtbot.addWidget(widget)
    widget.set_layout(Layout())
    widget.highlight_section(Position(0), Position(2))
    widget.add_page(pages[0])
    qtbot.waitUntil(lambda: widget.is_complete)
    assert widget._bands._section


def test_section_that_begins_inside_a_measure_is_tinted_from_there(view, score):
    view.set_notes(score.notes, score.measures)
    before = pixels(view)
    view.highlight_section(Position(1, Fraction(2)), Position(2))
    left, *_ = changed_box(before, pixels(view))
    measure = view._index.measure(1).measure.box
    assert left > viewport_point(view, 0, measure.x + 2, 0).x()


def test_thousands_of_marks_are_written_without_a_long_halt(qtbot, view, pages):
    marks = [
        Mark(kind=MarkKind.RIGHT, note_id=head.note_id) for page in pages for head in page.noteheads
    ]
    view.set_marks(marks)
    qtbot.waitUntil(lambda: view.is_complete)
    assert all(view._marks.item(mark) is not None for mark in marks)


def test_print_stays_black_under_every_mark_on_a_note(view):
    head = head_in_sight(view, 3)
    for kind in (MarkKind.RIGHT, MarkKind.WRONG, MarkKind.MISSED):
        view.mark_note(head.note_id, kind)
        printed = view._desk.sheets[0].heads[head.note_id]
        assert printed.brush().color().name() == view._palette.ink.lower()


def test_shading_of_a_right_note_lies_behind_the_print(view):
    head = head_in_sight(view, 3)
    view.mark_note(head.note_id, MarkKind.RIGHT)
    shading = view._marks.item(Mark(kind=MarkKind.RIGHT, note_id=head.note_id))
    assert shading.zValue() < view._desk.sheets[0].heads[head.note_id].zValue()


def test_names_of_wrong_keys_stand_on_free_paper(qtbot, view, pages):
    marks = [
        Mark(kind=MarkKind.WRONG, note_id=head.note_id, label="F#5")
        for head in pages[0].noteheads[::7]
    ]
    view.set_marks(marks)
    qtbot.waitUntil(lambda: view.is_complete)
    sheet = view._desk.sheets[0]
    written = []
    for mark in marks:
        item = view._marks.item(mark)
        name = item._name.sceneBoundingRect().translated(-sheet.scenePos())
        assert not any(ink.touches(name) for ink in sheet.inks)
        assert not any(
            head.boundingRect().translated(head.pos()).intersects(name)
            for head in sheet.heads.values()
        )
        assert not any(name.intersects(other) for other in written)
        written.append(name)


def test_caesura_stands_above_notes_that_fill_the_top_of_the_staff(view, pages):
    head = min(pages[0].noteheads[1:8], key=lambda h: h.box.y)
    mark = Mark(kind=MarkKind.STOP, note_id=head.note_id)
    view.add_mark(mark)
    item = view._marks.item(mark)
    sign = item.boundingRect().translated(item.pos())
    heads = view._desk.sheets[0].heads.values()
    assert not any(h.boundingRect().translated(h.pos()).intersects(sign) for h in heads)


def test_place_is_brought_into_sight_sideways_when_zoomed_in(view):
    for _ in range(14):
        view.zoom_in()
    measure = view._index.measure(2).measure
    view.show_place(2)
    bar = view._canvas.horizontalScrollBar()
    assert bar.value() > 0
    point = viewport_point(view, 0, measure.content_left, measure.box.y)
    assert 0 <= point.x() <= view._canvas.viewport().width()


def test_wheel_with_control_zooms_and_keeps_the_point_under_the_pointer(view):
    head = head_in_sight(view, 3)
    point = viewport_point(view, 0, head.box.centre_x, head.box.centre_y)
    before = view.pixels_per_space
    view._zoom.step(1, point)
    assert view.pixels_per_space > before
    after = viewport_point(view, 0, head.box.centre_x, head.box.centre_y)
    assert abs(after.y() - point.y()) <= 2


def test_click_on_a_notehead_names_the_note(qtbot, view):
    head = head_in_sight(view, 8)
    point = viewport_point(view, 0, head.box.centre_x, head.box.centre_y)
    with qtbot.waitSignal(view.note_clicked) as caught:
        qtbot.mouseClick(view._canvas.viewport(), Qt.MouseButton.LeftButton, pos=point)
    assert caught.args == [head.note_id]


def test_click_beside_the_notes_names_the_measure(qtbot, view):
    measure = view._index.measure(2).measure
    point = viewport_point(view, 0, measure.box.right - 0.5, measure.box.y - 1.5)
    with qtbot.waitSignal(view.measure_clicked) as caught:
        qtbot.mouseClick(view._canvas.viewport(), Qt.MouseButton.LeftButton, pos=point)
    assert caught.args == [2]


def test_dragging_is_not_a_click(qtbot, view):
    head = head_in_sight(view, 8)
    point = viewport_point(view, 0, head.box.centre_x, head.box.centre_y)
    viewport = view._canvas.viewport()
    with qtbot.assertNotEmitted(view.note_clicked):
        qtbot.mousePress(viewport, Qt.MouseButton.LeftButton, pos=point)
        qtbot.mouseRelease(viewport, Qt.MouseButton.LeftButton, pos=point + QPoint(40, 0))


def test_place_moves_with_the_notes(view):
    heads = view._index.pages[0].noteheads
    first, later = heads[0], heads[6]
    view.show_place(first.measure_index, note_ids=[first.note_id])
    assert view._bands._rule.pos().x() == pytest.approx(first.box.centre_x)
    view.show_place(later.measure_index, note_ids=[later.note_id])
    assert view._bands._rule.pos().x() == pytest.approx(later.box.centre_x)


def test_place_between_notes_lies_between_them(view, score):
    view.set_notes(score.notes, score.measures)
    xs = [view._index.x_at(1, quarters / 8) for quarters in range(25)]
    assert xs == sorted(xs)


def test_page_turns_before_the_player_reaches_what_is_out_of_sight(view):
    last = view._index.last_measure
    for index in range(last + 1):
        placed = view._index.measure(index)
        view.show_place(index)
        extent = view._turner.extent_of(placed)
        top = view._canvas.verticalScrollBar().value()
        bottom = top + view._canvas.viewport().height()
        assert extent.top >= top - 1
        assert min(extent.bottom, extent.top + 600) <= bottom + 1
    assert view._canvas.verticalScrollBar().value() > 0


def test_restart_turns_back(view):
    view.show_place(view._index.last_measure)
    assert view._canvas.verticalScrollBar().value() > 0
    view.show_place(0)
    first = view._turner.extents()[0]
    top = view._canvas.verticalScrollBar().value()
    assert top <= first.top + 1
    assert first.bottom <= top + view._canvas.viewport().height()


def test_view_that_does_not_follow_stays(view):
    view.set_following(False)
    view.show_place(view._index.last_measure)
    assert view._canvas.verticalScrollBar().value() == 0


def test_arrows_move_the_focus_from_measure_to_measure(qtbot, view):
    keys = [Qt.Key.Key_Home, Qt.Key.Key_Right, Qt.Key.Key_Right, Qt.Key.Key_Left]
    for key in keys:
        qtbot.keyClick(view._canvas, key)
    assert view.focused_measure == 1
    qtbot.keyClick(view._canvas, Qt.Key.Key_Down)
    assert view._index.measure(view.focused_measure).measure.system == 1
    qtbot.keyClick(view._canvas, Qt.Key.Key_End)
    assert view.focused_measure == view._index.last_measure


def test_return_chooses_the_focused_measure(qtbot, view):
    view.focus_measure(3)
    with qtbot.waitSignal(view.measure_clicked) as caught:
        qtbot.keyClick(view._canvas, Qt.Key.Key_Return)
    assert caught.args == [3]


def test_focused_measure_is_told_to_screen_readers(view, score):
    view.set_notes(score.notes, score.measures)
    view.focus_measure(2)
    assert score.measures[2].number in view._canvas.accessibleDescription()


def test_page_keys_scroll(qtbot, view):
    qtbot.keyClick(view._canvas, Qt.Key.Key_PageDown)
    assert view._canvas.verticalScrollBar().value() > 0
    qtbot.keyClick(view._canvas, Qt.Key.Key_PageUp)
    assert view._canvas.verticalScrollBar().value() == 0


def test_tooltip_comes_from_the_owner(view):
    view.set_description_source(lambda note_id, measure: f"{note_id} in {measure}")
    head = head_in_sight(view)
    sheet = view._desk.sheets[0]
    point = sheet.mapToScene(QPointF(head.box.centre_x, head.box.centre_y))
    assert view._pointing.tip_at(point) == f"{head.note_id} in {head.measure_index}"


def test_zoom_keeps_a_staff_space_on_whole_pixels(view):
    for _ in range(4):
        view.zoom_in()
        scale = view._canvas.transform().m11() * view.devicePixelRatioF()
        assert scale == pytest.approx(view.pixels_per_space)
        assert scale == pytest.approx(round(scale))


def test_staff_lines_are_one_pixel_high_and_evenly_spaced(view):
    measure = view._index.measure(0).measure
    top_staff = measure.staves[0].box
    column = viewport_point(view, 0, measure.box.x + 0.35, 0).x()
    top = viewport_point(view, 0, 0, top_staff.y).y()
    rows = range(top - 3, top + 4 * view.pixels_per_space + 4)
    dark = [row for row in rows if pixels(view)[row, column].mean() < 128]
    assert np.diff(dark).tolist() == [view.pixels_per_space] * 4


def test_fit_width_follows_the_window(qtbot, view):
    before = view.pixels_per_space
    view.resize(1300, 640)
    qtbot.waitUntil(lambda: view.pixels_per_space > before)
    view.resize(600, 640)
    qtbot.waitUntil(lambda: view.pixels_per_space < before)


def test_fit_page_lays_two_sheets_beside_each_other_in_a_wide_window(qtbot, view):
    view.resize(1500, 700)
    view.fit_page()
    qtbot.waitUntil(lambda: view._desk.columns == 2)
    assert view._desk.sheets[1].pos().y() == view._desk.sheets[0].pos().y()


def test_section_is_tinted_behind_its_measures_only(view):
    before = pixels(view)
    view.highlight_section(Position(1), Position(3))
    left, _, right, _ = changed_box(before, pixels(view))
    first, last = view._index.measure(1).measure.box, view._index.measure(2).measure.box
    assert left >= viewport_point(view, 0, first.x, 0).x() - 1
    assert right <= viewport_point(view, 0, last.right, 0).x() + 1
    view.highlight_section(None)
    assert (before == pixels(view)).all()


def test_night_palette_turns_paper_dark_and_ink_light(view):
    view.set_palette(ScorePalette.of_window(NIGHT))
    paper = viewport_point(view, 0, 2.0, 2.0)
    assert pixels(view)[max(paper.y(), 0), paper.x()].mean() < 60


def test_empty_state_shows_the_words_of_the_owner(view):
    view.clear("Open a score to begin.")
    assert view._empty.text() == "Open a score to begin."
    assert view._layers.currentWidget() is view._empty
    assert not view._desk.sheets


def test_cleared_view_can_show_a_score_again(qtbot, view, pages):
    view.show_place(0)
    view.highlight_section(Position(0), Position(2))
    view.focus_measure(1)
    view.clear()
    view.set_layout(Layout())
    for page in pages:
        view.add_page(page)
    qtbot.waitUntil(lambda: view.is_complete)
    view.show_place(0)
    assert view._bands._rule.scene() is view._scene


def test_new_score_waits_on_an_empty_sheet(qtbot, palette):
    widget = ScoreView(palette)
    qtbot.addWidget(widget)
    widget.set_layout(Layout())
    assert list(widget._desk.sheets) == [0]
    assert not widget._desk.sheets[0].built


def test_print_has_one_sheet_per_page(view, pages, tmp_path):
    view.mark_note(head_in_sight(view).note_id, MarkKind.WRONG, "C5")
    with_marks, without = tmp_path / "with.pdf", tmp_path / "without.pdf"
    for path, marks in ((with_marks, True), (without, False)):
        view.print_score(QPdfWriter(str(path)), marks=marks)
    assert with_marks.read_bytes().count(b"/Type /Page\n") == len(pages)
    assert with_marks.stat().st_size > without.stat().st_size


def test_print_that_comes_into_sight_was_drawn_beforehand(qtbot, view, monkeypatch):
    prefetch = view._prefetch
    prefetch.ask()
    qtbot.waitUntil(
        lambda: not (prefetch._calm.isActive() or prefetch._work.isActive()), timeout=15_000
    )
    drawn: list[InkItem] = []
    paint = InkItem._paint

    def count(item, painter, exposed):
        drawn.append(item)
        paint(item, painter, exposed)

    monkeypatch.setattr(InkItem, "_paint", count)
    bar = view._canvas.verticalScrollBar()
    bar.setValue(bar.value() + view._canvas.viewport().height() // 2)
    view._canvas.viewport().repaint()
    assert drawn == []


def test_every_printed_sheet_carries_title_and_number(view, pages, tmp_path):
    named, unnamed = tmp_path / "named.pdf", tmp_path / "unnamed.pdf"
    view.print_score(QPdfWriter(str(named)), title="The Footbridge", composer="Demo")
    view.print_score(QPdfWriter(str(unnamed)))
    per_sheet = (named.stat().st_size - unnamed.stat().st_size) / len(pages)
    assert per_sheet > 500  # outlines of some twenty letters


def test_place_is_kept_while_the_score_is_behind_another_page(qtbot, pages, palette):
    stack = QStackedWidget()
    qtbot.addWidget(stack)
    view = ScoreView(palette)
    stack.addWidget(QWidget())
    stack.addWidget(view)
    stack.resize(900, 640)
    stack.show()
    view.set_layout(Layout())
    view.restore_view(replace(view.view_state, page=1, share=0.25))
    for page in pages:
        view.add_page(page)
    view.finish_pages()
    assert (view.view_state.page, view.view_state.share) == (1, 0.25)
    stack.setCurrentWidget(view)
    qtbot.waitUntil(lambda: view._zoom.page_on_top()[0] == 1)
    assert view._zoom.page_on_top()[1] == pytest.approx(0.25, abs=0.02)
