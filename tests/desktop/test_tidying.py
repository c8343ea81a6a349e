"""The garbage collector in the hands of the window."""

from __future__ import annotations

import gc
import weakref

import pytest

from companion.desktop.tidying import Tidying
from companion.processes.collector import collector_off, hold_off, let_go


class Knot:
    """Something in a reference cycle with itself."""

    def __init__(self):
        self.itself = self


@pytest.fixture
def tidying(qapp):
    gc.collect()
    gc.freeze()  # what the other tests left does not count
    tidying = Tidying(lambda: False)
    tidying.start()
    yield tidying
    tidying.stop()
    gc.unfreeze()


@pytest.fixture
def collector_at_work():
    let_go()  # as for the program: nobody but the window holds it off
    yield
    hold_off()


def test_a_value_that_was_being_read_does_not_switch_the_collector_on_behind_the_window(
    qapp, collector_at_work
):
    tidying = Tidying(lambda: False)
    assert gc.isenabled()
    with collector_off():  # a thread of the window before is unpickling
        tidying.start()
    assert not gc.isenabled()
    tidying.stop()
    assert gc.isenabled()


def test_what_hangs_in_a_cycle_is_collected_by_a_look(tidying):
    gone = weakref.ref(Knot())
    few = [[number] for number in range(2 * gc.get_threshold()[0])]
    assert gone() is not None
    tidying.look()
    assert gone() is None
    assert len(few) > 0


def test_a_loaded_score_is_set_aside_and_not_looked_through(tidying):
    score = [[number] for number in range(30_000)]
    tidying.look()
    assert gc.get_freeze_count() >= len(score)
    assert gc.get_count()[0] < 1_000


def test_what_was_set_aside_goes_when_nobody_holds_it(tidying):
    before = gc.get_freeze_count()
    score = [[number] for number in range(30_000)]
    tidying.look()
    del score
    assert gc.get_freeze_count() < before + 1_000
