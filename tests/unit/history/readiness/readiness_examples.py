"""Sections with cold takes written as letters: c without a stop, x with one. Demo data."""

from datetime import UTC, datetime, time

from companion.history.knowing.clean import Flaw
from companion.history.knowing.known import ColdTake
from companion.history.readiness.evidence import SectionEvidence
from tests.unit.history.knowing.knowing_examples import an_attempt, day_number

TODAY = day_number(30)


def evidence(name, letters, *, notes=100, errors=1, tempo=100.0, target=100.0, **changes):
    """One cold take a day, the last letter is that of yesterday; a space is a day without."""
    takes = []
    for number, letter in enumerate(letters):
        if letter == " ":
            continue
        day = day_number(30 - len(letters) + number)
        attempt = an_attempt(
            take_id=f"{name} {number}",
            started_at=datetime.combine(day, time(17), tzinfo=UTC),
            expected=notes,
            wrong=errors,
            stops=0 if letter == "c" else 1,
            running_tempo_quarters_per_minute=tempo,
        )
        flaws = () if letter == "c" else (Flaw.STOPPED,)
        takes.append(ColdTake(day=day, attempt=attempt, flaws=flaws))
    return SectionEvidence(
        section_id=name.lower(),
        name=name,
        notes=notes,
        cold_takes=tuple(takes),
        target_quarters_per_minute=target,
        **changes,
    )
