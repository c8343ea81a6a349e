"""A small piece of our own, and the whole program with places of its own and without a piano."""

from __future__ import annotations

import gc
import shutil
from fractions import Fraction

import pytest
from PySide6.QtCore import QEvent

from companion.midi.listener import Listener
from companion.midi.ports import PortProbe
from companion.processes.collector import collector_off
from companion.resources import sample_scores_folder
from companion.score.model import Measure, Position
from companion.score.sections.section_map import Section, arranged

LONG_MS = 120_000  # for worker processes on a busy machine; never waited for where all is well
SAMPLE = "the_footbridge.musicxml"


@pytest.fixture(autouse=True)
def no_widget_is_taken_apart_in_another_thread():
    """What hangs in a cycle goes when ``program`` collects it, also before the window is there."""
    with collector_off():
        yield


@pytest.fixture
def measures():
    return tuple(
        Measure(
            index=index,
            number=str(index + 1),
            start_quarters=Fraction(4 * index),
            duration_quarters=Fraction(4),
        )
        for index in range(24)
    )


@pytest.fixture
def section_map():
    def section(section_id, name, start, end, parent_id=None, **more):
        return Section(
            section_id=section_id,
            name=name,
            start=Position(start),
            end=Position(end),
            parent_id=parent_id,
            **more,
        )

    return arranged(
        [
            section("first", "First half", 0, 12),
            section("a", "A", 0, 8, "first", purpose="sets out"),
            section("b", "B", 8, 12, "first"),
            section("c", "C", 12, 24, why="double bar"),
        ]
    )


@pytest.fixture(scope="session")
def read_scores(tmp_path_factory):
    """Where scores are kept that one of the tests has opened before."""
    return tmp_path_factory.mktemp("cache")


@pytest.fixture
def places(tmp_path, read_scores):
    from companion.app import Places

    return Places(
        settings=tmp_path / "settings.json",
        history=tmp_path / "history.sqlite3",
        cache=read_scores,
    )


@pytest.fixture
def program(qapp, places):
    """Start the program; each call is one start, all are closed at the end."""
    from companion.app import Companion

    started = []

    def start(score_path=None):
        companion = Companion(qapp, places, Listener(PortProbe(systems=[])))
        started.append(companion)
        companion.start(score_path)
        return companion

    yield start
    for companion in started:
        companion.end()
        companion.window.deleteLater()
        companion.deleteLater()
    started.clear()
    qapp.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    gc.collect()  # here, in the thread of the widgets


@pytest.fixture
def own_score(tmp_path):
    """A copy of a sample outside the samples' folder: a piece of the pianist's own."""
    path = tmp_path / "my_piece.musicxml"
    shutil.copy(sample_scores_folder() / SAMPLE, path)
    return path


@pytest.fixture
def companion(program, own_score, qtbot):
    companion = program(None if own_score is None else str(own_score))
    qtbot.waitUntil(lambda: companion.stand.score is not None, timeout=LONG_MS)
    qtbot.waitUntil(lambda: not companion.opening.loading, timeout=LONG_MS)
    companion.spare_time.finish()
    return companion
