"""Labels that the pianist wrote over those of the analysis: they win, and outlive a new one."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from companion.analysis.chords import Chord
from companion.analysis.harmony import Harmony, HarmonySpan, analyse_harmony
from companion.analysis.numerals import numeral
from companion.analysis.reading_numerals import read_numeral
from companion.analysis.spelling import Key
from companion.progress import Report, no_report
from companion.score.model import Score


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """What a stretch is, in the pianist's reading; half-open, in quarters as printed."""

    start_quarters: Fraction
    end_quarters: Fraction
    key: Key
    chord: Chord
    inversion: int

    @property
    def numeral(self) -> str:
        """As it is written under the staff."""
        return numeral(self.chord, self.inversion, self.key.mode)


def corrected(harmony: Harmony, score: Score, corrections: Iterable[Correction]) -> Harmony:
    """Put corrections in the place of what was found; the rest stays, shortened where need be."""
    spans = list(harmony.spans)
    for correction in corrections:
        start, end = correction.start_quarters, correction.end_quarters
        kept: list[HarmonySpan] = []
        for span in spans:
            if span.start_quarters < start < span.end_quarters:
                kept.append(replace(span, end_quarters=start))
            elif span.end_quarters <= start or span.start_quarters >= end:
                kept.append(span)
            if span.start_quarters < end < span.end_quarters:
                kept.append(replace(span, start_quarters=end, position=score.position_at(end)))
        kept.append(
            HarmonySpan(
                start_quarters=start,
                end_quarters=end,
                position=score.position_at(start),
                key=correction.key,
                degree=correction.chord.degree,
                quality=correction.chord.quality,
                inversion=correction.inversion,
                numeral=correction.numeral,
                confidence=1.0,
            )
        )
        spans = sorted(kept, key=lambda span: span.start_quarters)
    return Harmony(spans=tuple(spans))


def analysed_anew(
    score: Score, corrections: Sequence[Correction], report: Report = no_report
) -> Harmony:
    """The harmony of a score with the corrections in it, all around heard in their light.

    :func:`corrected` puts them over what was found before, at once; this asks the analysis again.
    """
    return corrected(analyse_harmony(score, report, fixed=corrections), score, corrections)


def with_correction(corrections: Sequence[Correction], new: Correction) -> tuple[Correction, ...]:
    """Add a correction; those that it covers, even in part, are given up."""
    return tuple(
        sorted(
            (*without_correction(corrections, new.start_quarters, new.end_quarters), new),
            key=lambda each: each.start_quarters,
        )
    )


def without_correction(
    corrections: Sequence[Correction], start: Fraction, end: Fraction
) -> tuple[Correction, ...]:
    """Give up the corrections that touch a stretch."""
    return tuple(
        each for each in corrections if each.end_quarters <= start or each.start_quarters >= end
    )


def corrections_to_text(corrections: Iterable[Correction]) -> str:
    """Write corrections as JSON, "" for none; inverse :func:`text_to_corrections`."""
    rows = [
        {
            "start": str(each.start_quarters),
            "end": str(each.end_quarters),
            "key": each.key.name,
            "numeral": each.numeral,
        }
        for each in corrections
    ]
    return json.dumps(rows, ensure_ascii=False) if rows else ""


def text_to_corrections(text: str) -> tuple[Correction, ...]:
    """Inverse of :func:`corrections_to_text`; rows that make no sense are left out."""
    try:
        rows = json.loads(text) if text else []
    except ValueError:
        return ()
    if not isinstance(rows, list):
        return ()
    found = (_read_row(row) for row in rows)
    return tuple(each for each in found if each is not None)


def _read_row(row: object) -> Correction | None:
    if not isinstance(row, dict):
        return None
    try:
        start, end = Fraction(row["start"]), Fraction(row["end"])
        key = Key.from_name(row["key"])
        read = read_numeral(row["numeral"], key.mode)
    except (KeyError, ValueError, TypeError, AttributeError, ZeroDivisionError):
        return None
    if read is None or not start < end:
        return None
    return Correction(
        start_quarters=start,
        end_quarters=end,
        key=key,
        chord=read.chord,
        inversion=read.inversion,
    )
