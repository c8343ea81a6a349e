from __future__ import annotations

from collections import Counter
from itertools import pairwise

import pytest
from PySide6.QtGui import QKeySequence

from companion.desktop.action_table import ACTIONS, MAP_MENU_ACTIONS, PAGE_ACTIONS, Menu
from companion.desktop.actions import make_actions, plain_text
from companion.desktop.icons import icon
from companion.desktop.pages.help_page import HelpPage
from companion.desktop.palette import DAY, NIGHT
from companion.history.definitions import DEFINITIONS as OVER_DAYS
from companion.history.definitions import READINESS
from companion.listening.definitions import DEFINITIONS, DRILL_DEFINITIONS, TASK
from companion.resources import resource_path


def test_no_shortcut_stands_twice(qapp):
    keys = Counter(QKeySequence(spec.shortcut).toString() for spec in ACTIONS if spec.shortcut)
    assert [key for key, count in keys.items() if count > 1] == []


def test_every_shortcut_is_one_that_qt_knows(qapp):
    for spec in ACTIONS:
        if spec.shortcut:
            assert QKeySequence(spec.shortcut).toString(), spec.id


def test_ids_are_unique_and_every_action_says_what_it_does():
    assert len({spec.id for spec in ACTIONS}) == len(ACTIONS)
    assert all(len(spec.tip) > 10 for spec in ACTIONS)


@pytest.mark.parametrize("menu", list(Menu))
def test_no_mnemonic_stands_twice_in_a_menu(menu):
    letters = Counter(
        spec.text[spec.text.index("&") + 1].lower() for spec in ACTIONS if spec.menu is menu
    )
    assert [letter for letter, count in letters.items() if count > 1] == []


@pytest.mark.parametrize("menu", list(Menu))
def test_groups_of_a_menu_stand_together(menu):
    groups = [spec.group for spec in ACTIONS if spec.menu is menu]
    assert all(one <= following for one, following in pairwise(groups))


def test_icons_are_there_by_day_and_by_night(qapp):
    for spec in ACTIONS:
        if spec.icon:
            assert resource_path("icons", f"{spec.icon}.svg").exists(), spec.icon
            for palette in (DAY, NIGHT):
                picture = icon(spec.icon, palette).pixmap(20, 20).toImage()
                assert any(picture.pixelColor(x, y).alpha() for x in range(20) for y in range(20))


def test_menus_name_only_actions_that_exist(qapp):
    actions = make_actions(qapp, DAY)
    assert set(PAGE_ACTIONS) | set(filter(None, MAP_MENU_ACTIONS)) <= set(actions)


def test_help_lists_every_shortcut_and_every_measure(qtbot):
    page = HelpPage(DAY)
    qtbot.addWidget(page)
    keys = page.text_of("Keys")
    for spec in ACTIONS:
        if spec.shortcut:
            assert plain_text(spec) in keys
    figures = page.text_of("What the figures mean")
    for definition in (*DEFINITIONS, *DRILL_DEFINITIONS, *OVER_DAYS, *READINESS, TASK):
        assert definition.title in figures
        assert definition.sentence in figures


def test_help_sends_who_has_pain_to_a_doctor(qtbot):
    page = HelpPage(DAY)
    qtbot.addWidget(page)
    care = page.text_of("Care for hands and ears")
    assert "Stop if anything hurts" in care
    assert "gives no medical advice" in care


def test_every_chapter_can_be_shown(qtbot):
    page = HelpPage(DAY)
    qtbot.addWidget(page)
    for title in page.titles:
        page.show_chapter(title)
        assert title in page._text.toPlainText()


def test_menus_show_whether_an_action_is_ticked(qapp):
    made = make_actions(qapp, DAY)
    for spec in ACTIONS:
        assert made[spec.id].isIconVisibleInMenu() is not spec.checkable


def test_menus_name_the_keys_that_only_the_map_listens_to(qapp):
    made = make_actions(qapp, DAY)
    assert made["split"].text().endswith("\tS")
    assert made["split"].shortcut().isEmpty()
