"""Harmony as text: a table by measure for people, a document for other programs."""

from __future__ import annotations

import textwrap
from fractions import Fraction
from itertools import groupby
from typing import Any

from companion.analysis.harmony import Harmony, HarmonySpan
from companion.score.model import Score

UNSURE_BELOW = 0.4
NO_HARMONY = "There are no notes in this score to find a harmony in."


def harmony_document(score: Score, harmony: Harmony) -> dict[str, Any]:
    """What ``companion harmony --json`` prints; times in quarters as printed.

    ``numeral`` is spelled as RomanText spells it ("V43/V"), ``written`` as by hand ("V4/3/V").
    ``alternatives`` are other readings of the span, the likeliest first.
    """
    return {
        "spans": [
            {
                "start": float(span.start_quarters),
                "end": float(span.end_quarters),
                "measure": _measure_number(score, span),
                "offset_quarters": str(span.position.offset_quarters),
                "key": span.key.name,
                "degree": span.degree,
                "quality": span.quality,
                "inversion": span.inversion,
                "numeral": span.numeral,
                "confidence": span.confidence,
                "written": span.written,
                "alternatives": [
                    {
                        "key": reading.key.name,
                        "degree": reading.degree,
                        "quality": reading.quality,
                        "inversion": reading.inversion,
                        "numeral": reading.numeral,
                        "confidence": reading.confidence,
                    }
                    for reading in span.alternatives
                ],
            }
            for span in harmony.spans
        ]
    }


def harmony_table(score: Score, harmony: Harmony, width: int) -> str:
    """Measure by measure, the beat before each numeral; a change of key stands as a heading.

    Numerals that the analysis is unsure of carry a question mark.
    """
    if not harmony.spans:
        return NO_HARMONY
    numbers = max(len(measure.number) for measure in score.measures)
    lines: list[str] = []
    for key, in_key in groupby(harmony.spans, key=lambda span: span.key):
        lines.append(key.spoken_name)
        for _, in_measure in groupby(in_key, key=lambda span: span.position.measure_index):
            spans = list(in_measure)
            label = f"  {_measure_number(score, spans[0]):>{numbers}}  "
            # a cell is not torn apart at the end of a line
            cells = "  ".join(
                _cell(score, span).replace(" ", "\N{NO-BREAK SPACE}") for span in spans
            )
            wrapped = textwrap.wrap(
                cells,
                width,
                initial_indent=label,
                subsequent_indent=" " * len(label),
                break_long_words=False,
                break_on_hyphens=False,
            )
            lines += [line.replace("\N{NO-BREAK SPACE}", " ") for line in wrapped]
    if any(span.confidence < UNSURE_BELOW for span in harmony.spans):
        lines += ["", "The number before a numeral is its beat; a question mark means: unsure."]
    else:
        lines += ["", "The number before a numeral is its beat."]
    return "\n".join(lines)


def _measure_number(score: Score, span: HarmonySpan) -> str:
    return score.measures[span.position.measure_index].number


def _cell(score: Score, span: HarmonySpan) -> str:
    doubt = "?" if span.confidence < UNSURE_BELOW else ""
    return f"{_beat(score, span):>3} {span.numeral + doubt:<7}"


def _beat(score: Score, span: HarmonySpan) -> str:
    """The beat that a span begins on, "2" or "2½"; upbeats count from the end of their measure."""
    measure = score.measures[span.position.measure_index]
    offset = span.position.offset_quarters
    if span.position.measure_index == 0:
        whole = Fraction(4 * measure.beats, measure.beat_type)
        offset += max(Fraction(0), whole - measure.duration_quarters)
    beat = 1 + offset / measure.beat_quarters
    part = {
        Fraction(1, 2): "½",
        Fraction(1, 3): "⅓",
        Fraction(2, 3): "⅔",
        Fraction(1, 4): "¼",
        Fraction(3, 4): "¾",
    }.get(beat % 1, "")
    return f"{int(beat)}{part}" if part or beat % 1 == 0 else f"{float(beat):.2f}"
