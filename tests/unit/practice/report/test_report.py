"""The report as values, as a page and as a table."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import date, timedelta

import html5lib
import numpy as np
import pytest
from lxml import etree

from companion.history.knowing.known import State
from companion.practice.report.charts import week_bars
from companion.practice.report.page import report_page
from companion.practice.report.resisting import TakeCounts, resisting_passages
from companion.practice.report.values import MOST_ROWS, PlayedDay, Remark, ReportValues
from companion.practice.report.wording import performance, summary
from companion.practice.report.writing import ReportNotWritten, report_table, write_report
from tests.unit.practice.packets.packet_examples import a_report

HOSTILE = '<script>alert("1")</script>&\'"'


def hostile_report():
    report = a_report()
    section = replace(report.sections[0], name=HOSTILE, purpose=HOSTILE)
    return replace(
        report,
        title=HOSTILE,
        composer=HOSTILE,
        player=HOSTILE,
        letter=HOSTILE,
        rules=HOSTILE,
        order=HOSTILE,
        sections=(section, report.sections[1]),
        remarks=(Remark(day=report.to_day, about=HOSTILE, text=HOSTILE),),
    )


@pytest.mark.parametrize(
    "report",
    [
        a_report(),
        hostile_report(),
        ReportValues(title="Empty", from_day=date(2026, 5, 1), to_day=date(2026, 5, 1)),
    ],
    ids=["usual", "hostile", "empty"],
)
def test_the_page_is_valid_html_without_a_script(report):
    page = report_page(report)
    html5lib.HTMLParser(strict=True).parse(page)  # raises at the first error of the standard
    root = etree.HTML(page)
    assert root.xpath("//script") == []
    assert not any(name.startswith("on") for one in root.iter() for name in one.attrib)
    assert not any("href" in one.attrib or "src" in one.attrib for one in root.iter())


def test_what_somebody_typed_stands_on_the_page_as_it_was_typed():
    root = etree.HTML(report_page(hostile_report()))
    assert root.xpath("string(//h1)") == HOSTILE
    assert root.xpath("string(//blockquote)") == HOSTILE


def test_charts_are_drawn_and_told_in_words():
    root = etree.HTML(report_page(a_report()))
    told = root.xpath("//*[local-name()='svg']/@aria-label")
    assert any("known since 28 Apr" in words for words in told)
    assert len(told) == len(root.xpath("//*[local-name()='svg']"))


def test_the_table_is_read_back_by_another_reader():
    rows = list(csv.DictReader(io.StringIO(report_table(a_report()))))
    assert len(rows) == 1
    assert rows[0]["section"] == "Over"
    assert float(rows[0]["beats_per_minute"]) == pytest.approx(70.5 / 1.5)  # dotted quarters
    assert rows[0]["why_not_clean"] == "2 stops"


def test_a_name_is_never_a_formula_in_the_table():
    report = a_report()
    named = replace(report.sections[0], name="=1+1")
    rows = list(csv.reader(io.StringIO(report_table(replace(report, sections=(named,))))))
    assert rows[1][0] == "'=1+1"


def test_the_ending_says_what_is_written(tmp_path):
    write_report(tmp_path / "a.html", a_report())
    write_report(tmp_path / "a.csv", a_report())
    assert (tmp_path / "a.html").read_bytes().startswith(b"<!DOCTYPE html>")
    assert (tmp_path / "a.csv").read_bytes().startswith(b"\xef\xbb\xbfsection,")
    with pytest.raises(ReportNotWritten, match=r"end it in \.html"):
        write_report(tmp_path / "a.doc", a_report())
    with pytest.raises(ReportNotWritten, match="cannot be written"):
        write_report(tmp_path / "gone" / "a.html", a_report())


def test_the_summary_counts_the_finest_sections():
    assert summary(a_report())[0] == "1 of 2 sections is known, 1 lapsed."


def test_the_days_to_the_performance_are_told_until_it_is_over():
    assert performance(a_report()).endswith("in 48 days")
    assert performance(replace(a_report(), performance=a_report().to_day)).endswith("today")
    over = replace(a_report(), performance=date(2026, 5, 1))
    assert performance(over) == "Performance on 1 May 2026"


def test_a_table_goes_only_as_deep_as_a_page_has_room():
    section = a_report().sections[0]
    many = [
        replace(section, section_id=f"{top} {inner}", level=0 if inner == 0 else 1)
        for top in range(8)
        for inner in range(5)
    ]
    report = replace(a_report(), sections=tuple(many))
    assert len(many) > MOST_ROWS
    assert len(report.rows) == 8
    assert len(report.leaves) == 32


def test_weeks_without_playing_are_shown_as_such():
    report = replace(
        a_report(),
        from_day=date(2026, 4, 6),
        to_day=date(2026, 4, 26),
        playing=(
            PlayedDay(day=date(2026, 4, 7), takes=1, minutes=20),
            PlayedDay(day=date(2026, 4, 12), takes=1, minutes=10),
            PlayedDay(day=date(2026, 4, 20), takes=1, minutes=5),
        ),
    )
    assert [minutes for _, minutes in report.weeks] == [30, 0, 5]
    assert "week of 13 Apr: 0" in week_bars(report.weeks)
    assert report.minutes_a_week == pytest.approx(35 / 3)


def counts(day, *errors_of_measures):
    """One take: errors in each measure from the first on, each played once."""
    rows = [
        (index, 1, 8, 8 - errors, errors, 0, 0, 0)
        for index, errors in enumerate(errors_of_measures)
        if errors is not None
    ]
    return TakeCounts(date(2026, 5, 1) + timedelta(days=day), np.array(rows, dtype=np.int64))


NUMBERS = [str(number) for number in range(1, 9)]
AROUND = [["inner", "outer"]] * 4 + [["other", "outer"]] * 4


def test_errors_of_a_single_day_are_chance_and_do_not_resist():
    takes = [counts(0, 2), counts(0, 2), counts(1, 0)]
    assert resisting_passages(takes, NUMBERS, AROUND) == ()


def test_errors_that_come_again_on_another_day_resist():
    (found,) = resisting_passages([counts(0, 0, 2), counts(1, 0, 1)], NUMBERS, AROUND)
    assert (found.measures, found.days, found.plays) == ("2", 2, 2)
    assert found.errors_per_play == pytest.approx(1.5)
    assert found.section == "inner"


def test_what_was_repaired_does_not_resist_any_more():
    takes = [counts(0, 1), counts(1, 1), *(counts(day, 0) for day in range(2, 8))]
    assert resisting_passages(takes, NUMBERS, AROUND) == ()


def test_neighbours_are_one_passage_in_the_section_around_both():
    row = (None, None, None, 1, 0, 1)
    (found,) = resisting_passages([counts(0, *row), counts(1, *row)], NUMBERS, AROUND)
    assert (found.from_measure, found.to_measure, found.section) == ("4", "6", "outer")


def test_states_are_counted():
    assert a_report().count(State.KNOWN) == 1
    assert a_report().count(State.NEW) == 0


def test_what_was_played_from_memory_is_told_in_one_sentence():
    (sentence,) = [each for each in summary(a_report()) if "memory" in each]
    assert sentence == (
        "Played from memory in 1 of 2 sections: 1 of 1 cold take clean, the last on 2 May."
    )
    section = a_report().sections[0]
    with_score = replace(section, cold=tuple(replace(c, from_memory=False) for c in section.cold))
    report = replace(a_report(), sections=(with_score, *a_report().sections[1:]))
    assert not any("memory" in each for each in summary(report))
