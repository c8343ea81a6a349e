"""The words of the page of the readiness."""

from __future__ import annotations

from PySide6.QtCore import QCoreApplication

from companion.desktop.dates import weekday_and_day
from companion.history.knowing.retention import Estimate
from companion.history.knowing.standing import FromMemory
from companion.history.readiness.check import CheckedSection, Passed
from companion.history.readiness.estimate import Expected


def tr(text: str, number: int = -1) -> str:
    """Translate a text of the page."""
    return QCoreApplication.translate("Readiness", text, None, number)


def share_text(estimate: Estimate) -> str:
    """A probability with its interval and count: "92 % (71–99, from 8)"."""
    if not estimate.count:
        return tr("never played cold")
    return tr("{share} % ({low}–{high}, from {count})").format(
        share=_percent(estimate.probability),
        low=_percent(estimate.low),
        high=_percent(estimate.high),
        count=estimate.count,
    )


def slips_text(expected: Expected) -> str:
    """An expected number with its interval: "1.4 (0.3–3.1)"."""
    if not expected.count:
        return ""
    return f"{expected.mean:.1f} ({expected.low:.1f}–{expected.high:.1f})"


def passed_text(passed: Passed) -> str:
    """So many of so many with the interval: "5 of 6 (44–97 %)"."""
    if not passed.count:
        return ""
    low, high = passed.interval
    return tr("{passed} of {count} ({low}–{high} %)").format(
        passed=passed.passed, count=passed.count, low=_percent(low), high=_percent(high)
    )


def memory_text(found: FromMemory, *, by_heart: bool) -> str:
    """What the first tries of a day from memory came to: "2 of 3 clean".

    Parameters
    ----------
    by_heart
        Whether the piece will be played from memory: only then it is told that nothing was tried.
    """
    if found.tried:
        return tr("{clean} of {tried} clean").format(clean=found.clean, tried=found.tried)
    return tr("not tried") if by_heart else ""


def last_memory_text(found: FromMemory) -> str:
    """When a section was last tried from memory."""
    if found.last_day is None:
        return ""
    return tr("The last time on {day}.").format(day=weekday_and_day(found.last_day))


def checked_text(checked: CheckedSection) -> str:
    """What a check showed of a section: "held, starts 1 of 2, from memory"."""
    parts = []
    if checked.held is not None:
        parts.append(tr("held") if checked.held else tr("stopped"))
    if checked.starts.count:
        parts.append(
            tr("starts {passed} of {count}").format(
                passed=checked.starts.passed, count=checked.starts.count
            )
        )
    if checked.memory is not None:
        parts.append(tr("from memory") if checked.memory else tr("not from memory"))
    if checked.harmony.count:
        parts.append(
            tr("chords {passed} of {count}").format(
                passed=checked.harmony.passed, count=checked.harmony.count
            )
        )
    return ", ".join(parts)


def _percent(share: float) -> int:
    return round(100 * share)
