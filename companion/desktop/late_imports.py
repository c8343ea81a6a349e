"""What is imported after the first painting, so that it neither delays it nor holds the window up.

All of it would be imported anyway when the parts of the window that need it are built. To import it
before, in small portions, keeps each of these quick. Whoever adds a part to the window puts its
modules here; a test says so when they are forgotten.
"""

from __future__ import annotations

from collections.abc import Iterator
from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from companion.progress import Report

MODULES_WITHOUT_QT = (
    "statistics",
    "zoneinfo",
    "companion.midi.listener",
    "companion.practice.sitting",
    "companion.storage.journal",
    "companion.history.edits",
    "companion.practice.results",
    "companion.practice.standing",
    "companion.practice.knowing",
    "companion.practice.harmony",
    "companion.analysis.harmony_table",
    "companion.analysis.recitation",
    "companion.analysis.fingering.suggest",
    "companion.practice.grouping",
    "companion.practice.fingering",
    "companion.practice.drills",
    "companion.practice.score_export",
    "companion.practice.workload",
    "companion.practice.tasks",
    "companion.practice.planning.today",
    "companion.practice.plan_calendar",
    "companion.practice.readiness.checking",
    "companion.history.drill_days",
    "companion.history.recited",
    "companion.listening.definitions",
    "companion.practice.welcome",
    "companion.practice.loading",
    "companion.processes.worker",
    "companion.score.sections.edits",
)
"""For a thread: it shares Python's lock with the window, which so goes on answering."""

MODULES_WITH_QT = (
    "companion.desktop.jobs",
    "companion.desktop.piano",
    "companion.desktop.wiring.listening_wiring",
    "companion.desktop.days.content",
    "companion.desktop.wiring.takes_wiring",
    "companion.desktop.score_cover",
    "companion.desktop.wiring.memory_wiring",
    "companion.desktop.wiring.asking_wiring",
    "companion.desktop.wiring.files_wiring",
    "companion.desktop.wiring.filing_wiring",
    "companion.desktop.wiring.harmony_wiring",
    "companion.desktop.days.tables",
    "companion.desktop.harmony.page",
    "companion.desktop.wiring.reciting_wiring",
    "companion.desktop.wiring.grouping_wiring",
    "companion.desktop.wiring.fingers_wiring",
    "companion.desktop.wiring.drilling_wiring",
    "companion.desktop.wiring.score_export_wiring",
    "companion.desktop.wiring.work_wiring",
    "companion.desktop.knowing.view",
    "companion.desktop.wiring.knowing_wiring",
    "companion.desktop.tasks.page",
    "companion.desktop.wiring.tasks_wiring",
    "companion.desktop.today.page",
    "companion.desktop.wiring.today_wiring",
    "companion.desktop.piano_keys_dialog",
    "companion.desktop.wiring.commanding_wiring",
    "companion.desktop.wiring.care_wiring",
    "companion.desktop.readiness.page",
    "companion.desktop.wiring.readiness_wiring",
    "companion.desktop.wiring.map_editing_wiring",
    "companion.desktop.wiring.settings_wiring",
    "companion.desktop.wiring.report_wiring",
    "companion.desktop.wiring.packets_wiring",
    "companion.desktop.wiring.merging_wiring",
    "companion.desktop.wiring.further_wiring",
    "companion.desktop.wiring.history_wiring",
    "companion.desktop.days.charts",
    "companion.desktop.days.page",
    "companion.desktop.grouping.page",
    "companion.desktop.pages.help_page",
    "companion.desktop.pages.shelf_page",
)
"""For the thread of the window, one after the other: classes of Qt are best made there."""


def import_modules_without_qt(_report: Report) -> None:
    """Import everything that knows no Qt; for a thread."""
    for name in MODULES_WITHOUT_QT:
        import_module(name)


def import_modules_with_qt() -> Iterator[None]:
    """Import the rest, a module at each step."""
    for name in MODULES_WITH_QT:
        import_module(name)
        yield
