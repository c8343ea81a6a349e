"""The sections and the earlier checks as tables."""

from __future__ import annotations

from PySide6.QtCore import QObject

from companion.desktop.lines_model import LinesModel
from companion.desktop.readiness.content import PastCheck, ReadySection
from companion.desktop.readiness.wording import tr

_FROM_MEMORY = 5


def sections_model(parent: QObject) -> LinesModel:
    """The table of the sections."""
    return LinesModel(
        (
            tr("Section"),
            tr("Without a stop"),
            tr("Slips"),
            tr("Tempo"),
            tr("Known"),
            tr("From memory"),
            tr("Chords named"),
            tr("Last check"),
        ),
        (
            "",
            tr(
                "Probability that it goes without a stop at first try, with its 95 % interval and "
                "the first takes of a day that it rests on."
            ),
            tr("Errors to be expected once through, with their 95 % interval."),
            tr("Tempo of the newest first take of a day as a share of the target."),
            tr("How long it has been known without a lapse."),
            tr(
                "On how many days it was tried from memory, and how often the first try of the "
                "day was clean. It is shown beside the estimate and does not change it."
            ),
            tr(
                "How many of the newest chords that were asked for away from the keyboard were "
                "named all right, with the Wilson interval of the share. It is shown beside the "
                "estimate and does not change it."
            ),
            tr("What the last check showed of it."),
        ),
        parent,
        name_column=0,
    )


def section_rows(sections: tuple[ReadySection, ...]) -> tuple[tuple[str, ...], ...]:
    """Cells of the table of the sections."""
    return tuple(
        (s.name, s.without_stop, s.slips, s.tempo, s.known, s.from_memory, s.named, s.checked)
        for s in sections
    )


def section_tips(sections: tuple[ReadySection, ...]) -> dict[tuple[int, int], str]:
    """Tips of single cells (row, column): when a section was last tried from memory."""
    return {
        (row, _FROM_MEMORY): f"{section.from_memory}. {section.last_from_memory}"
        for row, section in enumerate(sections)
        if section.last_from_memory
    }


def checks_model(parent: QObject) -> LinesModel:
    """The table of the earlier checks."""
    return LinesModel(
        (tr("Check of"), tr("Run without a stop"), tr("Starts"), tr("What it showed")),
        (
            "",
            tr("Probability of a run without a stop, as it was estimated that day."),
            tr("Starts that were right, with the Wilson interval of the share."),
            tr("Compared with the check before, or in numbers for the first one."),
        ),
        parent,
        name_column=0,
    )


def check_rows(checks: tuple[PastCheck, ...]) -> tuple[tuple[str, ...], ...]:
    """Cells of the table of the earlier checks."""
    return tuple((c.when, c.without_stop, c.starts, c.says) for c in checks)
