"""The tabulator goes through the window as the eye does."""

from collections import Counter

from PySide6.QtWidgets import QAbstractButton, QLabel, QLineEdit, QVBoxLayout, QWidget

from companion.desktop.action_table import PAGE_ACTIONS, Menu
from companion.desktop.tab_order import put_in_order, stops_in


def part(parent, *names):
    widget = QWidget(parent)
    column = QVBoxLayout(widget)
    for name in names:
        field = QLineEdit()
        field.setObjectName(name)
        column.addWidget(field)
    return widget


def names_from(widget):
    found, current = [], widget
    while not found or current is not widget:
        if isinstance(current, QLineEdit):
            found.append(current.objectName())
        current = current.nextInFocusChain()
    return found


def test_part_that_was_built_later_comes_where_it_stands(qtbot):
    window = QWidget()
    qtbot.addWidget(window)
    head = part(window, "head")
    beside = part(window, "beside 1", "beside 2")
    late = part(window, "late 1", "late 2")
    put_in_order((head, late, beside))
    first = stops_in(head)[0]
    assert names_from(first) == ["head", "late 1", "late 2", "beside 1", "beside 2"]


def test_days_come_before_the_listener(companion):
    window = companion.window
    window.show_page("page_days")
    stops = [widget.accessibleName() for widget in stops_in(window.splitter)]
    assert "Errors per measure over the days" in stops
    assert stops.index("Takes") < len(stops) - 1
    assert stops[-1] not in ("Takes", "Sections by days")


def letters_of(widget, *, visible_only):
    """The letters that do something together with Alt, as they stand in buttons and labels."""
    parts = [
        *widget.findChildren(QAbstractButton),
        *(label for label in widget.findChildren(QLabel) if label.buddy() is not None),
    ]
    texts = (part.text() for part in parts if part.isVisible() or not visible_only)
    return [text[text.index("&") + 1].lower() for text in texts if "&" in text]


def test_letters_in_pages_open_no_menu_and_stand_once(companion):
    window = companion.window
    companion.spare_time.finish()
    menus = {menu[0].lower() for menu in Menu}
    for name in PAGE_ACTIONS:
        window.show_page(name)
        page = window.centralWidget()
        assert not menus & set(letters_of(page, visible_only=False)), name
        twice = [
            letter for letter, n in Counter(letters_of(page, visible_only=True)).items() if n > 1
        ]
        assert twice == [], name
