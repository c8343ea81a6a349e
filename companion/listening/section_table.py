"""A compared take as plain text: the table of sections, how it was played, and a short legend.

The table fits the width it is given: with full headings, then with short ones, and on a very narrow
terminal as one block of lines per section.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from companion.listening.comparison import Comparison
from companion.listening.definitions import definition
from companion.listening.measuring.take_measures import SectionMeasures
from companion.listening.notes import Beginning, Hands, Passage
from companion.score.model import Score
from companion.score.sections.proposal import measure_range, measures_as_name, measures_in_short
from companion.score.sections.section_map import SectionMap
from companion.timebase import quarters_per_minute_to_beats_per_minute

GAP = 2
LONGEST_NAME = 32
SHORTEST_NAME = 10
NONE = "-"

_BEATS = {
    Fraction(1, 4): "sixteenth",
    Fraction(1, 2): "eighth",
    Fraction(3, 4): "dotted eighth",
    Fraction(1): "quarter",
    Fraction(3, 2): "dotted quarter",
    Fraction(2): "half",
    Fraction(3): "dotted half",
    Fraction(4): "whole",
}
_HANDS = {Hands.BOTH: "", Hands.RIGHT: " (right hand)", Hands.LEFT: " (left hand)"}
_HANDS_PLAYED = {
    Hands.BOTH: "both hands",
    Hands.RIGHT: "right hand alone",
    Hands.LEFT: "left hand alone",
}
_LEGEND = ("accuracy", "running_tempo_quarters_per_minute", "steadiness", "stops", "restarts")


@dataclass(frozen=True, slots=True)
class _Column:
    """A column: its heading in full and in short, and whether numbers stand in it."""

    heading: str
    short: str
    numbers: bool = True


_COLUMNS = (
    _Column("Section", "Section", numbers=False),
    _Column("Measures", "Meas.", numbers=False),
    _Column("Expected", "Exp"),
    _Column("Right", "Rig"),
    _Column("Wrong", "Wro"),
    _Column("Missed", "Mis"),
    _Column("Added", "Add"),
    _Column("Accuracy", "Acc"),
    _Column("Tempo", "Tempo"),
    _Column("Steadiness", "Stdy"),
    _Column("Stops", "Stp"),
    _Column("Restarts", "Rst"),
)


def section_table(comparison: Comparison, width: int) -> str:
    """Return the whole report on a take.

    Parameters
    ----------
    width
        Of the terminal, in characters.
    """
    measures = comparison.measures
    beat = _common_beat(comparison)
    rows = [_cells(comparison, row, beat) for row in measures.sections]
    rows.append(_total_cells(comparison, measures.whole, beat))
    parts = [_wrapped(_title(comparison), width), _laid_out(rows, width)]
    parts.append(_wrapped(_how_it_was_played(comparison), width))
    parts.append(_legend(beat, width))
    return "\n\n".join(part for part in parts if part)


def sections_table(score: Score, section_map: SectionMap, width: int) -> str:
    """Return a section map as text: one line per section with its measures and its reason."""
    rows = [
        (
            "  " * section_map.depth(section.section_id) + section.name,
            _range(*measure_range(score, section.start, section.end)),
            section.why,
        )
        for section in section_map.sections
    ]
    name_width = min(LONGEST_NAME, max((len(row[0]) for row in rows), default=0))
    range_width = max((len(row[1]) for row in rows), default=0)
    indent = " " * (name_width + range_width + 2 * GAP)
    lines = [_wrapped(score.title or "Untitled", width), ""]
    for name, measures, why in rows:
        start = f"{_cut(name, name_width):<{name_width}}  {measures:<{range_width}}  "
        if width < len(indent) + 20:
            lines.append(f"{start.rstrip()}")
            continue
        lines.append(
            textwrap.fill(
                why, width, initial_indent=start, subsequent_indent=indent, drop_whitespace=True
            )
            or start.rstrip()
        )
    return "\n".join(lines)


def _title(comparison: Comparison) -> str:
    played, seconds = len(comparison.heard), comparison.duration_seconds
    notes = "1 note" if played == 1 else f"{played} notes"
    return f"{comparison.score.title or 'Untitled'}: {notes} in {_clock(seconds)}"


def _clock(seconds: float) -> str:
    if seconds < 60:
        return f"{seconds:.1f} s"
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest} s"


def _cells(comparison: Comparison, row: SectionMeasures, beat: Fraction | None) -> tuple[str, ...]:
    section = comparison.section_map.section(row.section_id)
    indent = "  " * comparison.section_map.depth(row.section_id)
    own_beat = comparison.score.measures[section.start.measure_index].beat_quarters
    measures = _range(*measure_range(comparison.score, section.start, section.end))
    if not row.complete:
        measures += "*"
    name = f"{indent}{section.name}{_HANDS[row.hands]}"
    if section.name == measures_as_name(comparison.score, section.start, section.end):
        name = f"{indent}Section{_HANDS[row.hands]}"  # the measures stand beside it
    return (name, measures, *_figures(row, own_beat, beat))


def _total_cells(
    comparison: Comparison, row: SectionMeasures, beat: Fraction | None
) -> tuple[str, ...]:
    first = comparison.score.measures[0].beat_quarters if comparison.score.measures else Fraction(1)
    return ("Whole take", "", *_figures(row, first, beat))


def _figures(row: SectionMeasures, own_beat: Fraction, beat: Fraction | None) -> tuple[str, ...]:
    return (
        str(row.expected),
        str(row.right),
        str(row.wrong),
        str(row.missed),
        str(row.added),
        _percent(row.accuracy),
        _tempo(row.running_tempo_quarters_per_minute, own_beat, beat),
        _percent(row.steadiness),
        str(row.stops),
        str(row.restarts),
    )


def _percent(share: float | None) -> str:
    return NONE if share is None else f"{100.0 * share:.1f}%"


def _tempo(quarters_per_minute: float | None, own: Fraction, common: Fraction | None) -> str:
    if quarters_per_minute is None:
        return NONE
    beats = f"{quarters_per_minute_to_beats_per_minute(quarters_per_minute, own):.0f}"
    return beats if common is not None else f"{beats} {_BEATS.get(own, f'{own} quarters')}"


def _common_beat(comparison: Comparison) -> Fraction | None:
    """The beat unit of all sections, None where they differ."""
    beats = {measure.beat_quarters for measure in comparison.score.measures}
    return beats.pop() if len(beats) == 1 else None


def _range(first: str, last: str) -> str:
    return first if first == last else f"{first}–{last}"


def _cut(text: str, width: int) -> str:
    return text if len(text) <= width else text[: max(1, width - 1)] + "~"


def _laid_out(rows: Sequence[tuple[str, ...]], width: int) -> str:
    for headings in ([c.heading for c in _COLUMNS], [c.short for c in _COLUMNS]):
        widths = [max(len(cell) for cell in column) for column in zip(headings, *rows, strict=True)]
        widths[0] = min(widths[0], LONGEST_NAME)
        too_much = sum(widths) + GAP * (len(widths) - 1) - width
        if too_much > 0:
            widths[0] = max(min(widths[0], SHORTEST_NAME), widths[0] - too_much)
        if sum(widths) + GAP * (len(widths) - 1) <= width:
            return _table(headings, rows, widths)
    return _blocks(rows, width)


def _table(headings: Sequence[str], rows: Sequence[tuple[str, ...]], widths: list[int]) -> str:
    def line(cells: Sequence[str]) -> str:
        set_cells = (
            f"{_cut(cell, size):>{size}}" if column.numbers else f"{_cut(cell, size):<{size}}"
            for cell, size, column in zip(cells, widths, _COLUMNS, strict=True)
        )
        return (" " * GAP).join(set_cells).rstrip()

    rule = "-" * (sum(widths) + GAP * (len(widths) - 1))
    return "\n".join([line(headings), rule, *map(line, rows[:-1]), rule, line(rows[-1])])


def _blocks(rows: Sequence[tuple[str, ...]], width: int) -> str:
    """One block per section: its name, then the figures with their headings, wrapped."""
    blocks = []
    for cells in rows:
        title = _cut(" ".join(part for part in (cells[0].strip(), cells[1]) if part), width)
        figures = ", ".join(
            f"{column.heading.lower()} {cell}"
            for column, cell in zip(_COLUMNS[2:], cells[2:], strict=True)
        )
        blocks.append(f"{title}\n{_wrapped(figures, width, indent='  ')}")
    return "\n".join(blocks)


def _wrapped(text: str, width: int, indent: str = "") -> str:
    return textwrap.fill(
        text, max(20, width), initial_indent=indent, subsequent_indent=indent or "  "
    )


def _how_it_was_played(comparison: Comparison) -> str:
    passages = comparison.match.passages
    if not passages:
        return "Nothing in the take could be found in the score."
    told = "; ".join(_told(comparison.score, passage) for passage in passages)
    incomplete = any(not row.complete for row in comparison.measures.sections)
    star = " A * marks a section that was not played to its end." if incomplete else ""
    return f"Played: {told}.{star}"


def _told(score: Score, passage: Passage) -> str:
    measures = measures_in_short(
        score.measures[passage.from_measure_index].number,
        score.measures[passage.to_measure_index].number,
    )
    how = {
        Beginning.START: "",
        Beginning.RESTART: "back to ",
        Beginning.JUMP: "on to ",
        Beginning.GOES_ON: "as written to ",
    }[passage.began_with]
    hands = "" if passage.hands is Hands.BOTH else f" ({_HANDS_PLAYED[passage.hands]})"
    return f"{how}{measures}{hands}"


def _legend(beat: Fraction | None, width: int) -> str:
    lines = []
    for name in _LEGEND:
        known = definition(name)
        title = "Tempo" if name.startswith("running_tempo") else known.title
        sentence = known.sentence
        if title == "Tempo":
            unit = "with the beat named" if beat is None else f"the beat is a {_BEATS.get(beat)}"
            sentence += f" In beats per minute; {unit}."
        lines.append(_wrapped(f"{title}: {sentence}", width))
    return "\n".join(lines)
