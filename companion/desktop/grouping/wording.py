"""Groups, fingers and drills in words."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QCoreApplication

from companion.analysis.grouping.model import Group, RunGroups, Way
from companion.desktop.listener_panel.note_names import written_name
from companion.history.drill_days import DrillDay
from companion.listening.measuring.drills import DrillTry
from companion.score.model import Hand, Score, ScoreNote
from companion.score.sections.proposal import measures_as_name


def tr(text: str) -> str:
    """Translate a text of this module."""
    return QCoreApplication.translate("Grouping", text)


def way_names() -> dict[Way, str]:
    """The ways of grouping, in the order of the menu."""
    return {
        Way.LEADING: tr("Leading to the beat"),
        Way.BEAT: tr("Beat by beat"),
        Way.POSITION: tr("By hand position"),
        Way.PATTERN: tr("By pattern"),
    }


def interval_name(semitones: int) -> str:
    """An interval of 1 to 20 semitones as pianists say it."""
    return (
        tr("minor second"),
        tr("major second"),
        tr("minor third"),
        tr("major third"),
        tr("fourth"),
        tr("tritone"),
        tr("fifth"),
        tr("minor sixth"),
        tr("major sixth"),
        tr("minor seventh"),
        tr("major seventh"),
        tr("octave"),
        tr("minor ninth"),
        tr("major ninth"),
        tr("minor tenth"),
        tr("major tenth"),
        tr("eleventh"),
        tr("augmented eleventh"),
        tr("twelfth"),
        tr("minor thirteenth"),
    )[semitones - 1]


def hand_name(hand: Hand) -> str:
    """Whose notes they are."""
    return tr("Right hand") if hand is Hand.RIGHT else tr("Left hand")


def run_place(score: Score, run: RunGroups) -> str:
    """The measures of a run."""
    return measures_as_name(score, run.run.start, run.run.end)


def group_sentence(
    score: Score, notes: Mapping[str, ScoreNote], run: RunGroups, group: Group
) -> str:
    """A group with its notes, its goal and its reason; ``notes`` are those of the score by id."""
    names = " ".join(written_name(notes[each].spelling) for each in group.note_ids if each in notes)
    first = notes.get(group.note_ids[0])
    number = score.measures[first.measure_index].number if first is not None else ""
    words = tr("{hand}, measure {number}: {notes}").format(
        hand=hand_name(run.run.hand), number=number, notes=names
    )
    goal = next((notes[each] for each in group.goal_ids if each in notes), None)
    if goal is not None and not group.goal_inside:
        words += " → " + written_name(goal.spelling)
    return f"{words} ({tr(group.reason)})"


def try_sentence(number: int, one: DrillTry) -> str:
    """What became of a try."""
    parts = [tr("Try {number}").format(number=number)]
    if not one.complete:
        parts.append(tr("not to its end"))
    elif one.clean:
        parts.append(tr("clean"))
    else:
        parts.append(
            tr("{wrong} wrong, {missed} missed, {added} added").format(
                wrong=one.wrong, missed=one.missed, added=one.added
            )
        )
    if one.evenness_sd_ms is not None:
        parts.append(tr("even within {ms} ms").format(ms=round(one.evenness_sd_ms)))
    if one.border_delay_ms is not None:
        parts.append(tr("{ms:+d} ms at the borders").format(ms=round(one.border_delay_ms)))
    return ", ".join(parts) + "."


def day_cells(day: DrillDay) -> tuple[str, str, str, str]:
    """Day, clean of tries, evenness, delay."""
    return (
        f"{day.day.day}.{day.day.month}.",
        tr("{clean} of {tries}").format(clean=day.clean, tries=day.tries),
        "" if day.evenness_sd_ms is None else tr("{ms} ms").format(ms=round(day.evenness_sd_ms)),
        ""
        if day.border_delay_ms is None
        else tr("{ms:+d} ms").format(ms=round(day.border_delay_ms)),
    )


def with_signs(title: str) -> str:
    """A title with printed accidentals: "stop on C#5" becomes "stop on C♯5"."""
    return " ".join(written_name(word) if _is_note(word) else word for word in title.split(" "))


def _is_note(word: str) -> bool:
    return len(word) > 1 and word[0] in "ABCDEFG" and word[-1].isdigit()
