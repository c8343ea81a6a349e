"""From estimates and checks to what the page shows. No widgets, no database."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction

from companion.desktop.dates import weekday_and_day
from companion.desktop.readiness import wording
from companion.desktop.readiness.content import (
    CheckOver,
    PastCheck,
    ReadinessContent,
    ReadySection,
    StepShown,
)
from companion.desktop.readiness.wording import tr
from companion.history.days import practice_day
from companion.history.knowing.known import State
from companion.history.knowing.standing import SectionStanding
from companion.history.readiness.check import (
    Check,
    Passed,
    checked_sections,
    passed_of,
    starts_inside,
)
from companion.history.readiness.check_record import CheckRecord, compare
from companion.history.readiness.check_steps import CheckKind
from companion.history.readiness.words import (
    help_in_words,
    memory_in_words,
    no_stop_in_words,
    run_throughs_in_words,
    slips_in_words,
    weakest_in_words,
)
from companion.history.recited import Recited
from companion.practice.readiness.estimate import PieceReadiness

MOST_CHECKS = 12
NEWEST_NAMED = 12
"""So many of the newest answers about a section tell how well its harmony is known (convention)."""

NOTHING_NAMED = Passed(passed=0, count=0)


def readiness_content(
    found: PieceReadiness,
    records: Sequence[CheckRecord],
    day_starts_at_hour: int,
    named: Mapping[str, Passed] | None = None,
) -> ReadinessContent:
    """Fill the page.

    Parameters
    ----------
    records
        Checks of the piece, oldest first.
    named
        Chords named all right in each section, of the newest ones, by section id.
    """
    ready = found.readiness
    if not ready.sections:
        return ReadinessContent(sentences=(tr("The piece has no sections yet."),))
    sentences = [no_stop_in_words(ready)]
    if ready.no_stop.count:
        sentences += [slips_in_words(ready), weakest_in_words(ready), *help_in_words(ready)]
    sentences.append(run_throughs_in_words(ready))
    tried = (standing.from_memory.tried for standing in found.standings)
    sentences += memory_in_words(found.by_heart, tried)
    last = (
        {each.section_id: each for each in checked_sections(records[-1].check)} if records else {}
    )
    weakest = ready.weakest.section_id if ready.weakest is not None and ready.no_stop.count else ""
    rows = []
    for section, standing in zip(ready.sections, found.standings, strict=True):
        checked = last.get(section.section_id)
        rows.append(
            ReadySection(
                section_id=section.section_id,
                name=section.name,
                without_stop=wording.share_text(section.no_stop),
                slips=wording.slips_text(section.slips),
                tempo=f"{round(100 * section.tempo_share)} %" if section.tempo_share else "",
                known=_known(standing, section.days_known),
                named=wording.passed_text((named or {}).get(section.section_id, NOTHING_NAMED)),
                checked=wording.checked_text(checked) if checked is not None else "",
                weakest=section.section_id == weakest,
                from_memory=wording.memory_text(standing.from_memory, by_heart=found.by_heart),
                last_from_memory=wording.last_memory_text(standing.from_memory),
            )
        )
    return ReadinessContent(
        sentences=tuple(sentences),
        sections=tuple(rows),
        checks=_past(records, day_starts_at_hour),
    )


def named_chords(
    answers: Iterable[Recited], limits: Mapping[str, tuple[Fraction, Fraction]]
) -> dict[str, Passed]:
    """Return how many of the newest answers about each section were all right.

    Parameters
    ----------
    limits
        Start and end of each section in quarters, half-open, by section id.
    """
    ordered = sorted(answers, key=lambda each: (each.happened_at, each.entry_id))
    found = {}
    for section_id, (start, end) in limits.items():
        newest = [each for each in ordered if start <= each.start_quarters < end][-NEWEST_NAMED:]
        found[section_id] = Passed(passed=sum(each.all_right for each in newest), count=len(newest))
    return found


def _known(standing: SectionStanding, days: int) -> str:
    if standing.known_since is not None:
        return tr("{days} days").format(days=days) if days != 1 else tr("1 day")
    if standing.state is State.LAPSED:
        return tr("lapsed")
    return tr("not yet")


def _past(records: Sequence[CheckRecord], day_starts_at_hour: int) -> tuple[PastCheck, ...]:
    lines = []
    for number, record in enumerate(records):
        change = compare(records[number - 1], record) if number else None
        day = practice_day(record.happened_at, record.zone, day_starts_at_hour)
        lines.append(
            PastCheck(
                when=weekday_and_day(day),
                without_stop=wording.share_text(record.no_stop) if record.no_stop else "",
                starts=wording.passed_text(passed_of(record.check, CheckKind.START)),
                says=change.says if change is not None else check_says(record.check),
            )
        )
    return tuple(reversed(lines[-MOST_CHECKS:]))


def step_shown(check: Check) -> StepShown | None:
    """Return the open step as it is shown; None when the check is over."""
    step = check.next_step
    if step is None:
        return None
    return StepShown(
        number=len(check.results) + 1,
        count=len(check.steps),
        says=step.says,
        answer_wanted=step.kind is CheckKind.RECITE,
        before=check.results[-1].says if check.results else "",
    )


def check_over(check: Check) -> CheckOver:
    """Return what is shown of a check that has ended."""
    lines = []
    for step in check.steps:
        result = check.result(step.step_id)
        if result is None:
            continue
        sign = {True: "✓", False: "✗", None: "–"}[result.passed]
        lines.append(f"{sign}  {step.says} {result.says}")
    return CheckOver(says=check_says(check), lines=tuple(lines))


def check_says(check: Check) -> str:
    """Return what a check came to in one line."""
    parts = []
    runs = check.of_kind(CheckKind.RUN_THROUGH)
    if runs:
        cold = "" if check.cold else tr(" (not cold)")
        parts.append(f"{runs[0].says.rstrip('.')}{cold}")
    starts = passed_of(check, CheckKind.START)
    if starts.count:
        inside = starts_inside(check)
        told = tr("starts {passed} of {count}").format(passed=starts.passed, count=starts.count)
        if inside.count:
            told += tr(", inside sections {passed} of {count}").format(
                passed=inside.passed, count=inside.count
            )
        parts.append(told)
    for kind, words in (
        (CheckKind.TEMPO, tr("in tempo {passed} of {count}")),
        (CheckKind.MEMORY, tr("from memory {passed} of {count}")),
        (CheckKind.RECITE, tr("chords {passed} of {count}")),
    ):
        passed = passed_of(check, kind)
        if passed.count:
            parts.append(words.format(passed=passed.passed, count=passed.count))
    if not parts:
        return tr("Nothing was checked.")
    told = "; ".join(parts)
    return f"{told[0].upper()}{told[1:]}."
