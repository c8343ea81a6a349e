"""With words forty per cent longer (as German is) nothing is cut off, in no window size."""

from datetime import date

import pytest
from PySide6.QtCore import QCoreApplication, Qt, QTranslator
from PySide6.QtWidgets import (
    QCheckBox,
    QLabel,
    QPushButton,
    QToolButton,
)

from companion.desktop.action_table import PAGE_ACTIONS
from companion.desktop.dialogs import DateDialog
from companion.desktop.elided import ElidedLabel
from companion.desktop.settings_dialog import SettingsDialog
from companion.settings import Settings

LONGER_BY = 0.4
FILLER = "nderungen und weitere Silben"


class Longer(QTranslator):
    """Lengthens every text of the window; placeholders and mnemonics stay."""

    def translate(self, context, source, disambiguation=None, n=-1):
        if not source or source.isspace():
            return source
        more = max(1, round(len(source) * LONGER_BY))
        filler = (FILLER * (1 + more // len(FILLER)))[:more]
        return source.removesuffix("…") + filler + ("…" if source.endswith("…") else "")

    def isEmpty(self):  # noqa: N802 - Qt asks by this name
        return False


@pytest.fixture
def longer_words(qapp):
    translator = Longer()
    assert QCoreApplication.installTranslator(translator)
    yield
    QCoreApplication.removeTranslator(translator)


def shown(root, kind):
    return [w for w in root.findChildren(kind) if w.isVisibleTo(root.window()) and w.width() > 0]


def cut_off(root):
    """Texts that have less room than they need."""
    found = []
    for label in shown(root, QLabel):
        if isinstance(label, ElidedLabel) or not label.text():
            continue
        if label.wordWrap():
            if label.heightForWidth(label.width()) > label.height() + 1:
                found.append(label.text())
        elif label.sizeHint().width() > label.width() + 1:
            found.append(label.text())
    for kind in (QPushButton, QToolButton, QCheckBox):
        for button in shown(root, kind):
            text = button.text().replace("&", "")
            if text and needed(button, text) > button.width():
                found.append(text)
    return found


def needed(button, text):
    icon_only = isinstance(button, QToolButton) and not button.icon().isNull()
    shows_text = (
        button.toolButtonStyle() != Qt.ToolButtonStyle.ToolButtonIconOnly if icon_only else 1
    )
    return button.fontMetrics().horizontalAdvance(text) if shows_text else 0


@pytest.mark.parametrize("size", [(1000, 700), (1280, 800), (1920, 1080)], ids=str)
def test_nothing_is_cut_off_in_the_window(longer_words, companion, qtbot, size):
    window = companion.window
    window.actions_by_id["section_sheet"].setChecked(True)
    window.actions_by_id["show_keyboard"].setChecked(True)
    window.resize(*size)
    for page in PAGE_ACTIONS:
        window.show_page(page)
        # texts and their layout may still be on the way
        qtbot.waitUntil(lambda: cut_off(window) == [])
        assert window.width() <= max(size[0], window.minimumWidth())


def test_nothing_is_cut_off_in_the_dialogs(longer_words, qtbot, qapp):
    for dialog in (SettingsDialog(Settings()), DateDialog(None, date(2026, 1, 1))):
        qtbot.addWidget(dialog)
        dialog.show()
        qtbot.waitExposed(dialog)
        assert cut_off(dialog) == []
