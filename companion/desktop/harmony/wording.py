"""Key and chord in words: "E flat major, V 4/3"."""

from __future__ import annotations

from fractions import Fraction

from PySide6.QtCore import QCoreApplication

from companion.analysis.harmony import HarmonySpan, Reading
from companion.score.model import Score


def tr(text: str) -> str:
    """Translate a text of this module."""
    return QCoreApplication.translate("Harmony", text)


def chord_name(label: HarmonySpan | Reading) -> str:
    """A chord with its key: "E flat major, V 4/3"."""
    return f"{label.key.spoken_name}, {spaced(label.numeral)}"


def spaced(numeral: str) -> str:
    """A numeral with its figures apart: "V65/V" becomes "V 6/5 of V", "viio7" "vii°7"."""
    head, stroke, target = numeral.partition("/")
    letters = head.rstrip("0123456789")
    figures = head[len(letters) :]
    letters = letters.replace("b", "♭").replace("#", "♯")
    if letters.endswith("o"):
        letters = letters[:-1] + "°"
    shown = f"{letters} {'/'.join(figures)}" if len(figures) > 1 else letters + figures
    return f"{shown} {tr('of')} {target}" if stroke else shown


def place_name(score: Score, span: HarmonySpan) -> str:
    """Where a chord begins: "measure 5, beat 2"."""
    measure = score.measures[span.position.measure_index]
    beat = span.position.offset_quarters / measure.beat_quarters + 1
    return tr("measure {number}, beat {beat}").format(
        number=measure.number, beat=_beat_text(Fraction(beat))
    )


def _beat_text(beat: Fraction) -> str:
    whole, part = divmod(beat, 1)
    return f"{whole} {part}" if part else str(whole)


def reading_choice(reading: Reading | HarmonySpan) -> str:
    """A reading with the share of belief it gets."""
    return tr("{name} ({percent} %)").format(
        name=chord_name(reading), percent=round(100 * reading.confidence)
    )


def share_text(right: int, asked: int) -> str:
    """A count of a count: "7 of 10"; empty when nothing was asked."""
    return tr("{right} of {asked}").format(right=right, asked=asked) if asked else ""


def part_names() -> tuple[str, str, str, str]:
    """The parts of an answer in order."""
    return tr("Key"), tr("Root"), tr("Quality"), tr("Bass")
