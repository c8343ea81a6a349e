"""The whole program behind its window, offscreen, without a piano."""

from __future__ import annotations

import json
import time
from datetime import date

from PySide6.QtCore import QMimeData, QPoint, Qt, QUrl
from PySide6.QtGui import QAction, QDropEvent
from PySide6.QtTest import QAbstractItemModelTester
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractSpinBox,
    QComboBox,
    QLineEdit,
    QPlainTextEdit,
    QScrollBar,
    QTextBrowser,
    QToolButton,
    QWidget,
)

from companion.desktop.action_table import ACTIONS, PAGE_ACTIONS
from companion.desktop.dialogs import DateDialog, FaultDialog
from companion.desktop.keyboard.piano_keys import PianoKeys
from companion.desktop.pages.shelf_model import DATE, ShelfModel
from companion.desktop.section_map.map_view import SectionMapView
from companion.history.model import Piece
from companion.resources import sample_scores_folder
from companion.score.model import Position

LONG_MS = 120_000  # for worker processes on a busy machine; never waited for where all is well
SAMPLE = "the_footbridge.musicxml"

CONTROLS = (
    QAbstractButton,
    QAbstractItemView,
    QAbstractSpinBox,
    QComboBox,
    QLineEdit,
    QPlainTextEdit,
    QTextBrowser,
    SectionMapView,
    PianoKeys,
)


def nameless_controls(root):
    def is_part_of_another(widget):
        parent = widget.parentWidget()
        while parent is not None and parent is not root:
            if isinstance(parent, (QAbstractSpinBox, QComboBox, QAbstractItemView)):
                return True
            if "Calendar" in type(parent).__name__ and parent.accessibleName():
                return True
            parent = parent.parentWidget()
        return isinstance(widget, QScrollBar) or widget.objectName().startswith("qt_")

    def name_of(widget):
        text = widget.text() if isinstance(widget, QAbstractButton) else ""
        return widget.accessibleName() or text

    return [
        f"{type(widget).__name__} {widget.objectName()} in {type(widget.parentWidget()).__name__}"
        for widget in root.findChildren(QWidget)
        if isinstance(widget, CONTROLS) and not is_part_of_another(widget) and not name_of(widget)
    ]


def action(companion, name) -> QAction:
    return companion.window.actions_by_id[name]


def test_every_control_of_the_window_has_a_name(companion):
    assert nameless_controls(companion.window) == []


def test_every_control_of_the_dialogs_has_a_name(qtbot):
    for dialog in (DateDialog(None, date(2026, 3, 1)), FaultDialog("Traceback")):
        qtbot.addWidget(dialog)
        assert nameless_controls(dialog) == []


def test_score_opens_with_its_pages_map_and_header(companion):
    window = companion.window
    assert window.header._title.text()
    assert companion.score_view._index.pages
    assert window.map_view.geometry_now.leaves
    assert action(companion, "split").isEnabled()
    assert window.progress.isHidden()


def test_map_edit_is_stored_at_once_and_can_be_undone(companion):
    before = companion.stand.section_map
    first = before.leaves[0]
    companion.window.map_view.choose(first.section_id)
    companion.window.map_view.mark_split_place(Position(first.start.measure_index + 2))
    action(companion, "split").trigger()
    after = companion.stand.section_map
    piece_id = companion.stand.piece.piece_id
    assert len(after.leaves) == len(before.leaves) + 1
    assert companion.history.section_map(piece_id) == after
    assert action(companion, "undo").text().endswith("Split section")
    action(companion, "undo").trigger()
    assert companion.stand.section_map == before
    assert companion.history.section_map(piece_id) == before
    action(companion, "redo").trigger()
    assert companion.stand.section_map == after


def test_section_chosen_on_the_map_is_the_one_on_the_page_of_the_days(companion, qtbot):
    page = companion.window.pages.days
    qtbot.waitUntil(lambda: bool(page.content.sections), timeout=LONG_MS)
    last = companion.stand.section_map.leaves[-1]
    companion.window.map_view.choose(last.section_id)
    assert page._section_id == last.section_id
    action(companion, "page_days").trigger()  # what came while it was closed is laid out now
    assert page._section_id == last.section_id
    assert page._content is page.content


def test_letters_edit_the_map_only_while_it_has_the_focus(companion, qtbot):
    window = companion.window
    window.activateWindow()
    before = companion.stand.section_map
    window.map_view.choose(before.leaves[0].section_id)
    window.listener.setFocus()
    qtbot.keyClick(window.listener, Qt.Key.Key_S)
    assert companion.stand.section_map == before


def test_words_on_the_sheet_are_stored(companion):
    window = companion.window
    section = companion.stand.section_map.leaves[0]
    window.map_view.choose(section.section_id)
    action(companion, "section_sheet").setChecked(True)
    window.sheet._purpose.setPlainText("sets out")
    window.sheet._words_left()
    stored = companion.history.section_map(companion.stand.piece.piece_id)
    assert stored.section(section.section_id).purpose == "sets out"


