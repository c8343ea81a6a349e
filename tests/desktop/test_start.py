"""What the first painting of the window does not wait for: it is not even imported before."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from multiprocessing import active_children

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from companion.desktop.late_parts import Late
from companion.desktop.spare_time import SpareTime

LONG_MS = 120_000

NOT_AT_THE_START = (
    "numpy",
    "lxml",
    "music21",
    "verovio",
    "mido",
    "rtmidi",
    "html",
    "zoneinfo",
    "companion.analysis",
    "companion.listening",
    "companion.midi",
    "companion.history.results",
    "companion.practice.results",
    "companion.processes.worker",
    "companion.storage.results",
    "companion.desktop.days",
    "companion.desktop.dialogs",
    "companion.desktop.keyboard",
    "companion.desktop.pages",
    "companion.desktop.section_map.editing",
    "companion.history.edits",
    "companion.desktop.section_map.sheet",
    "companion.desktop.settings_dialog",
    "companion.desktop.wiring.further_wiring",
    "PySide6.QtPrintSupport",
)
MOST_MODULES_IN_A_STEP = 10  # some ten milliseconds


def said_by(program: str, *arguments: str) -> list[str]:
    """Lines that a fresh interpreter prints."""
    done = subprocess.run(
        [sys.executable, "-c", program, *arguments],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "QT_QPA_PLATFORM": "offscreen"},
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.split()


@pytest.fixture(scope="module")
def modules_at_the_start():
    """Everything that is imported when the window is about to be built."""
    return said_by(
        "import sys; from companion.command_line import prepare_for_window; prepare_for_window();"
        "import companion.app; print(*sys.modules)"
    )


@pytest.mark.parametrize("name", NOT_AT_THE_START)
def test_is_not_imported_at_the_start(modules_at_the_start, name):
    early = [one for one in modules_at_the_start if one == name or one.startswith(f"{name}.")]
    assert early == []


def test_python_imports_without_the_detour_of_qt():
    said = said_by(
        "import builtins; plain = builtins.__import__;"
        "from companion.command_line import prepare_for_window; prepare_for_window();"
        "import companion.app; print(builtins.__import__ is plain)"
    )
    assert said == ["True"]


def test_nothing_is_imported_in_large_portions_after_the_painting(tmp_path):
    """Building the rest finds its modules, one step brings few: see ``late_imports``."""
    portions = said_by(
        """
import sys
from pathlib import Path
from companion.command_line import prepare_for_window
prepare_for_window()
from PySide6.QtWidgets import QApplication
from companion.app import Companion, Places
from companion.desktop.late_imports import import_modules_without_qt
application, home = QApplication([]), Path(sys.argv[1])
places = Places(settings=home / "settings", history=home / "history", cache=home / "cache")
companion = Companion(application, places)
import_modules_without_qt(lambda _progress: None)
before = set(sys.modules)
for _ in companion.spare_time._steps:
    print(",".join(sorted(set(sys.modules) - before)) or "-")
    before = set(sys.modules)
companion.window.close()
""",
        str(tmp_path),
    )
    largest = max((portion.split(",") for portion in portions), key=len)
    # whatever is new among them belongs into companion/desktop/late_imports.py
    assert len(largest) <= MOST_MODULES_IN_A_STEP, largest


def test_page_is_built_when_it_is_first_shown(program, own_score):
    companion = program(str(own_score))
    window = companion.window
    for part, action in (
        (window.pages.late_days, "page_days"),
        (window.pages.late_shelf, "page_shelf"),
        (window.pages.late_help, "page_help"),
        (window.late_sheet, "section_sheet"),
        (window.late_keyboard, "show_keyboard"),
    ):
        assert not part.built, action
        window.actions_by_id[action].trigger()
        assert part.built, action
        assert part.get().isVisible(), action


def test_first_painting_waits_for_no_page_no_process_and_no_thread(
    program, own_score, places, qtbot
):
    first = program(str(own_score))
    qtbot.waitUntil(lambda: first.stand.score is not None, timeout=LONG_MS)
    qtbot.waitUntil(lambda: not first.opening.loading, timeout=LONG_MS)
    first.window.close()
    children, threads = set(active_children()), set(threading.enumerate())

    second = program()
    # the piece of the last time is there, and the event loop has not yet come round
    assert second.stand.piece is not None
    assert set(active_children()) == children
    assert set(threading.enumerate()) <= threads
    assert not any(part.built for part in second.window.late_parts)
    # and after it everything comes by itself
    qtbot.waitUntil(lambda: all(part.built for part in second.window.late_parts), timeout=LONG_MS)
    qtbot.waitUntil(lambda: not second.opening.loading, timeout=LONG_MS)


def test_page_of_the_last_time_is_built_before_the_first_painting(program, own_score, qtbot):
    first = program(str(own_score))
    first.window.show_page("page_help")
    first.window.close()
    second = program(str(own_score))
    assert second.window.page == "page_help"
    assert second.window.pages.late_help.built
    assert not second.window.pages.late_days.built


def test_first_key_finds_everything_built(program, own_score):
    companion = program(str(own_score))
    companion.spare_time.watch()
    assert not companion.window.late_sheet.built
    QTest.keyClick(companion.window.windowHandle(), Qt.Key.Key_F12)
    assert all(part.built for part in companion.window.late_parts)


# the two mechanisms


def test_late_part_is_built_once_and_told_to_all_who_wait():
    built, told = [], []
    late = Late(lambda: built.append("built") or object())
    late.when_built(told.append)
    late.if_built(told.append)
    assert not late.built
    assert told == []
    part = late.get()
    late.when_built(told.append)
    late.if_built(told.append)
    assert late.get() is part
    assert built == ["built"]
    assert told == [part, part, part]


def steps(done: list[int], count: int):
    for number in range(count):
        done.append(number)
        yield


def test_spare_time_does_all_steps_and_then_what_was_asked_for(qtbot):
    from PySide6.QtWidgets import QWidget

    window, done, after = QWidget(), [], []
    qtbot.addWidget(window)
    spare_time = SpareTime(steps(done, 5), window, window)
    spare_time.then(lambda: after.append(len(done)))
    with qtbot.waitSignal(spare_time.over):
        spare_time.begin()
    assert done == [0, 1, 2, 3, 4]
    assert after == [5]
    spare_time.then(lambda: after.append(0))
    assert after == [5, 0]


def test_spare_time_that_is_stopped_leaves_the_rest_undone(qtbot):
    from PySide6.QtWidgets import QWidget

    window, done = QWidget(), []
    qtbot.addWidget(window)
    spare_time = SpareTime(steps(done, 5), window, window)
    spare_time.stop()
    spare_time.begin()
    spare_time.finish()
    assert done == []
