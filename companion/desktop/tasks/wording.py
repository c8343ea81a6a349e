"""The words of the tasks: on the page, on the map, for readers of the screen."""

from __future__ import annotations

from datetime import date

from PySide6.QtCore import QCoreApplication

from companion.analysis.tasks.model import Task, TaskKind
from companion.desktop.days.content import SectionDays
from companion.desktop.percent import percent
from companion.desktop.section_map.wording import days_ago
from companion.desktop.tasks.content import TaskLine
from companion.score.model import Hand


def tr(text: str, number: int = -1) -> str:
    """Translate a text of the tasks."""
    return QCoreApplication.translate("Tasks", text, None, number)


def kind_name(kind: TaskKind) -> str:
    """What a task asks for."""
    return {
        TaskKind.RUN: tr("Run"),
        TaskKind.LEAPS: tr("Leaps"),
        TaskKind.OCTAVES: tr("Octaves"),
        TaskKind.CHORDS: tr("Chords"),
        TaskKind.TWO_RHYTHMS: tr("Two rhythms"),
        TaskKind.OWN: tr("Of your own"),
    }[kind]


def hand_name(hand: Hand | None) -> str:
    """Whose task it is."""
    if hand is None:
        return tr("both hands")
    return tr("right hand") if hand is Hand.RIGHT else tr("left hand")


def map_words(task: Task, title: str) -> tuple[str, ...]:
    """What may stand on the map, the longest first."""
    word = title if task.kind is TaskKind.OWN else kind_name(task.kind).lower()
    if title not in (word, kind_name(task.kind)):
        return (title, word)
    if task.hand is None:
        return (word,)
    short = tr("r. h.") if task.hand is Hand.RIGHT else tr("l. h.")
    return (f"{word}, {short}", word)


def accuracy_text(days: SectionDays | None) -> str:
    """Accuracy of the last day."""
    latest = days.summary.latest if days is not None else None
    if latest is None or latest.median_accuracy is None:
        return ""
    return percent(latest.median_accuracy)


def tempo_text(days: SectionDays | None) -> str:
    """Running tempo of the last day and the target: "84 / 96"."""
    latest = days.summary.latest if days is not None else None
    if days is None or latest is None or latest.median_quarters_per_minute is None:
        return ""
    text = str(round(days.beats_per_minute(latest.median_quarters_per_minute)))
    target = days.target_quarters_per_minute
    return f"{text} / {round(days.beats_per_minute(target))}" if target else text


def last_played_text(days: SectionDays | None, today: date | None) -> str:
    """How long ago it was played."""
    if days is None or today is None or not days.summary.days:
        return ""
    return days_ago(max(day.day for day in days.summary.days), today)


def takes_text(days: SectionDays | None) -> str:
    """How many takes touched it."""
    count = days.summary.take_count if days is not None else 0
    return str(count) if count else ""


def why_text(line: TaskLine) -> str:
    """Why it was proposed, without the hand, which stands beside it."""
    text = line.reason
    for whose in (" in the right hand", " in the left hand", " in both hands"):
        text = text.removesuffix(whose)
    return text[:1].upper() + text[1:]


def span_text(line: TaskLine) -> str:
    """Its measures: "measures 9–12"."""
    text = tr("measures {span}") if "–" in line.measures else tr("measure {span}")
    return text.format(span=line.measures)


def state_text(line: TaskLine) -> str:
    """Whether the pianist has taken it."""
    return tr("kept") if line.kept else tr("proposed")


def task_sentence(line: TaskLine, today: date | None) -> str:
    """All about a task, to be read aloud or in a tooltip."""
    what = line.title if line.title == line.kind else f"{line.title} ({line.kind.lower()})"
    parts = [
        tr("Task: {what}, {span}, {hand}").format(what=what, span=span_text(line), hand=line.hand)
    ]
    if line.reason:
        parts.append(line.reason[0].upper() + line.reason[1:])
    if line.how_to_practise:
        parts.append(line.how_to_practise.rstrip("."))
    parts.append(_played(line, today))
    if line.known:
        parts.append(line.known[0].upper() + line.known[1:])
    if not line.kept:
        parts.append(tr("A proposal"))
    return ". ".join(parts) + "."


def _played(line: TaskLine, today: date | None) -> str:
    days = line.days
    if days is None or not days.summary.take_count:
        return tr("Not played yet")
    told = []
    if accuracy_text(days):
        told.append(tr("accuracy {accuracy}").format(accuracy=accuracy_text(days)))
    if tempo_text(days):
        told.append(tr("tempo {tempo}").format(tempo=tempo_text(days).replace("/", tr("of"))))
    count = days.summary.take_count
    told.append((tr("{n} take") if count == 1 else tr("{n} takes")).format(n=count))
    when = last_played_text(days, today)
    if when:
        told.append(tr("last played: {when}").format(when=when))
    text = ", ".join(told)
    return text[0].upper() + text[1:]