def test_what_is_played_on_the_screen_becomes_a_take_with_results(companion, qtbot):
    score = companion.stand.score
    keys = companion.window.keyboard
    with qtbot.waitSignal(companion.piano.take_begun):
        for note in score.notes[:24]:
            keys.played.emit(bytes((0x90, note.pitch, 70)))
            keys.played.emit(bytes((0x80, note.pitch, 64)))
    with qtbot.waitSignal(companion.piano.take_finished) as finished:
        action(companion, "end_take").trigger()
    take = finished.args[0]
    piece_id = companion.stand.piece.piece_id
    qtbot.waitUntil(lambda: companion.history.takes_of(piece_id) != (), timeout=LONG_MS)
    assert companion.history.takes_of(piece_id)[0].note_count == 24
    qtbot.waitUntil(
        lambda: (
            companion.history.match_of(take.take_id, companion.stand.open_piece.basis) is not None
        ),
        timeout=LONG_MS,
    )
    qtbot.waitUntil(lambda: companion.window.listener._model.rowCount() == 1, timeout=LONG_MS)
    qtbot.waitUntil(lambda: companion.window.map_view._figures.any_take, timeout=LONG_MS)


def test_deleted_take_comes_back_with_undo(companion, qtbot):
    keys = companion.window.keyboard
    for note in companion.stand.score.notes[:8]:
        keys.played.emit(bytes((0x90, note.pitch, 70)))
        keys.played.emit(bytes((0x80, note.pitch, 64)))
    with qtbot.waitSignal(companion.piano.take_finished) as finished:
        action(companion, "end_take").trigger()
    take_id, piece_id = finished.args[0].take_id, companion.stand.piece.piece_id
    qtbot.waitUntil(lambda: companion.history.takes_of(piece_id) != (), timeout=LONG_MS)
    companion.takes._delete([take_id])
    assert companion.history.takes_of(piece_id) == ()
    action(companion, "undo").trigger()
    assert [take.take_id for take in companion.history.takes_of(piece_id)] == [take_id]


def test_recorded_takes_are_imported_once(companion, qtbot):
    example = str(sample_scores_folder() / "takes" / "the_footbridge" / "example.mid")
    piece_id = companion.stand.piece.piece_id
    companion.files.import_paths([example])
    qtbot.waitUntil(lambda: "imported" in companion.window.messages.text, timeout=LONG_MS)
    takes = companion.history.takes_of(piece_id)
    assert takes
    companion.files.import_paths([example])
    qtbot.waitUntil(lambda: "already" in companion.window.messages.text, timeout=LONG_MS)
    assert companion.history.takes_of(piece_id) == takes


def test_wrong_file_gets_one_sentence_and_the_piece_stays(companion, qtbot, tmp_path):
    wrong = tmp_path / "wrong.musicxml"
    wrong.write_text("no score at all")
    title = companion.window.header._title.text()
    with qtbot.waitSignal(companion.opening.failed, timeout=LONG_MS) as failed:
        companion.shelf.open_path(str(wrong))
    assert companion.window.messages.text == failed.args[0]
    assert failed.args[0].endswith(".")
    assert companion.window.header._title.text() == title


def test_opening_can_be_cancelled(companion, qtbot):
    path = str(sample_scores_folder() / "evening_by_the_weir.musicxml")
    title = companion.window.header._title.text()
    with qtbot.waitSignal(companion.opening.cancelled):
        companion.shelf.open_path(path)
        companion.window.progress.cancel_asked.emit()
    assert companion.window.header._title.text() == title
    assert companion.window.progress.isHidden()


def test_second_score_opened_while_one_loads_is_the_one_that_is_shown(companion, qtbot):
    companion.shelf.open_path(str(sample_scores_folder() / "evening_by_the_weir.musicxml"))
    companion.shelf.open_path(str(sample_scores_folder() / "study_in_d_minor.musicxml"))
    qtbot.waitUntil(
        lambda: companion.stand.score.title.startswith("Study") and not companion.opening.loading,
        timeout=LONG_MS,
    )
    titles = {piece.title for piece in companion.history.shelf()}
    assert not any(title.startswith("Evening") for title in titles)


def test_dropped_score_is_opened(companion, qtbot):
    data = QMimeData()
    path = sample_scores_folder() / "study_in_d_minor.musicxml"
    data.setUrls([QUrl.fromLocalFile(str(path))])
    event = QDropEvent(
        QPoint(200, 300),
        Qt.DropAction.CopyAction,
        data,
        Qt.MouseButton.LeftButton,
        Qt.KeyboardModifier.NoModifier,
    )
    companion.window.dropEvent(event)
    qtbot.waitUntil(lambda: companion.stand.score.title.startswith("Study"), timeout=LONG_MS)


