"""The last readiness check of a piece, in one sentence."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from companion.history.days import practice_day
from companion.history.readiness.check_record import READINESS_CHECK, CheckRecord, record_of
from companion.practice.report.values import ReadinessGlance

if TYPE_CHECKING:
    from companion.storage.history_file import HistoryFile


def last_check(
    history: HistoryFile, piece_id: str, today: date, day_starts_at_hour: int
) -> ReadinessGlance | None:
    """Return the newest check until a day that came to a figure; None without one."""
    for entry in reversed(history.entries_of(piece_id, READINESS_CHECK)):
        record = record_of(entry)
        if record is None or record.no_stop is None:
            continue
        day = practice_day(record.happened_at, record.zone, day_starts_at_hour)
        if day <= today:
            return ReadinessGlance(day=day, sentence=sentence_of(record))
    return None


def sentence_of(record: CheckRecord) -> str:
    """Say what a check came to: the probability of a run without a stop, and the slips."""
    told = ""
    if record.no_stop is not None:
        of_ten, low, high = (
            round(10 * share)
            for share in (record.no_stop.probability, record.no_stop.low, record.no_stop.high)
        )
        count = record.no_stop.count
        takes = "1 cold take" if count == 1 else f"{count} cold takes"
        told = (
            f"about {of_ten} of 10 runs would go without a stop "
            f"(between {low} and {high}, from {takes})"
        )
    if record.slips is not None:
        told += f", with {record.slips.mean:.0f} slips each"
    return f"{told}." if told else ""
