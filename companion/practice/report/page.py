"""The report as one HTML page that needs nothing else: styles and charts inside, no script.

Everything that somebody typed is escaped. The page follows the HTML standard (WHATWG) and is made
for A4 paper.
"""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from companion.practice.report import charts, wording
from companion.practice.report.values import ReportSection, ReportValues

if TYPE_CHECKING:
    from collections.abc import Iterable

_STYLE = f"""
@page {{ size: A4; margin: 14mm 15mm; }}
html {{ color: {charts.INK}; background: #FBF8F1; }}
body {{ max-width: 180mm; margin: 10mm auto; font: 10pt/1.35 "EB Garamond", "EB Garamond 12",
  Garamond, Georgia, serif; font-variant-numeric: lining-nums tabular-nums; }}
h1 {{ font-size: 22pt; font-weight: normal; margin: 0; }}
h2 {{ font-size: 13pt; font-weight: normal; margin: 5mm 0 1mm; break-after: avoid; }}
p {{ margin: 0 0 1mm; }}
header {{ display: flex; justify-content: space-between; align-items: flex-end; gap: 8mm;
  border-bottom: 0.3mm solid {charts.GRAPHITE}; padding-bottom: 1mm; margin-bottom: 2mm; }}
header p {{ text-align: right; }}
.small, caption, footer {{ font-size: 8.5pt; color: {charts.GRAPHITE}; }}
svg text {{ font-family: inherit; }}
svg.map, svg.weeks {{ width: 100%; display: block; margin-top: 1mm; }}
svg.line {{ width: 27mm; height: 5.85mm; vertical-align: middle; }}
svg.cold {{ width: 25mm; height: 2.7mm; vertical-align: middle; }}
table {{ border-collapse: collapse; width: 100%; }}
caption {{ text-align: left; caption-side: bottom; padding-top: 1mm; }}
th {{ text-align: left; font-weight: normal; color: {charts.GRAPHITE}; font-size: 8.5pt;
  border-bottom: 0.2mm solid {charts.GRAPHITE}; }}
td, th {{ padding: 0.35mm 3mm 0.35mm 0; vertical-align: middle; white-space: nowrap; }}
td:first-child {{ white-space: normal; }}
tr.within td:first-child {{ padding-left: 4mm; }}
tr.deeper td:first-child {{ padding-left: 8mm; }}
td {{ border-bottom: 0.2mm solid {charts.HAIRLINE}; }}
tr {{ break-inside: avoid; }}
ul {{ margin: 0; padding-left: 5mm; }}
blockquote {{ margin: 0 0 1mm; padding-left: 4mm; border-left: 0.6mm solid {charts.HAIRLINE};
  white-space: pre-line; }}
footer {{ margin-top: 4mm; border-top: 0.2mm solid {charts.HAIRLINE}; padding-top: 1mm; }}
@media print {{ html {{ background: none; }} body {{ margin: 0; max-width: none; }} }}
"""


def report_page(report: ReportValues) -> str:
    """Return the page as text."""
    title = f"{report.title}: report"
    parts = [
        "<!DOCTYPE html>\n",
        '<html lang="en"><head><meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{escape(title)}</title><style>{_STYLE}</style></head><body>",
        _head(report),
        "<main>",
        f"<p>{escape(' '.join(wording.summary(report)))}</p>",
        _letter(report),
        _map(report),
        _sections(report),
        _resisting(report),
        _weeks(report),
        _remarks(report),
        "</main>",
        f"<footer><p>{escape(_first_upper(report.rules))}.</p></footer>" if report.rules else "",
        "</body></html>\n",
    ]
    return "".join(parts)


def _first_upper(words: str) -> str:
    return words[:1].upper() + words[1:]


def _head(report: ReportValues) -> str:
    right = [report.player, wording.period(report), wording.performance(report)]
    lines = "<br>".join(escape(line) for line in right if line)
    composer = f"<i>{escape(report.composer)}</i>" if report.composer else ""
    return f"<header><div><h1>{escape(report.title)}</h1>{composer}</div><p>{lines}</p></header>"


def _letter(report: ReportValues) -> str:
    if not report.letter.strip():
        return ""
    return f"<blockquote>{escape(report.letter.strip())}</blockquote>"


def _map(report: ReportValues) -> str:
    if not report.sections:
        return ""
    return f"<h2>The sections</h2>{charts.map_strip(report)}"


def _sections(report: ReportValues) -> str:
    if not report.rows:
        return ""
    scale = charts.accuracy_scale(report)
    heads = (
        "Section",
        "Stands",
        "Cold takes",
        f"Accuracy, {round(100 * scale.low)}–100 %",
        "Tempo, dashed: target",
    )
    head = "".join(f'<th scope="col">{escape(each)}</th>' for each in heads)
    rows = "".join(_row(report, section, scale) for section in report.rows)
    return (
        f"<table><caption>{escape(wording.WHAT_A_DOT_IS)} Accuracy and tempo (beats a minute) are "
        f"medians of each day, both hands.</caption><thead><tr>{head}</tr></thead>"
        f"<tbody>{rows}</tbody></table>"
    )


def _row(report: ReportValues, section: ReportSection, scale: charts.Scale) -> str:
    accuracy = [(day.day, day.accuracy) for day in section.days if day.accuracy is not None]
    tempo = [
        (day.day, day.quarters_per_minute)
        for day in section.days
        if day.quarters_per_minute is not None
    ]
    last = wording.percent(section.last_accuracy)
    reached = wording.tempo_of_target(section)
    lines = (
        charts.line(accuracy, scale, f"accuracy, at last {last}", None),
        charts.line(
            tempo,
            charts.tempo_scale(report, section),
            f"tempo, at last {reached}",
            section.target_quarters_per_minute,
        ),
    )
    return (
        f"<tr{_indented(section)}><td>{_name(section)}</td>"
        f"<td>{escape(wording.stands(section))}</td><td>{charts.cold_marks(section.cold)}</td>"
        f"<td>{lines[0]} {last}</td>"
        f"<td>{lines[1]} {escape(reached)}</td></tr>"
    )


def _indented(section: ReportSection) -> str:
    return ("", ' class="within"', ' class="deeper"')[min(section.level, 2)]


def _name(section: ReportSection) -> str:
    if section.is_named_by_measures:
        return escape(section.name)
    return f'{escape(section.name)} <span class="small">{escape(section.measures)}</span>'


def _resisting(report: ReportValues) -> str:
    if not report.resisting:
        return ""
    listed = _list(wording.resists(passage) for passage in report.resisting)
    return f'<h2>Where it resists</h2>{listed}<p class="small">{escape(wording.WHAT_RESISTS)}</p>'


def _weeks(report: ReportValues) -> str:
    if not report.playing:
        return ""
    return f"<h2>Minutes of playing, by weeks</h2>{charts.week_bars(report.weeks)}"


def _remarks(report: ReportValues) -> str:
    if not report.remarks:
        return ""
    listed = _list(
        f"{wording.short_day(remark.day)}{f' ({remark.about})' if remark.about else ''}: "
        f"{remark.text}"
        for remark in report.remarks
    )
    return f"<h2>Remarks on takes</h2>{listed}"


def _list(items: Iterable[str]) -> str:
    return f"<ul>{''.join(f'<li>{escape(item)}</li>' for item in items)}</ul>"
