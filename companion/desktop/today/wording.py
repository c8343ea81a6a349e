"""The words of the page of today."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from PySide6.QtCore import QCoreApplication, QDate, QLocale

from companion.desktop.dates import weekday_and_day
from companion.history.planning.model import Activity, DayKind, PlaceKind, PlannedTurn
from companion.history.planning.schedule import ProjectedDay
from companion.score.model import Hand


def tr(text: str, number: int = -1) -> str:
    """Translate a text of the page."""
    return QCoreApplication.translate("Today", text, None, number)


def activity_name(turn: PlannedTurn) -> str:
    """What is done in a turn."""
    name = {
        Activity.COLD_TAKE: tr("First try, cold"),
        Activity.RUN_THROUGH: tr("Run-through, cold"),
        Activity.HANDS_SEPARATELY: tr("Hands separately"),
        Activity.GROUPS_AND_RHYTHMS: tr("Groups and rhythms"),
        Activity.UNDER_TEMPO: tr("Under tempo"),
        Activity.UP_TO_TEMPO: tr("Up to tempo"),
        Activity.FROM_MEMORY: tr("From memory"),
        Activity.STARTS: tr("Beginnings"),
        Activity.JOIN: tr("Join"),
        Activity.ROUND: tr("Round"),
        Activity.RECITE: tr("Recite the harmony"),
        Activity.CONDUCT: tr("Conduct"),
        Activity.REPLAY: tr("Once more at the end"),
    }[turn.activity]
    if turn.hand is None:
        return name
    hand = tr("right hand") if turn.hand is Hand.RIGHT else tr("left hand")
    if turn.activity is Activity.HANDS_SEPARATELY:
        return hand[0].upper() + hand[1:]
    return tr("{what}, {hand}").format(what=name, hand=hand)


def place_name(turn: PlannedTurn) -> str:
    """With which part of the piece; the piece itself needs no name."""
    if turn.place.kind is PlaceKind.PIECE:
        return tr("the whole piece")
    return turn.place.name


def activity_tip(activity: Activity) -> str:
    """What is meant by an activity."""
    return {
        Activity.COLD_TAKE: tr(
            "Play it once, before anything else of it today: only first tries tell what is known."
        ),
        Activity.RUN_THROUGH: tr(
            "The whole piece once, first thing, without stopping, mistakes included."
        ),
        Activity.HANDS_SEPARATELY: tr("One hand alone, then the other."),
        Activity.GROUPS_AND_RHYTHMS: tr(
            "Drills made of the groups of a run: the page Grouping has them."
        ),
        Activity.UNDER_TEMPO: tr(
            "At the tempo that stands beside it; a mark higher when it goes well twice."
        ),
        Activity.UP_TO_TEMPO: tr("At the target tempo."),
        Activity.FROM_MEMORY: tr(
            "With the score covered: Take → From memory. Only takes noted as played from memory "
            "count for it."
        ),
        Activity.STARTS: tr("Begin at places you have not chosen: section starts and in between."),
        Activity.JOIN: tr("From the end of the one into the beginning of the other, unbroken."),
        Activity.ROUND: tr(
            "Each of these sections once, one after the other, then round again until the time is "
            "over."
        ),
        Activity.RECITE: tr(
            "Away from the keyboard: name key and chord; the page Harmony asks for them."
        ),
        Activity.CONDUCT: tr(
            "Away from the keyboard: conduct it and hear it inwardly, then say that it is done."
        ),
        Activity.REPLAY: tr(
            "What was learnt today once more, and nothing similar after it: the night keeps "
            "what came last."
        ),
    }[activity]


def kind_name(kind: DayKind) -> str:
    """What a day is for."""
    return {
        DayKind.LEARNING: tr("learning"),
        DayKind.JOINING: tr("learning, joining"),
        DayKind.KEEPING: tr("keeping"),
        DayKind.FINAL: tr("run-throughs"),
        DayKind.DAY_BEFORE: tr("a light day"),
        DayKind.PERFORMANCE: tr("performance"),
        DayKind.OFF: tr("day off"),
        DayKind.STOPPED: tr("stopped"),
    }[kind]


def minutes_text(planned: int, left: int) -> str:
    """How much of the day is left: "18 of 45 minutes left"."""
    if not planned:
        return ""
    if not left:
        return tr("All {planned} minutes are done.").format(planned=planned)
    if left == planned:
        return tr("{planned} minutes").format(planned=planned)
    return tr("{left} of {planned} minutes left").format(left=left, planned=planned)


def day_title(day: date) -> str:
    """A day as a heading: "Wednesday, 25 November"."""
    return QLocale().toString(QDate(day.year, day.month, day.day), "dddd, d MMMM")


def day_name(day: date, today: date) -> str:
    """A day in a list: "today", "Thu 26 Nov"."""
    if day == today:
        return tr("today")
    return weekday_and_day(day)


def day_words(day: ProjectedDay, names: Mapping[str, str]) -> str:
    """What a day to come is for, and what will be known in its evening."""
    words = day.main or kind_name(day.kind)
    begun = [names[each] for each in day.begins if each in names]
    if begun:
        words = tr("{words}; begins: {names}").format(words=words, names=", ".join(begun))
    known = [names[each] for each in day.known if each in names]
    if known:
        words = tr("{words}; known by then: {names}").format(words=words, names=", ".join(known))
    return words
