"""Histories in which the made-up piece was played on some days."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from companion.practice.planning.situation import PlanAsked
from tests.unit.practice.practice_examples import a_map, a_score
from tests.unit.storage.history_examples import a_take, an_attempt, some_results

TODAY = date(2026, 3, 9)


def asked(**changes):
    """What is asked about the piece today, the second section being the harder one."""
    values = {
        "piece_id": "piece",
        "basis": "basis",
        "score": a_score(),
        "section_map": a_map(),
        "today": TODAY,
        "order": ("b", "a"),
    }
    return PlanAsked(**(values | changes))


UP, DOWN = asked().stretches


def play(history, take_id, day, *stretches, minutes=0, seconds=60.0, from_memory=False, **changes):
    """Save a take, so many days after today, with a clean attempt at each of these stretches."""
    started_at = datetime(2026, 3, 9, 16, minutes, tzinfo=UTC) + timedelta(days=day)
    take = a_take(
        take_id,
        started_at=started_at,
        zone="UTC",
        duration_seconds=seconds,
        from_memory=from_memory,
    )
    history.save_take(take)
    clean = {
        "started_at": started_at,
        "zone": "UTC",
        "expected": 20,
        "missed": 0,
        "stops": 0,
        "running_tempo_quarters_per_minute": 90.0,
    }
    attempts = {stretch: an_attempt(take_id, **(clean | changes)) for stretch in stretches}
    history.save_results([replace(some_results(take_id, stretches=(UP, DOWN)), attempts=attempts)])
