"""Words, signs and bar lines of a measure as plain values (W3C MusicXML 4.0)."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

_BEAT_UNIT_QUARTERS = {
    "maxima": Fraction(32),
    "long": Fraction(16),
    "breve": Fraction(8),
    "whole": Fraction(4),
    "half": Fraction(2),
    "quarter": Fraction(1),
    "eighth": Fraction(1, 2),
    "16th": Fraction(1, 4),
    "32nd": Fraction(1, 8),
    "64th": Fraction(1, 16),
}
_MOST_QUARTERS_PER_MINUTE = 2_000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Metronome:
    """A printed metronome mark: ``unit_name`` "dotted quarter" at ``per_minute``."""

    unit_name: str
    unit_quarters: Fraction
    per_minute: float
    per_minute_text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sound:
    """What a <sound> element says; texts are labels of jumps, None where nothing is said.

    ``tempo`` is in quarters per minute, whatever unit is printed.
    """

    tempo: float | None = None
    dacapo: bool = False
    fine: bool = False
    forward_repeat: bool = False
    segno: str | None = None
    dalsegno: str | None = None
    coda: str | None = None
    tocoda: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Direction:
    """Words and signs at one place of a measure.

    ``printed`` is False for what only the sound knows; ``large`` for words that are set larger
    than usual, as headings are.
    """

    offset_quarters: Fraction
    words: str = ""
    rehearsal: str = ""
    metronome: Metronome | None = None
    segno: bool = False
    coda: bool = False
    large: bool = False
    printed: bool = True
    sound: Sound = Sound()


@dataclass(frozen=True, slots=True, kw_only=True)
class Barline:
    """A bar line with its repeat, ending and signs.

    ``ending_numbers`` are the passes that take the ending; ``ending_type`` is "start", "stop" or
    "discontinue", empty where there is none.
    """

    left: bool
    style: str = ""
    repeat: str = ""
    times: int = 2
    after_jump: bool = False
    ending_type: str = ""
    ending_numbers: tuple[int, ...] = ()
    ending_text: str = ""
    fermata: bool = False
    segno: bool = False
    coda: bool = False


def read_direction(element: Element, offset_quarters: Fraction) -> Direction:
    """Read a <direction>."""
    words: list[str] = []
    rehearsal: list[str] = []
    metronome: Metronome | None = None
    segno = coda = large = printed = False
    for sign in element.iterfind("direction-type/*"):
        if sign.get("print-object") != "no":
            printed = True
        if sign.tag == "words":
            words.append(sign.text or "")
            large = large or _points(sign.get("font-size")) >= 14
        elif sign.tag == "rehearsal":
            rehearsal.append(sign.text or "")
        elif sign.tag == "metronome":
            metronome = metronome or _read_metronome(sign)
        elif sign.tag == "segno":
            segno = True
        elif sign.tag == "coda":
            coda = True
    sound = element.find("sound")
    return Direction(
        offset_quarters=offset_quarters,
        words=_joined(words),
        rehearsal=_joined(rehearsal),
        metronome=metronome,
        segno=segno,
        coda=coda,
        large=large,
        printed=printed,
        sound=Sound() if sound is None else _sound(sound),
    )


def read_sound(element: Element, offset_quarters: Fraction) -> Direction:
    """Read a <sound> that stands in the measure by itself: nothing of it is printed."""
    return Direction(offset_quarters=offset_quarters, printed=False, sound=_sound(element))


def read_barline(element: Element) -> Barline:
    """Read a <barline>."""
    repeat = element.find("repeat")
    ending = element.find("ending")
    numbers, text, ending_type = "", "", ""
    if ending is not None:
        numbers, ending_type = ending.get("number", ""), ending.get("type", "")
        text = " ".join((ending.text or "").split())
    return Barline(
        left=element.get("location", "right") == "left",
        style=(element.findtext("bar-style") or "").strip(),
        repeat="" if repeat is None else repeat.get("direction", ""),
        times=2 if repeat is None else _times(repeat.get("times")),
        after_jump=repeat is not None and repeat.get("after-jump") == "yes",
        ending_type=ending_type,
        ending_numbers=ending_numbers(numbers or text),
        ending_text=text or numbers,
        fermata=element.find("fermata") is not None,
        segno=element.find("segno") is not None,
        coda=element.find("coda") is not None,
    )


def ending_numbers(text: str) -> tuple[int, ...]:
    """Return the passes of an ending: "1, 2" is (1, 2), "1-3" is (1, 2, 3), at most 32."""
    passes: list[int] = []
    for first, last in re.findall(r"(\d{1,3})(?:\s*[-\u2013]\s*(\d{1,3}))?", text):
        passes.extend(range(int(first), min(int(last or first), 32) + 1))
    return tuple(sorted({number for number in passes if 0 < number <= 32}))


def _times(text: str | None) -> int:
    text = (text or "").strip()
    return max(1, min(16, int(text[:4]))) if text.isdigit() else 2


def _sound(element: Element) -> Sound:
    return Sound(
        tempo=_tempo(element.get("tempo")),
        dacapo=element.get("dacapo") == "yes",
        fine=element.get("fine") not in (None, "no"),
        forward_repeat=element.get("forward-repeat") == "yes",
        segno=element.get("segno"),
        dalsegno=element.get("dalsegno"),
        coda=element.get("coda"),
        tocoda=element.get("tocoda"),
    )


def _tempo(text: str | None) -> float | None:
    try:
        tempo = float(text or "")
    except ValueError:
        return None
    return tempo if 0 < tempo <= _MOST_QUARTERS_PER_MINUTE else None


def _points(text: str | None) -> float:
    try:
        return float(text or "")
    except ValueError:
        return 0.0


def _read_metronome(element: Element) -> Metronome | None:
    """Read "dotted quarter = 60"; a relation of two note values has no number and gives None."""
    per_minute = element.findtext("per-minute")
    unit = (element.findtext("beat-unit") or "").strip()
    if per_minute is None or unit not in _BEAT_UNIT_QUARTERS:
        return None
    numbers = [float(number) for number in re.findall(r"\d{1,4}(?:\.\d+)?", per_minute)[:2]]
    if not numbers or not all(0 < number <= _MOST_QUARTERS_PER_MINUTE for number in numbers):
        return None
    dots = min(3, len(element.findall("beat-unit-dot")))
    unit_quarters = _BEAT_UNIT_QUARTERS[unit] * (2 - Fraction(1, 2**dots))
    prefix = ("", "dotted ", "double-dotted ", "triple-dotted ")[dots]
    return Metronome(
        unit_name=prefix + unit,
        unit_quarters=unit_quarters,
        per_minute=sum(numbers) / len(numbers),  # "60-66" means something between
        per_minute_text=" ".join(per_minute.split())[:40],
    )


def _joined(texts: list[str]) -> str:
    return " ".join(" ".join(texts).split())[:300]
