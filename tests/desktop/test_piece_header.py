"""The head of the page with few and many pages, in narrow and wide windows."""

import pytest
from PySide6.QtGui import QAction

from companion.desktop.piece_header import PieceHeader

TEN = [
    "Score",
    "Today",
    "Days",
    "Harmony",
    "Grouping",
    "Recite",
    "Conducting",
    "Readiness",
    "Shelf",
    "Help",
]


@pytest.fixture
def header(qtbot):
    def make(names, width, title="Study in D minor"):
        actions = []
        for name in names:
            action = QAction(name)
            action.setCheckable(True)
            actions.append(action)
        widget = PieceHeader(actions)
        widget.made_of = actions
        qtbot.addWidget(widget)
        widget.show_piece(title, "Ottiline Varrowmere", "in 12 days")
        widget.resize(width, 60)
        widget.show()
        qtbot.waitExposed(widget)
        return widget

    return make


def buttons_in_sight(header):
    return [b for b in header._names._buttons if b.isVisible()]


def test_four_pages_stand_beside_the_title(header, qtbot):
    narrow = header(TEN[:4], 1000)
    assert len(buttons_in_sight(narrow)) == 4
    qtbot.waitUntil(lambda: narrow._names.y() <= narrow._title.geometry().bottom())


def test_ten_pages_stand_below_the_title_and_all_are_in_sight(header):
    narrow = header(TEN, 1000)
    assert len(buttons_in_sight(narrow)) == 10
    assert not narrow._names._more.isVisible()
    assert narrow._names.y() > narrow._title.geometry().bottom()


def test_ten_pages_stand_beside_the_title_where_there_is_room(header, qtbot):
    wide = header(TEN, 1900)
    qtbot.waitUntil(lambda: wide._names.y() <= wide._title.geometry().bottom())


def test_names_without_room_are_in_the_menu_and_the_open_page_never_is(header):
    narrow = header(TEN, 420)
    narrow.made_of[7].setChecked(True)
    shown = [b.text() for b in buttons_in_sight(narrow)]
    assert "Readiness" in shown
    in_menu = [action.text() for action in narrow._names._menu.actions()]
    assert sorted(shown + in_menu) == sorted(TEN)
    assert narrow._names._more.isVisible()


def test_long_title_does_not_hold_the_window_open(header):
    narrow = header(TEN[:4], 860, title="Variations and fugue on a theme of one's own " * 4)
    assert narrow.minimumSizeHint().width() <= 860
    assert len(buttons_in_sight(narrow)) == 4
