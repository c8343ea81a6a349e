"""Readiness checks over time: an entry of the history for each, and what changed between two."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from companion.history.days import practice_day
from companion.history.knowing.retention import Estimate
from companion.history.model import Entry
from companion.history.readiness.check import Check, CheckPart, StepResult
from companion.history.readiness.check_steps import CheckKind, CheckSection, CheckStep
from companion.history.readiness.estimate import Expected, Readiness

READINESS_CHECK = "readiness_check"
"""Kind of the entries."""

RECORD_VERSION = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckRecord:
    """A check as it is kept, with the estimate of that day.

    Parameters
    ----------
    no_stop, slips
        Of the piece, from the cold takes until that day, those of the check among them; None where
        nothing could be told.
    weakest_id
        The section that was most likely to stop a run.
    """

    entry_id: str
    piece_id: str
    happened_at: datetime
    zone: str
    check: Check
    no_stop: Estimate | None = None
    slips: Expected | None = None
    weakest_id: str = ""


def record_of_check(
    check: Check,
    estimate: Readiness | None,
    *,
    entry_id: str,
    piece_id: str,
    happened_at: datetime,
    zone: str,
) -> CheckRecord:
    """Return what is kept of a check."""
    weakest = estimate.weakest if estimate is not None else None
    return CheckRecord(
        entry_id=entry_id,
        piece_id=piece_id,
        happened_at=happened_at,
        zone=zone,
        check=check,
        no_stop=estimate.no_stop if estimate is not None else None,
        slips=estimate.slips if estimate is not None else None,
        weakest_id=weakest.section_id if weakest is not None else "",
    )


def entry_of(record: CheckRecord) -> Entry:
    """Write a check as an entry; inverse :func:`record_of`."""
    content = {
        "version": RECORD_VERSION,
        "check": asdict(record.check),
        "no_stop": asdict(record.no_stop) if record.no_stop is not None else None,
        "slips": asdict(record.slips) if record.slips is not None else None,
        "weakest": record.weakest_id,
    }
    return Entry(
        entry_id=record.entry_id,
        piece_id=record.piece_id,
        kind=READINESS_CHECK,
        happened_at=record.happened_at,
        zone=record.zone,
        content=json.dumps(content, ensure_ascii=False),
    )


def record_of(entry: Entry) -> CheckRecord | None:
    """Inverse of :func:`entry_of`; None for an entry that makes no sense."""
    if entry.kind != READINESS_CHECK:
        return None
    try:
        content = json.loads(entry.content)
        no_stop, slips = content["no_stop"], content["slips"]
        return CheckRecord(
            entry_id=entry.entry_id,
            piece_id=entry.piece_id or "",
            happened_at=entry.happened_at,
            zone=entry.zone,
            check=_check(content["check"]),
            no_stop=Estimate(**no_stop) if no_stop is not None else None,
            slips=Expected(**slips) if slips is not None else None,
            weakest_id=str(content["weakest"]),
        )
    except (ValueError, KeyError, TypeError):
        return None


def _check(stored: Any) -> Check:
    return Check(
        seed=int(stored["seed"]),
        sections=tuple(CheckSection(**each) for each in stored["sections"]),
        steps=tuple(_step(each) for each in stored["steps"]),
        results=tuple(_result(each) for each in stored["results"]),
        cold=bool(stored["cold"]),
    )


def _step(stored: Any) -> CheckStep:
    values = {
        **stored,
        "kind": CheckKind(stored["kind"]),
        "section_ids": tuple(str(name) for name in stored["section_ids"]),
    }
    return CheckStep(**values)


def _result(stored: Any) -> StepResult:
    return StepResult(**{**stored, "parts": tuple(CheckPart(**part) for part in stored["parts"])})


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckChange:
    """Two checks of a piece side by side, the earlier first; shares are None where not asked."""

    earlier: CheckRecord
    later: CheckRecord
    probability: tuple[float, float] | None
    slips: tuple[float, float] | None
    intervals_apart: bool

    @property
    def says(self) -> str:
        """What changed, in one plain sentence."""
        first, second = (
            practice_day(each.happened_at, each.zone) for each in (self.earlier, self.later)
        )
        days = (second - first).days
        if self.probability is None:
            return "The two checks cannot be compared: one of them has no estimate."
        before, after = (round(10 * each) for each in self.probability)
        then = {0: "earlier that day", 1: "the day before"}.get(days, f"{days} days before")
        chance = "" if self.intervals_apart else ": no more than chance does"
        return f"{after} of 10 runs without a stop, {before} of 10 {then}{chance}."


def compare(earlier: CheckRecord, later: CheckRecord) -> CheckChange:
    """Return what changed from one check to another.

    The change of the probability counts as more than chance where the intervals do not overlap: a
    strict rule, rather too careful than too bold.
    """
    probability = slips = None
    apart = False
    if earlier.no_stop is not None and later.no_stop is not None:
        probability = (earlier.no_stop.probability, later.no_stop.probability)
        apart = earlier.no_stop.high < later.no_stop.low or later.no_stop.high < earlier.no_stop.low
    if earlier.slips is not None and later.slips is not None:
        slips = (earlier.slips.mean, later.slips.mean)
    return CheckChange(
        earlier=earlier,
        later=later,
        probability=probability,
        slips=slips,
        intervals_apart=apart,
    )
