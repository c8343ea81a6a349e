from __future__ import annotations

import sys

import pytest
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QPlainTextEdit

from companion.desktop.faults import FaultTeller
from companion.desktop.message_strip import MessageStrip, Tone
from companion.desktop.palette import DAY
from companion.desktop.progress_line import ProgressLine
from companion.desktop.theme import Theme, ThemeChoice, style_sheet
from companion.errors import HistoryUnavailable
from companion.progress import Progress


def fault():
    try:
        1 / 0  # noqa: B018 - the fault
    except ZeroDivisionError:
        return sys.exc_info()


def test_uncaught_error_opens_one_dialog_with_everything_to_report(qapp, caplog):
    teller = FaultTeller()
    teller.uncaught(*fault())
    dialog = teller._dialog
    teller.uncaught(*fault())
    assert teller._dialog is dialog
    assert caplog.text.count("ZeroDivisionError: division by zero") == 2
    text = dialog.findChild(QPlainTextEdit).toPlainText()
    assert "ZeroDivisionError: division by zero" in text
    assert "Python" in text
    dialog._copy()
    assert QGuiApplication.clipboard().text() == text
    dialog.reject()
    assert teller._dialog is None


def test_trouble_that_nobody_expected_is_a_sentence_and_no_fault(qapp, qtbot):
    teller = FaultTeller()
    error = HistoryUnavailable("The disk is full.")
    with qtbot.waitSignal(teller.troubled) as told:
        teller.uncaught(type(error), error, None)
    assert told.args == ["The disk is full."]
    assert teller._dialog is None


def test_message_has_a_sign_and_goes_by_a_button(qtbot):
    strip = MessageStrip(DAY)
    qtbot.addWidget(strip)
    strip.show_message("Nothing was lost.", Tone.ATTENTION, "Go on")
    assert strip.text == "Nothing was lost."
    assert not strip._sign.pixmap().isNull()
    with qtbot.waitSignal(strip.acted):
        strip._button.click()
    assert strip.text == ""


def test_calm_message_goes_by_itself_but_a_warning_stays(qtbot):
    strip = MessageStrip(DAY)
    qtbot.addWidget(strip)
    strip.show_message("Written.", Tone.CALM)
    assert strip._timer.isActive()
    strip.show_message("The disk is full.")
    assert not strip._timer.isActive()


def test_progress_says_what_and_how_far_and_can_be_cancelled(qtbot):
    line = ProgressLine()
    qtbot.addWidget(line)
    line.show_progress(Progress(done=3, total=4, doing="Reading notes"))
    assert line._what.text().startswith("Reading notes")
    assert line._bar.value() / line._bar.maximum() == pytest.approx(0.75, abs=0.02)
    line.show_progress(Progress(done=0, total=0, doing="Laying out"))
    assert line._bar.maximum() == 0  # Qt shows a bar without a known end
    with qtbot.waitSignal(line.cancel_asked):
        line._cancel.click()


def test_style_sheet_leaves_no_name_unfilled(qapp):
    for palette in (DAY,):
        sheet = style_sheet(palette)
        assert "@" not in sheet.split("*/", 1)[1]


def test_theme_tells_the_new_palette_once(qapp, qtbot):
    theme = Theme(qapp, ThemeChoice.DAY)
    with qtbot.waitSignal(theme.changed) as changed:
        theme.choose(ThemeChoice.NIGHT)
    assert changed.args[0].dark
    with qtbot.assertNotEmitted(theme.changed):
        theme.choose(ThemeChoice.NIGHT)
    theme.choose(ThemeChoice.DAY)
