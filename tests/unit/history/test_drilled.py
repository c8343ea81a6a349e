"""Drills as entries; demo data."""

from datetime import UTC, datetime

import pytest

from companion.history.drill_days import DrillRecord
from companion.history.drilled import DRILLED, entry_of, events_of, record_of
from companion.history.model import Entry, RawEvent

EVENING = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)
RECORD = DrillRecord(
    drill_id="one:n1:n5::as written",
    take_id="entry",
    started_at=EVENING,
    zone="Europe/Vienna",
    tries=3,
    clean=2,
    evenness_sd_ms=12.5,
    evenness_cv=0.1,
    border_delay_ms=None,
    quarters_per_minute=88.0,
)
EVENTS = (RawEvent(0.0, bytes((0x90, 60, 70))), RawEvent(0.25, bytes((0x80, 60, 0))))


def test_a_drill_survives_being_stored_with_every_event():
    entry = entry_of(RECORD, "piece", EVENTS)
    assert (entry.kind, entry.piece_id) == (DRILLED, "piece")
    assert record_of(entry) == RECORD
    assert events_of(entry) == EVENTS


@pytest.mark.parametrize("content", ["", "[]", "{}", '{"events": [[0, "zz"]]}', '{"events": 3}'])
def test_an_entry_that_makes_no_sense_is_left_out(content):
    entry = Entry(
        entry_id="e", piece_id="p", kind=DRILLED, happened_at=EVENING, zone="UTC", content=content
    )
    assert record_of(entry) is None
    assert events_of(entry) == ()
