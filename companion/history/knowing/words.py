"""What is known, and why a take was not clean, in plain words: for pages, reports and tooltips.

Tempi are told in the beats of the section, whose length in quarters is given.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from fractions import Fraction

from companion.history.knowing.clean import Flaw, Thresholds
from companion.history.knowing.known import ColdTake, State
from companion.history.knowing.order import Answer, OrderAnswer
from companion.history.knowing.retention import Estimate
from companion.history.knowing.standing import SectionStanding
from companion.timebase import quarters_per_minute_to_beats_per_minute

DayWriter = Callable[[date], str]
"""Writes a day as the reader is used to."""


def flaws_in_words(
    take: ColdTake,
    target_quarters_per_minute: float | None,
    beat_quarters: Fraction = Fraction(1),
) -> tuple[str, ...]:
    """Say why a cold take was not clean: "2 stops", "tempo 88 of 96"; empty when it was."""
    return tuple(
        _flaw(flaw, take, target_quarters_per_minute, beat_quarters) for flaw in take.flaws
    )


def _flaw(flaw: Flaw, take: ColdTake, target: float | None, beat_quarters: Fraction) -> str:
    attempt = take.attempt
    match flaw:
        case Flaw.INCOMPLETE:
            return f"{int(100 * attempt.coverage)} % of it played"
        case Flaw.BEGAN_AGAIN:
            return "went back and began again"
        case Flaw.STOPPED:
            return _counted(attempt.stops, "stop")
        case Flaw.ERRORS:
            errors = attempt.errors_per_100
            if errors is None:
                return "nothing of it is written out"
            return f"{_short(errors)} errors per 100 notes"
        case Flaw.EDGE:
            return f"{_counted(attempt.edge_errors, 'slip')} in melody or bass at its edges"
        case Flaw.SLOW:
            return _tempo(
                attempt.running_tempo_quarters_per_minute or 0.0, target or 0.0, beat_quarters
            )


def _tempo(reached: float, target: float, beat_quarters: Fraction) -> str:
    played, aim = (
        quarters_per_minute_to_beats_per_minute(each, beat_quarters) for each in (reached, target)
    )
    # rounded down: rounded to the nearest it could read as if the target were reached
    return f"tempo {int(played)} of {round(aim)}"


def state_in_words(standing: SectionStanding, rules: Thresholds, write: DayWriter) -> str:
    """Say how a section stands: "known since 3 May", "2 of 3 clean days", "lapsed on 9 May"."""
    since, lapsed = standing.known_since, standing.lapsed_on
    towards = f"{standing.clean_days} of {rules.days_to_know} clean days"
    if since is not None:
        return f"known since {write(since)}"
    if lapsed is not None:
        again = f"; {towards} to know it again" if standing.clean_days else ""
        return f"lapsed on {write(lapsed)}{again}"
    if standing.state is State.NEW:
        return "no cold take yet"
    if standing.clean_days >= rules.days_to_know:
        return f"{towards}, not yet spread over {rules.days_needed} days"
    return towards


def retention_in_words(estimate: Estimate) -> str:
    """Say how likely a clean cold take is, with interval and count."""
    if not estimate.count:
        return "no cold take yet, so nothing can be said"
    takes = _counted(estimate.count, "cold take")
    return (
        f"{_percent(estimate.probability)} likely to come out clean today "
        f"(between {_percent(estimate.low)} and {_percent(estimate.high)}, from {takes})"
    )


def rules_in_words(rules: Thresholds) -> str:
    """Say what counts as clean and as known, in one sentence."""
    stops = "no stop or restart"
    if rules.stops:
        stops = f"at most {_counted(rules.stops, 'stop')}, no restart"
    edges = "none on melody or bass at its edges"
    if rules.edge_errors:
        edges = f"at most {rules.edge_errors} of them on melody or bass at its edges"
    known = f"known after {rules.days_to_know} clean cold takes on as many days"
    if rules.days_to_know == 1:
        known = "known after one clean cold take"
    if rules.spread_days > rules.days_to_know:
        known += f", spread over {rules.spread_days} days at least"
    return (
        f"clean is the whole section with {stops}, at most {_short(rules.errors_per_100)} errors "
        f"per 100 notes, {edges}, and at least {_percent(rules.tempo_share)} of the target tempo "
        f"of today; {known}; lapsed when {rules.lapse_misses} of the last {rules.lapse_of} cold "
        f"takes were not clean"
    )


def order_in_words(answer: OrderAnswer) -> str:
    """Answer whether the hardest sections are those known longest, with how sure that is."""
    if answer.tau is None or answer.by_chance is None:
        return {
            Answer.TOO_FEW: "There are too few sections to tell.",
            Answer.NOTHING_KNOWN: "No section is known yet, so there is nothing to compare.",
        }.get(answer.answer, "All sections are alike in this, so there is nothing to compare.")
    told = {
        Answer.YES: "Yes: the harder a section is, the longer it has been known.",
        Answer.RATHER: "Rather yes, but with so few sections it could be chance.",
        Answer.HARDLY: "Hardly: the order in which they became known says little.",
        Answer.NO: "No: the hardest sections are not those known longest.",
    }[answer.answer]
    chance = max(1, round(100 * answer.by_chance))
    tau = f"{answer.tau:+.2f}".replace("-", "\N{MINUS SIGN}")
    return (
        f"{told} Rank correlation {tau} over {answer.section_count} sections; "
        f"by chance, {chance} of 100 orders would do as well."
    )


def change_in_words(answer: OrderAnswer) -> str:
    """Say what to change in a sentence; "" when there is nothing."""
    if answer.answer is Answer.NOTHING_KNOWN:
        return f"Begin with the hardest: {', then '.join(each.name for each in answer.hardest)}."
    names = [hard.name for hard, _ in answer.change]
    if not names:
        return ""
    if len(names) == 1:
        return f"Begin with {names[0]}: it is harder than what has been known for longer."
    return f"Begin with {', then '.join(names)}: harder than what has been known for longer."


def changes_in_words(answer: OrderAnswer) -> tuple[str, ...]:
    """Say of each hard section which easier one is ahead of it, and how far."""
    told = []
    for hard, easy in answer.change:
        ahead = easy.days_known - hard.days_known
        state = "is not known yet" if not hard.days_known else f"is {_counted(ahead, 'day')} behind"
        known = _counted(easy.days_known, "day")
        told.append(f"{hard.name} is harder than {easy.name}, known for {known}, and {state}.")
    return tuple(told)


def _counted(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def _short(number: float) -> str:
    return f"{number:.1f}".removesuffix(".0")


def _percent(share: float) -> str:
    return f"{round(100 * share)} %"
