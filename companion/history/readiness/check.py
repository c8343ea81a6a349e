"""A readiness check as a pure state machine: takes and answers go in, the next step comes out.

A :class:`Check` is a frozen value. :func:`hear` lays a take upon the step that is open,
:func:`answer` an answer about key and chord, :func:`skip` leaves a step out. What does not belong
to the open step leaves the check as it is, so that a passage may be played between two steps.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from companion.history.knowing.retention import wilson_interval
from companion.history.readiness.check_steps import (
    OPENING_WITHIN_SECONDS,
    CheckKind,
    CheckSection,
    CheckStep,
)

RUN_SHARE = 0.5
"""Share of the sections from which a take that broke off was meant as the run-through."""

TEMPO_SHARE = 0.95
ERRORS_PER_100 = 2.0
"""As for a clean take."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckPart:
    """How a take went through a section: counts of notes, whether it held, the tempo it had."""

    section_id: str
    complete: bool
    stops: int
    errors: int
    notes: int
    tempo_share: float | None = None

    @property
    def held(self) -> bool:
        """Whether it went to its end without a stop."""
        return self.complete and self.stops == 0

    @property
    def errors_per_100(self) -> float:
        """Errors for every 100 notes."""
        return 100.0 * self.errors / self.notes if self.notes else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckTake:
    """A take during a check.

    Parameters
    ----------
    first_measure_index
        Where it began.
    seconds_to_begin
        From the prompt to the first note; None where nobody measured it.
    opening_errors
        Errors in its first two measures; None where they were not played to their end.
    parts
        The sections in the order of playing, each once, as the take first came through it.
    """

    take_id: str
    at: datetime
    first_measure_index: int
    parts: tuple[CheckPart, ...]
    seconds_to_begin: float | None = None
    opening_errors: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StepResult:
    """What a step came to.

    Parameters
    ----------
    passed
        None for a step that was left out.
    says
        One plain sentence.
    parts
        For steps that were played.
    """

    step_id: str
    passed: bool | None
    says: str
    done_id: str = ""
    parts: tuple[CheckPart, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """A readiness check: its steps and what those done so far came to.

    Parameters
    ----------
    cold
        Whether nothing of the piece was played before it on that day.
    """

    seed: int
    sections: tuple[CheckSection, ...]
    steps: tuple[CheckStep, ...]
    results: tuple[StepResult, ...] = ()
    cold: bool = True

    @property
    def next_step(self) -> CheckStep | None:
        """The step that is open; None when the check is over."""
        done = len(self.results)
        return self.steps[done] if done < len(self.steps) else None

    @property
    def finished(self) -> bool:
        """Whether all steps are done or left out."""
        return self.next_step is None

    def result(self, step_id: str) -> StepResult | None:
        """What a step came to; None while it is open."""
        return next((each for each in self.results if each.step_id == step_id), None)

    def of_kind(self, kind: CheckKind) -> tuple[StepResult, ...]:
        """Results of all steps of one kind that were not left out."""
        wanted = {step.step_id for step in self.steps if step.kind is kind}
        return tuple(
            each for each in self.results if each.step_id in wanted and each.passed is not None
        )


def hear(check: Check, take: CheckTake) -> Check:
    """Return the check after a take; unchanged when the take is not what the step asks for."""
    step = check.next_step
    if step is None or not _belongs(step, take):
        return check
    return _after(check, _judged(step, take))


def answer(check: Check, entry_id: str, *, right: bool, given: str = "") -> Check:
    """Return the check after an answer about key and chord; unchanged when none was asked for."""
    step = check.next_step
    if step is None or step.kind is not CheckKind.RECITE:
        return check
    said = f" ({given})" if given else ""
    says = f"Named rightly{said}." if right else f"Named otherwise{said}."
    return _after(
        check, StepResult(step_id=step.step_id, passed=right, says=says, done_id=entry_id)
    )


def skip(check: Check) -> Check:
    """Return the check with the open step left out."""
    step = check.next_step
    if step is None:
        return check
    return _after(check, StepResult(step_id=step.step_id, passed=None, says="Left out."))


def _after(check: Check, result: StepResult) -> Check:
    return replace(check, results=(*check.results, result))


def _belongs(step: CheckStep, take: CheckTake) -> bool:
    played = [part.section_id for part in take.parts]
    if not played:
        return False
    if step.kind is CheckKind.RUN_THROUGH:
        # somebody who breaks off in the first line has not begun the run
        reached = len(set(played) & set(step.section_ids))
        return played[0] == step.section_ids[0] and (
            reached >= RUN_SHARE * len(step.section_ids) or len(step.section_ids) == 1
        )
    if step.kind is CheckKind.START:
        return take.first_measure_index == step.measure_index
    return step.kind in (CheckKind.TEMPO, CheckKind.MEMORY) and step.section_ids[0] in played


def _judged(step: CheckStep, take: CheckTake) -> StepResult:
    if step.kind is CheckKind.RUN_THROUGH:
        passed, says = _run(step, take)
    elif step.kind is CheckKind.START:
        passed, says = _start(take)
    else:
        passed, says = _section(step, take)
    return StepResult(
        step_id=step.step_id, passed=passed, says=says, done_id=take.take_id, parts=take.parts
    )


def _run(step: CheckStep, take: CheckTake) -> tuple[bool, str]:
    held = {part.section_id for part in take.parts if part.held}
    missing = [name for name in step.section_ids if name not in held]
    errors = sum(part.errors for part in take.parts)
    slips = f"{errors} slip" if errors == 1 else f"{errors} slips"
    if not missing:
        return True, f"Through without a stop, {slips}."
    count = len(missing)
    where = "one section" if count == 1 else f"{count} sections"
    return False, f"Stopped in {where} of {len(step.section_ids)}, {slips}."


def _start(take: CheckTake) -> tuple[bool, str]:
    if take.opening_errors is None:
        return False, "Broke off within the first two measures."
    if take.opening_errors:
        return False, "The first two measures were not right."
    if take.seconds_to_begin is not None and take.seconds_to_begin > OPENING_WITHIN_SECONDS:
        return False, f"Right, after {take.seconds_to_begin:.0f} seconds of thought."
    return True, "Right from the first note."


def _section(step: CheckStep, take: CheckTake) -> tuple[bool, str]:
    part = next(each for each in take.parts if each.section_id == step.section_ids[0])
    if not part.held:
        return False, "It stopped."
    if part.errors_per_100 > ERRORS_PER_100:
        return False, f"Without a stop, {part.errors} slips in {part.notes} notes."
    share = part.tempo_share
    if step.kind is CheckKind.TEMPO and share is not None and share < TEMPO_SHARE:
        return False, f"Clean, at {round(100 * share)} % of the tempo."
    return True, "Clean, and in tempo." if step.kind is CheckKind.TEMPO else "Clean, from memory."


@dataclass(frozen=True, slots=True, kw_only=True)
class Passed:
    """So many of so many, with the Wilson interval of the share."""

    passed: int
    count: int

    @property
    def interval(self) -> tuple[float, float]:
        """95 % interval of the share that would pass."""
        return wilson_interval(self.passed, self.count)


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedSection:
    """What a check showed of a section: None where it was not asked about."""

    section_id: str
    name: str
    held: bool | None
    errors_per_100: float | None
    tempo_share: float | None
    starts: Passed
    memory: bool | None
    harmony: Passed


def passed_of(check: Check, kind: CheckKind) -> Passed:
    """How many steps of a kind were passed, of those that were done."""
    results = check.of_kind(kind)
    return Passed(passed=sum(each.passed is True for each in results), count=len(results))


def starts_inside(check: Check) -> Passed:
    """The starts inside sections alone: they tell more than beginnings."""
    inside = {step.step_id for step in check.steps if step.opens_section is False}
    results = [each for each in check.of_kind(CheckKind.START) if each.step_id in inside]
    return Passed(passed=sum(each.passed is True for each in results), count=len(results))


def checked_sections(check: Check) -> tuple[CheckedSection, ...]:
    """What the check showed of each section, in the order of the piece."""
    return tuple(_checked(check, section) for section in check.sections)


def _checked(check: Check, section: CheckSection) -> CheckedSection:
    name = section.section_id
    of_section: dict[CheckKind, list[StepResult]] = {kind: [] for kind in CheckKind}
    for step in check.steps:
        result = check.result(step.step_id)
        if result is not None and result.passed is not None and name in step.section_ids:
            of_section[step.kind].append(result)
    parts = _parts(of_section[CheckKind.RUN_THROUGH], name)
    in_tempo = _parts(of_section[CheckKind.TEMPO], name) or parts
    memory = of_section[CheckKind.MEMORY]
    return CheckedSection(
        section_id=name,
        name=section.name,
        held=parts[0].held if parts else None,
        errors_per_100=parts[0].errors_per_100 if parts else None,
        tempo_share=in_tempo[0].tempo_share if in_tempo else None,
        starts=_count(of_section[CheckKind.START]),
        memory=all(each.passed for each in memory) if memory else None,
        harmony=_count(of_section[CheckKind.RECITE]),
    )


def _parts(results: Sequence[StepResult], section_id: str) -> list[CheckPart]:
    return [part for each in results for part in each.parts if part.section_id == section_id]


def _count(results: Sequence[StepResult]) -> Passed:
    return Passed(passed=sum(each.passed is True for each in results), count=len(results))
