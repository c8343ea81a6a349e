"""The words of a report, for the page and for paper alike."""

from __future__ import annotations

from datetime import date

from companion.history.knowing.known import State
from companion.practice.report.values import ReportSection, ReportValues, ResistingPassage
from companion.timebase import quarters_per_minute_to_beats_per_minute

_LONG_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip

WHAT_RESISTS = (
    "Measures in which errors were made on several days, and in at least half of the last takes "
    "that went through them."
)
WHAT_A_DOT_IS = "One mark for each cold take, the newest at the right: full for a clean one."


def long_day(day: date) -> str:
    """Write a day: "3 May 2026"; not by the locale of the machine, which may be another's."""
    return f"{day.day} {_LONG_MONTHS[day.month - 1]} {day.year}"


def short_day(day: date) -> str:
    """Write a day without its year: "3 May"."""
    return f"{day.day} {_LONG_MONTHS[day.month - 1][:3]}"


def percent(share: float | None) -> str:
    """Write a share; rounded down, so that 100 % is all of it."""
    return "–" if share is None else f"{int(100 * share + 1e-9)} %"


def beats(section: ReportSection, quarters_per_minute: float | None) -> str:
    """Write a tempo in the beats of a section."""
    if quarters_per_minute is None:
        return "–"
    return f"{_beats(section, quarters_per_minute):.0f}"


def tempo_of_target(section: ReportSection) -> str:
    """Write the last tempo beside the target: "84 of 96"."""
    reached = beats(section, section.last_quarters_per_minute)
    if section.target_quarters_per_minute is None:
        return reached
    return f"{reached} of {beats(section, section.target_quarters_per_minute)}"


def _beats(section: ReportSection, quarters_per_minute: float) -> float:
    return quarters_per_minute_to_beats_per_minute(quarters_per_minute, section.beat_quarters)


def stands(section: ReportSection) -> str:
    """Say how a section stands, in the few words of a column."""
    if section.known_since is not None:
        return f"known since {short_day(section.known_since)}"
    if section.lapsed_on is not None:
        return f"lapsed on {short_day(section.lapsed_on)}"
    if section.state is State.NEW:
        return "no cold take yet"
    return f"{section.clean_days} of {section.days_to_know} clean days"


def retained(section: ReportSection) -> str:
    """Say how likely a clean cold take is, with interval and count; empty before any."""
    if section.probability is None or section.low is None or section.high is None:
        return ""
    count = len(section.cold)
    takes = "1 cold take" if count == 1 else f"{count} cold takes"
    return (
        f"{round(100 * section.probability)} % likely clean today "
        f"({round(100 * section.low)}–{round(100 * section.high)} %, {takes})"
    )


def period(report: ReportValues) -> str:
    """Say which days the report is about."""
    if report.from_day == report.to_day:
        return long_day(report.to_day)
    if report.from_day.year == report.to_day.year:
        return f"{short_day(report.from_day)} – {long_day(report.to_day)}"
    return f"{long_day(report.from_day)} – {long_day(report.to_day)}"


def performance(report: ReportValues) -> str:
    """Say when the performance is; empty without one."""
    if report.performance is None:
        return ""
    left = report.days_left
    if left is None:
        return f"Performance on {long_day(report.performance)}"
    days = "today" if left == 0 else "in 1 day" if left == 1 else f"in {left} days"
    return f"Performance on {long_day(report.performance)}, {days}"


def summary(report: ReportValues) -> tuple[str, ...]:
    """Say in a few sentences how the piece stands."""
    told = [_how_many(report)]
    told += from_memory(report)
    if report.last_played is not None:
        told.append(f"Last played on {long_day(report.last_played)}.")
    if report.playing:
        told.append(f"{round(report.minutes_a_week)} minutes of playing a week.")
    if report.order:
        told.append(f"Are the hardest sections those known longest? {report.order}")
    if report.readiness is not None:
        told.append(f"Readiness on {long_day(report.readiness.day)}: {report.readiness.sentence}")
    if report.takes_to_work_out:
        count = report.takes_to_work_out
        takes = "1 take is" if count == 1 else f"{count} takes are"
        told.append(f"{takes} not compared with the score yet and left out here.")
    return tuple(told)


def _how_many(report: ReportValues) -> str:
    total = len(report.leaves)
    if not total:
        return "The piece has no sections yet."
    known = report.count(State.KNOWN)
    if not any(section.cold for section in report.leaves):
        return "No section has been played cold yet."
    told = [f"{known} of {total} sections {'is' if known == 1 else 'are'} known"]
    for state, words in (
        (State.LEARNING, "being learnt"),
        (State.LAPSED, "lapsed"),
        (State.NEW, "not played cold yet"),
    ):
        count = report.count(state)
        if count:
            told.append(f"{count} {words}")
    return f"{', '.join(told)}."


def from_memory(report: ReportValues) -> tuple[str, ...]:
    """Say how first takes of a day went from memory; nothing where none was played so."""
    by_section = [[one for one in each.cold if one.from_memory] for each in report.leaves]
    tried = [one for takes in by_section for one in takes]
    if not tried:
        return ()
    takes = "1 cold take" if len(tried) == 1 else f"{len(tried)} cold takes"
    told = (
        f"Played from memory in {sum(map(bool, by_section))} of {len(by_section)} sections: "
        f"{sum(one.clean for one in tried)} of {takes} clean, "
        f"the last on {short_day(max(one.day for one in tried))}."
    )
    return (told,)


def resists(passage: ResistingPassage) -> str:
    """Say where errors come again."""
    measures = "Measure" if "–" not in passage.measures else "Measures"
    section = f" in {passage.section}" if passage.section else ""
    return (
        f"{measures} {passage.measures}{section}: {passage.errors_per_play:.1f} errors each time, "
        f"on {passage.days} days"
    )
