"""What is known, in words: for the page, the map and readers of the screen."""

from __future__ import annotations

from datetime import date

from PySide6.QtCore import QCoreApplication

from companion.desktop.dates import short_day, weekday_and_day
from companion.desktop.days.wording import weekday
from companion.desktop.knowing.content import KnowingContent, KnowingRow
from companion.history.definitions import definition
from companion.history.knowing.clean import Thresholds
from companion.history.knowing.known import ColdTake, State
from companion.history.knowing.order import Answer
from companion.history.knowing.standing import SectionStanding
from companion.history.knowing.words import (
    change_in_words,
    changes_in_words,
    flaws_in_words,
    order_in_words,
    retention_in_words,
    rules_in_words,
    state_in_words,
)

HEADING_TIP = "\n".join(
    f"{each.title}: {each.sentence}"
    for each in map(definition, ("cold_take", "clean", "known", "lapsed", "retention", "return"))
)

_A_YEAR_DAYS = 300  # a day without its year may be taken for one of this year


def tr(text: str) -> str:
    """Translate a text about what is known."""
    return QCoreApplication.translate("Knowing", text)


def day_of(day: date, today: date) -> str:
    """Write a day, with its year when it is long past."""
    if abs((today - day).days) > _A_YEAR_DAYS:
        return f"{short_day(day)} {day.year}"
    return short_day(day)


def state(section: SectionStanding, rules: Thresholds, today: date) -> str:
    """How a section stands: "known since 3 May", "2 of 3 clean days"."""
    return state_in_words(section, rules, lambda day: day_of(day, today))


def core_words(section: SectionStanding, rules: Thresholds, today: date) -> tuple[str, ...]:
    """What the map writes on the core of a section, the longest first."""
    since, lapsed = section.known_since, section.lapsed_on
    if since is not None:
        days = section.days_known(today)
        long = tr("{days} days") if days != 1 else tr("{days} day")
        return (f"{day_of(since, today)}\n{long.format(days=days)}", f"{days}")
    if lapsed is not None:
        few = tr("{n} of {of}").format(n=section.clean_days, of=rules.days_to_know)
        return (tr("lapsed {day}").format(day=day_of(lapsed, today)) + f"\n{few}", tr("lapsed"))
    if section.state is State.LEARNING:
        few = tr("{n} of {of}").format(n=section.clean_days, of=rules.days_to_know)
        return (tr("not yet") + f"\n{few}", few)
    return ("–",)


def depth_sentence(section: SectionStanding, rules: Thresholds, today: date) -> str:
    """Everything about since when a section is known."""
    told = state(section, rules, today)
    told = told[:1].upper() + told[1:]
    if section.known_since is not None:
        days = section.days_known(today)
        told += tr(", for {days} days").format(days=days) if days != 1 else tr(", for a day")
    for spell in section.spells:
        if spell.lapsed_on is not None and spell.lapsed_on != section.lapsed_on:
            told += tr("; lapsed on {day}").format(day=day_of(spell.lapsed_on, today))
    return told + "."


def cold_take(row: KnowingRow, take: ColdTake) -> str:
    """A cold take: its day, and that it was clean or why not."""
    found = flaws_in_words(take, row.standing.target_quarters_per_minute, row.beat_quarters)
    verdict = tr("clean") if take.clean else tr("not clean: {why}").format(why=", ".join(found))
    day = weekday_and_day(take.day)
    return tr("{name}, {day}, cold take {verdict}").format(
        name=row.standing.name, day=day, verdict=verdict
    )


def next_return(section: SectionStanding, today: date) -> str:
    """When to play a section cold again."""
    found = section.next_return
    if found is None:
        return ""
    days = (found.day - today).days
    if days < 0:
        return tr("due since {day}").format(day=day_of(found.day, today))
    if days == 0:
        return tr("due today")
    if days == 1:
        return tr("due tomorrow")
    return tr("due {weekday} {day}").format(
        weekday=weekday(found.day), day=day_of(found.day, today)
    )


def row_sentence(row: KnowingRow, content: KnowingContent) -> str:
    """Everything about a row."""
    today = content.today
    if today is None:
        return ""
    section = row.standing
    parts = [
        f"{section.name}, {row.span}",
        state(section, content.rules, today),
        retention_in_words(section.retention),
    ]
    due = next_return(section, today)
    if due:
        parts.append(tr("cold again: {due}").format(due=due))
        if section.next_return is not None and section.next_return.capped:
            parts.append(tr("sooner than usual, because the performance is ahead"))
    return "; ".join(parts) + "."


def question(content: KnowingContent) -> str:
    """The answer to the one question of the piece."""
    answer = content.answer
    if answer is None:
        return tr("How hard the sections are is still being worked out.")
    told = order_in_words(answer)
    if content.by_teacher and answer.answer not in (Answer.TOO_FEW, Answer.NOTHING_KNOWN):
        told += " " + tr("Hardness is taken from the order of work that was set by hand.")
    return told


def change(content: KnowingContent) -> str:
    """What to change so that the answer becomes yes, in a sentence."""
    return change_in_words(content.answer) if content.answer is not None else ""


def changes(content: KnowingContent) -> tuple[str, ...]:
    """The same with a reason for each section."""
    return changes_in_words(content.answer) if content.answer is not None else ()


def judged_by(content: KnowingContent) -> str:
    """By which rules the past is judged."""
    return tr("Judged by the rules of today: {rules}.").format(rules=rules_in_words(content.rules))