def test_date_of_the_performance_shows_the_days_left(companion):
    piece = companion.stand.piece
    companion.stand.set_performance_date(piece, date(2099, 1, 1))
    assert "days left" in companion.window.header._days.text()
    assert companion.history.piece(piece.piece_id).performance_date == date(2099, 1, 1)
    action(companion, "undo").trigger()
    assert companion.history.piece(piece.piece_id).performance_date is None


def test_piece_taken_off_the_shelf_is_put_back_by_undo(companion):
    piece_id = companion.stand.piece.piece_id
    companion.shelf._remove(piece_id)
    assert companion.history.shelf() == ()
    assert "Ctrl+Z" in companion.window.messages.text
    action(companion, "undo").trigger()
    assert [piece.piece_id for piece in companion.history.shelf()] == [piece_id]
    assert companion.window.pages.shelf._model.rowCount() == 1
    action(companion, "redo").trigger()
    assert companion.history.shelf() == ()


def test_pages_are_reached_by_their_actions(companion):
    for name in PAGE_ACTIONS:
        action(companion, name).trigger()
        assert companion.window.page == name
        assert action(companion, name).isChecked()


def test_night_reaches_every_part(companion):
    action(companion, "theme_night").trigger()
    assert companion.window.map_view._colours.dark
    assert companion.view.settings.theme == "dark"
    action(companion, "theme_system").trigger()


def test_window_looks_the_same_at_the_next_start(program, own_score, places, qtbot):
    first = program(str(own_score))
    qtbot.waitUntil(lambda: first.stand.score is not None, timeout=LONG_MS)
    qtbot.waitUntil(lambda: not first.opening.loading, timeout=LONG_MS)
    first.window.resize(900, 611)  # the offscreen platform has a screen of 800 by 800
    action(first, "show_keyboard").setChecked(True)
    action(first, "show_lanes").setChecked(False)
    first.window.lanes_menu.hide_lanes(frozenset({"takes", "errors"}))
    action(first, "theme_night").trigger()
    action(first, "page_days").trigger()
    title = first.stand.piece.title
    first.window.close()
    saved = json.loads(places.settings.read_text())
    assert saved["theme"] == "dark"

    began = time.monotonic()
    second = program()
    # the piece of the last time is there before any worker process has been asked
    assert second.stand.piece is not None, time.monotonic() - began
    assert second.stand.piece.title == title
    assert second.window.height() == 611
    assert action(second, "show_keyboard").isChecked()
    assert not action(second, "show_lanes").isChecked()
    assert second.window.lanes_menu.hidden == {"takes", "errors"}
    assert second.window.page == "page_days"
    assert second.window.map_view._colours.dark
    qtbot.waitUntil(lambda: not second.opening.loading, timeout=LONG_MS)
    action(second, "theme_system").trigger()


def test_first_start_opens_a_sample_with_demo_takes(program, qtbot):
    companion = program()
    qtbot.waitUntil(lambda: companion.stand.piece is not None, timeout=LONG_MS)
    assert "Welcome" in companion.window.messages.text
    piece_id = companion.stand.piece.piece_id
    qtbot.waitUntil(lambda: companion.history.takes_of(piece_id) != (), timeout=LONG_MS)
    assert {take.source.value for take in companion.history.takes_of(piece_id)} == {"demo data"}


def test_state_of_the_piano_is_a_sentence(companion, qtbot):
    qtbot.waitUntil(lambda: companion.window.listener._state.text().endswith("."))


def test_shelf_model_keeps_the_promises_of_qt(qtbot):
    model = ShelfModel()
    QAbstractItemModelTester(model, QAbstractItemModelTester.FailureReportingMode.Fatal)
    pieces = tuple(
        Piece(piece_id=str(n), title=f"Piece {n}", composer="", score_hash="") for n in range(3)
    )
    model.show(pieces, date(2026, 3, 1))
    with qtbot.waitSignal(model.date_written) as written:
        from PySide6.QtCore import QDate

        assert model.setData(model.index(1, DATE), QDate(2026, 4, 2))
    assert written.args == ["1", date(2026, 4, 2)]


def test_all_actions_of_the_table_are_in_the_menus(companion):
    shown = {
        entry.objectName()
        for menu in companion.window.menuBar().actions()
        for entry in menu.menu().actions()
    }
    assert {spec.id for spec in ACTIONS} <= shown


def test_page_names_are_buttons_with_names(companion):
    names = [b.accessibleName() for b in companion.window.header.findChildren(QToolButton)]
    pages = [companion.window.actions_by_id[name].text().replace("&", "") for name in PAGE_ACTIONS]
    assert names == [*pages, "More pages"]
    assert pages[:3] == ["Score", "Today", "Days"]
