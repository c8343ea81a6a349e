"""The charts of a report as inline SVG: strips of the map, lines over days, bars of weeks.

Text in them is escaped here; everything else is numbers. No chart needs a legend: values stand
beside the lines, and states are told by pattern and word, never by colour alone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from html import escape

from companion.history.knowing.known import State
from companion.practice.report.values import ColdDay, ReportSection, ReportValues
from companion.practice.report.wording import short_day, stands

INK, GRAPHITE, HAIRLINE, SHADING = "#23211E", "#5B5750", "#D9D2C3", "#CDC5B4"
ATTENTION = "#855400"
"""The printed page by day, as in the window; a test compares them with its palette."""

MAP_WIDTH = 680
_ROW, _LEAF_ROW = 17, 46
_DEEPEST = 3
"""Levels of the map that are drawn: more cannot be read on paper."""

LINE_WIDTH, LINE_HEIGHT = 120, 26
MOST_COLD_TAKES = 12


def map_strip(report: ReportValues) -> str:
    """Draw the map: sections as wide as their measures, the finest with how they stand."""
    leaves = {section.section_id for section in report.leaves}
    groups = [s for s in report.sections if s.section_id not in leaves and s.level < _DEEPEST]
    levels = max((section.level + 1 for section in groups), default=0)
    scale = MAP_WIDTH / max(1, report.measure_count)
    parts = [_group(section, scale) for section in groups]
    parts += [_leaf(section, scale, levels * _ROW) for section in report.leaves]
    height = levels * _ROW + _LEAF_ROW
    return (
        f'<svg class="map" viewBox="0 0 {MAP_WIDTH} {height}" role="img" aria-label="'
        f'{escape(_map_in_words(report))}">{_HATCH}{"".join(parts)}</svg>'
    )


_HATCH = (
    '<defs><pattern id="lapsed" width="5" height="5" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)">'
    f'<line x1="0" y1="0" x2="0" y2="5" stroke="{ATTENTION}" stroke-width="1.6"/></pattern></defs>'
)


def _map_in_words(report: ReportValues) -> str:
    return "; ".join(
        f"{section.name}, measures {section.measures}: {stands(section)}"
        for section in report.leaves
    )


def _group(section: ReportSection, scale: float) -> str:
    left, width = _place(section, scale)
    top = section.level * _ROW
    return (
        f'<path d="M{left:.1f} {top + 15}V{top + 12}H{left + width - 1:.1f}V{top + 15}" '
        f'fill="none" stroke="{GRAPHITE}" stroke-width="0.7"/>'
        f"{_text(section.name, left + 1, top + 9, width, 9)}"
    )


def _leaf(section: ReportSection, scale: float, top: int) -> str:
    left, width = _place(section, scale)
    fill = {
        State.KNOWN: SHADING,
        State.LAPSED: "url(#lapsed)",
    }.get(section.state, "none")
    inside = max(width - 1.5, 1)
    box = (
        f'<rect x="{left:.1f}" y="{top + 2}" width="{inside:.1f}" height="16" fill="{fill}" '
        f'stroke="{GRAPHITE}" stroke-width="0.7"/>'
    )
    if section.state is State.LEARNING and section.days_to_know:
        share = section.clean_days / section.days_to_know
        box += (
            f'<rect x="{left:.1f}" y="{top + 14}" width="{inside * share:.1f}" height="4" '
            f'fill="{GRAPHITE}"/>'
        )
    return (
        f"{box}{_text(section.name, left, top + 29, width, 9)}"
        f"{_text(short_standing(section), left, top + 40, width, 8, GRAPHITE)}"
    )


def short_standing(section: ReportSection) -> str:
    """Say how a section stands, in the few letters that a map has room for."""
    if section.known_since is not None:
        return f"since {short_day(section.known_since)}"
    if section.lapsed_on is not None:
        return f"lapsed {short_day(section.lapsed_on)}"
    if section.state is State.NEW:
        return "new"
    return f"{section.clean_days} of {section.days_to_know}"


def _place(section: ReportSection, scale: float) -> tuple[float, float]:
    first, behind = section.from_measure_index, section.to_measure_index
    return first * scale, max(1, behind - first) * scale


def _text(words: str, left: float, top: float, room: float, size: int, color: str = INK) -> str:
    letters = int(room / (size * 0.56))  # a letter is about half as wide as it is tall
    if letters < min(len(words), 6):
        return ""
    shown = words if len(words) <= letters else f"{words[: letters - 1].rstrip()}…"
    return (
        f'<text x="{left:.1f}" y="{top:.1f}" font-size="{size}" fill="{color}">'
        f"{escape(shown)}</text>"
    )


@dataclass(frozen=True, slots=True)
class Scale:
    """From days and values to places in a line chart."""

    first: date
    last: date
    low: float
    high: float

    def place(self, day: date, value: float) -> tuple[float, float]:
        """Return x and y, with a margin for the dots."""
        days = max(1, (self.last - self.first).days)
        across = min(1.0, max(0.0, (day - self.first).days / days))
        span = (self.high - self.low) or 1.0
        up = min(1.0, max(0.0, (value - self.low) / span))
        return 3 + across * (LINE_WIDTH - 6), LINE_HEIGHT - 3 - up * (LINE_HEIGHT - 6)


def line(values: Sequence[tuple[date, float]], scale: Scale, told: str, rule: float | None) -> str:
    """Draw values over days; ``rule`` is the target, ``told`` what the line says, in words."""
    parts = []
    if rule is not None:
        _, y = scale.place(scale.first, rule)
        parts.append(
            f'<line x1="0" x2="{LINE_WIDTH}" y1="{y:.1f}" y2="{y:.1f}" stroke="{GRAPHITE}" '
            'stroke-width="0.6" stroke-dasharray="2 2"/>'
        )
    places = [scale.place(day, value) for day, value in values]
    if len(places) > 1:
        points = " ".join(f"{x:.1f},{y:.1f}" for x, y in places)
        parts.append(f'<polyline points="{points}" fill="none" stroke="{INK}" stroke-width="1"/>')
    parts += [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="1.6" fill="{INK}"/>' for x, y in places]
    return (
        f'<svg class="line" viewBox="0 0 {LINE_WIDTH} {LINE_HEIGHT}" role="img" '
        f'aria-label="{escape(told)}">{"".join(parts)}</svg>'
    )


def accuracy_scale(report: ReportValues) -> Scale:
    """One scale for all sections, from a whole ten per cent below the worst to all right."""
    found = _all(report, lambda section: (day.accuracy for day in section.days))
    low = min([0.9, *(int(value * 10) / 10 for value in found)])
    return Scale(report.from_day, report.to_day, low, 1.0)


def tempo_scale(report: ReportValues, section: ReportSection) -> Scale:
    """A scale for one section: its target stands at the same height in every row."""
    found = [day.quarters_per_minute for day in section.days if day.quarters_per_minute is not None]
    target = section.target_quarters_per_minute or max(found, default=1.0)
    low = min([0.5 * target, *found])
    return Scale(report.from_day, report.to_day, low, max(1.15 * target, *found, 0.0))


def _all(
    report: ReportValues, ask: Callable[[ReportSection], Iterable[float | None]]
) -> list[float]:
    return [value for section in report.sections for value in ask(section) if value is not None]


def cold_marks(cold: Sequence[ColdDay]) -> str:
    """Draw the last cold takes: a full disc for a clean one, a ring with a bar for another."""
    last = cold[-MOST_COLD_TAKES:]
    marks = []
    for number, take in enumerate(last):
        x = 5 + 9 * number
        if take.clean:
            marks.append(f'<circle cx="{x}" cy="6" r="3.2" fill="{INK}"/>')
        else:
            marks.append(
                f'<circle cx="{x}" cy="6" r="2.9" fill="none" stroke="{GRAPHITE}"/>'
                f'<line x1="{x - 2}" x2="{x + 2}" y1="6" y2="6" stroke="{GRAPHITE}"/>'
            )
    clean = sum(take.clean for take in last)
    told = f"{clean} of the last {len(last)} cold takes clean" if last else "no cold take yet"
    return (
        f'<svg class="cold" viewBox="0 0 {9 * MOST_COLD_TAKES + 2} 12" role="img" '
        f'aria-label="{told}">{"".join(marks)}</svg>'
    )


def week_bars(weeks: Sequence[tuple[date, float]]) -> str:
    """Draw minutes of playing, a bar for each week with its figure above."""
    shown = weeks[-26:]
    most = max([60.0, *(minutes for _, minutes in shown)])
    step = min(44.0, MAP_WIDTH / max(1, len(shown)))
    parts = []
    for number, (monday, minutes) in enumerate(shown):
        x, height = number * step, 40 * minutes / most
        parts.append(
            f'<rect x="{x:.1f}" y="{52 - height:.1f}" width="{step * 0.62:.1f}" '
            f'height="{height:.1f}" fill="{SHADING}" stroke="{GRAPHITE}" stroke-width="0.5"/>'
            f'<text x="{x:.1f}" y="{49 - height:.1f}" font-size="8" fill="{INK}">'
            f"{round(minutes)}</text>"
        )
        if step > 30 or number % 2 == 0:
            parts.append(
                f'<text x="{x:.1f}" y="63" font-size="8" fill="{GRAPHITE}">'
                f"{short_day(monday)}</text>"
            )
    told = "; ".join(f"week of {short_day(day)}: {round(minutes)}" for day, minutes in shown)
    return (
        f'<svg class="weeks" viewBox="0 0 {MAP_WIDTH} 66" role="img" '
        f'aria-label="Minutes of playing: {told}">{"".join(parts)}</svg>'
    )
