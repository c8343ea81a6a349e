"""The cores under the map."""

import pytest
from PySide6.QtCore import QPoint
from PySide6.QtGui import QColor

from companion.desktop.knowing.filling import depth_lane
from companion.desktop.palette import DAY
from companion.desktop.section_map.depth_lane import DepthLane
from companion.desktop.section_map.figures import MapFigures, SectionFigures
from companion.desktop.section_map.map_view import SectionMapView
from tests.desktop.knowing.knowing_examples import MAP, MEASURES, TODAY, a_standing


def figures(depth):
    return MapFigures(
        sections=tuple(
            SectionFigures(section_id=s.section_id, takes=3, last_played=TODAY)
            for s in MAP.sections
        ),
        today=TODAY,
        depth=depth,
    )


@pytest.fixture
def view(qtbot):
    widget = SectionMapView(DAY)
    qtbot.addWidget(widget)
    widget.resize(1000, 260)
    widget.show_map(MEASURES, MAP)
    widget.show_figures(figures(depth_lane(a_standing())))
    widget.resize(1000, widget.sizeHint().height())
    return widget


def test_the_map_grows_by_the_lane_when_something_was_played_cold(view):
    with_lane = view.sizeHint().height()
    view.show_figures(figures(None))
    assert view.sizeHint().height() < with_lane


def test_what_is_known_since_when_is_told_at_its_core_and_of_the_lane(view):
    layout = view.geometry_now
    middle = int(layout.depth_top + layout.depth_pixels / 2)
    opening, coda = (int(layout.x_at(MAP.sections[n].start)) + 10 for n in (0, 4))
    assert view.words_at(QPoint(opening, middle)).startswith("Opening: Known since")
    assert "18 days" in view.words_at(QPoint(coda, middle))
    told = view.words_at(QPoint(30, middle))
    assert told.startswith("Known after 3 clean cold takes")
    assert "18 of them in all" in told


def test_a_chosen_section_is_read_with_since_when_it_is_known(view):
    view.choose(MAP.sections[4].section_id)
    assert "Known since" in view.accessibleDescription()


def test_a_core_is_filled_from_the_surface_down_to_its_day_and_empty_below(view):
    image = view.grab().toImage()
    layout = view.geometry_now
    x = int(layout.x_at(MAP.sections[0].start)) + 12
    filled = {
        y: QColor(image.pixelColor(x, int(layout.depth_top) + y)).lightness() < 128
        for y in range(1, int(layout.depth_pixels) - 1)
    }
    # known for 17 of 18 days, but for a seam a week
    assert sum(filled.values()) >= 0.8 * len(filled)
    never = int(layout.x_at(MAP.sections[3].start)) + 12
    assert QColor(image.pixelColor(never, int(layout.depth_top) + 5)).lightness() > 200


def test_an_empty_lane_has_nothing_to_tell():
    assert DepthLane().of_section("a") is None
