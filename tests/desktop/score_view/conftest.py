"""A sample score engraved once, and a view that shows it."""

from __future__ import annotations

import pytest

from companion.desktop.palette import DAY
from companion.desktop.score_view.score_palette import ScorePalette
from companion.desktop.score_view.score_view import ScoreView
from companion.resources import sample_scores_folder
from companion.score.engraving.engraver import engrave
from companion.score.engraving.model import EngravedPage, Layout
from companion.score.model import Score
from companion.score.reading.prepare import prepare_score
from companion.score.reading.reader import read_score

SAMPLE = "the_footbridge.musicxml"


@pytest.fixture(scope="session")
def musicxml() -> bytes:
    return prepare_score(sample_scores_folder() / SAMPLE).musicxml


@pytest.fixture(scope="session")
def pages(musicxml: bytes) -> list[EngravedPage]:
    found: dict[int, EngravedPage] = {}
    engrave(
        musicxml,
        Layout(title="The Footbridge", composer="Demo"),
        emit=lambda page: found.update({page.index: page}),
    )
    return [found[index] for index in sorted(found)]


@pytest.fixture(scope="session")
def score() -> Score:
    return read_score(sample_scores_folder() / SAMPLE)


@pytest.fixture
def palette() -> ScorePalette:
    return ScorePalette.of_window(DAY)


@pytest.fixture
def view(qtbot, pages, palette) -> ScoreView:
    widget = ScoreView(palette)
    qtbot.addWidget(widget)
    widget.resize(900, 640)
    widget.set_animated(False)
    widget.set_layout(Layout(title="The Footbridge"))
    for page in pages:
        widget.add_page(page)
    widget.finish_pages()
    widget.show()
    qtbot.waitUntil(lambda: widget.is_complete)
    return widget
