"""The figures of a take in lines, and what happened at a place in words."""

from __future__ import annotations

from fractions import Fraction

from companion.desktop.listener_panel.figures import FigureLine, FigureTable
from companion.desktop.tips import in_lines
from companion.desktop.wiring.take_figures import figure_lines
from companion.listening.definitions import definition
from companion.listening.measuring.take_measures import SectionMeasures
from companion.listening.notes import Hands


def measures(**more):
    return SectionMeasures(
        section_id="", hands=Hands.BOTH, expected=100, right=95, wrong=3, missed=2, **more
    )


def by_title(lines):
    return {line.title: line.value for line in lines}


def test_tempo_is_in_the_beat_of_the_meter_with_the_unit_named():
    # 90 quarters a minute are 60 dotted quarters: the beat of 6/8
    lines = by_title(figure_lines(measures(running_tempo_quarters_per_minute=90.0), Fraction(3, 2)))
    assert lines["Running tempo"] == "dotted quarter = 60"


def test_what_has_no_ground_is_left_out():
    titles = by_title(figure_lines(measures(), Fraction(1)))
    assert "Evenness" not in titles
    assert "Running tempo" not in titles
    assert titles["Right"] == "95 of 100"
    assert titles["Stops"] == "0"


def test_signed_figures_carry_their_sign():
    lines = by_title(figure_lines(measures(left_right_offset_ms=-12.4), Fraction(1)))
    assert lines["Left after right"] == "-12 ms"


def test_every_figure_explains_itself(qtbot):
    table = FigureTable()
    qtbot.addWidget(table)
    lines = figure_lines(measures(steadiness=0.05, evenness_sd_ms=11.7), Fraction(1))
    table.show_lines(lines)
    for (title, value), line in zip(table._labels, lines, strict=True):
        assert title.toolTip() == value.toolTip() == in_lines(line.meaning)
        assert value.accessibleName() == f"{line.title}: {line.value}"
    assert definition("steadiness").sentence in {line.meaning for line in lines}


def test_fewer_lines_leave_no_old_ones(qtbot):
    table = FigureTable()
    qtbot.addWidget(table)
    table.show()
    table.show_lines([FigureLine(title=str(n), value="", meaning="") for n in range(4)])
    table.show_lines([FigureLine(title="one", value="1", meaning="")])
    assert [title.text() for title, _ in table._labels if title.isVisible()] == ["one"]
