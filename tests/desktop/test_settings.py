"""Settings in their dialog, the view of each piece, and printing."""

from __future__ import annotations

import json

import pytest
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtWidgets import QCheckBox, QComboBox, QDoubleSpinBox

from companion.desktop.measure_word import in_bars
from companion.desktop.score_view.page_flow import Fit
from companion.desktop.score_view.zoom import ViewState
from companion.desktop.settings_dialog import SettingsDialog, shown_fields
from companion.desktop.wiring.piece_view_wiring import view_state, view_text
from companion.settings import Settings

LONG_MS = 120_000


def test_every_setting_for_the_pianist_has_a_field_with_a_name(qtbot):
    dialog = SettingsDialog(Settings())
    qtbot.addWidget(dialog)
    for line in shown_fields():
        assert dialog.field(line.name).accessibleName() == line.described.text


def test_settings_of_the_window_itself_are_not_shown():
    names = {line.name for line in shown_fields()}
    assert "take_ends_after_seconds" in names
    assert not {"window_geometry", "last_port", "zoom", "sound_enabled"} & names


def test_changed_field_tells_name_and_value(qtbot):
    dialog = SettingsDialog(Settings())
    qtbot.addWidget(dialog)
    told = []
    dialog.changed.connect(lambda name, value: told.append((name, value)))
    silence = dialog.field("take_ends_after_seconds")
    assert isinstance(silence, QDoubleSpinBox)
    silence.setValue(6.5)
    motion = dialog.field("reduced_motion")
    assert isinstance(motion, QCheckBox)
    motion.setChecked(True)
    theme = dialog.field("theme")
    assert isinstance(theme, QComboBox)
    theme.setCurrentIndex(theme.findData("dark"))
    assert told == [
        ("take_ends_after_seconds", 6.5),
        ("reduced_motion", True),
        ("theme", "dark"),
    ]


def test_usual_values_come_back(qtbot):
    dialog = SettingsDialog(Settings(take_ends_after_seconds=9.0, theme="dark"))
    qtbot.addWidget(dialog)
    told = {}
    dialog.changed.connect(told.__setitem__)
    dialog._back_to_usual()
    assert told == {"take_ends_after_seconds": 4.0, "theme": "system"}


def test_changed_settings_hold_at_once(companion):
    dialog = companion.settings.open()
    dialog.field("take_ends_after_seconds").setValue(7.0)
    assert companion.piano.sitting._segmenter.silence_seconds == 7.0
    dialog.field("reduced_motion").setChecked(True)
    assert not companion.score_view._canvas.animated
    dialog.field("day_starts_at_hour").setValue(6)
    assert companion.takes._calendar.day_starts_at_hour == 6
    dialog.field("theme").setCurrentIndex(2)
    assert companion.window.map_view._colours.dark
    assert companion.view.settings.take_ends_after_seconds == 7.0
    dialog.field("theme").setCurrentIndex(0)
    dialog.close()


@pytest.mark.parametrize("text", ["", "{}", "no", '{"fit": "moon"}', "[1]", "null"])
def test_view_that_says_nothing_of_use_is_left_out(text):
    assert view_state(text) is None


def test_view_of_a_piece_survives_as_text():
    state = ViewState(fit=Fit.FREE, pixels_per_space=9.5, side_by_side=True, page=3, share=0.25)
    assert view_state(view_text(state)) == state


def test_piece_is_shown_again_as_it_was_left(program, own_score, qtbot):
    first = program(str(own_score))
    qtbot.waitUntil(lambda: first.stand.score is not None, timeout=LONG_MS)
    qtbot.waitUntil(lambda: not first.opening.loading, timeout=LONG_MS)
    first.score_view.zoom_in()
    first.score_view.zoom_in()
    wanted = first.score_view.pixels_per_space
    last_page = first.score_view._index.pages[-1].index
    first.score_view._zoom.put_on_top(last_page, 0.1)
    piece_id = first.stand.piece.piece_id
    first.piece_view.keep()
    stored = json.loads(first.history.view(piece_id))
    first.window.close()
    second = program()
    qtbot.waitUntil(lambda: second.stand.score is not None, timeout=LONG_MS)
    assert second.score_view.pixels_per_space == wanted
    # its page comes to the top when it has arrived
    qtbot.waitUntil(lambda: second.score_view.view_state.page == stored["page"], timeout=LONG_MS)
    qtbot.waitUntil(lambda: not second.opening.loading, timeout=LONG_MS)


def pdf(path):
    printer = QPrinter()
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(path))
    return printer


def test_score_and_days_are_printed(companion, tmp_path):
    pages = len(companion.score_view._index.pages)
    companion.printing.print_score(pdf(tmp_path / "score.pdf"))
    companion.printing.print_days(pdf(tmp_path / "days.pdf"))
    written = (tmp_path / "score.pdf").read_bytes()
    assert written.startswith(b"%PDF")
    assert written.count(b"/Type /Page\n") == pages
    assert (tmp_path / "days.pdf").read_bytes().startswith(b"%PDF")


def test_other_word_for_a_measure():
    assert in_bars("Measure {number}: measures {measures}") == "Bar {number}: bars {measures}"
    assert in_bars("What the figures mean") == "What the figures mean"


def test_other_word_reaches_the_window(program, places, own_score, qtbot):
    places.settings.write_text(json.dumps({"measure_word": "bar"}))
    companion = program(str(own_score))
    qtbot.waitUntil(lambda: companion.stand.score is not None, timeout=LONG_MS)
    assert "bar" in companion.takes._words.describe(None, 2).lower()
    assert companion.window.actions_by_id["border_later"].text().startswith("End one bar &later\t")
