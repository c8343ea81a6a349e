"""One switch of the collector for all who want it off."""

from __future__ import annotations

import gc

import pytest

from companion.processes.collector import collector_off, hold_off, let_go


@pytest.fixture(autouse=True)
def on_before():
    was_on = gc.isenabled()
    gc.enable()
    yield
    (gc.enable if was_on else gc.disable)()


def test_it_is_on_again_when_the_last_one_lets_go_in_whatever_order():
    hold_off()
    hold_off()
    assert not gc.isenabled()
    let_go()
    assert not gc.isenabled()
    let_go()
    assert gc.isenabled()


def test_a_short_while_inside_a_long_one_leaves_it_off_also_after_an_error():
    with collector_off():
        with pytest.raises(ZeroDivisionError), collector_off():
            _ = 1 / 0
        assert not gc.isenabled()
    assert gc.isenabled()


def test_who_found_it_off_leaves_it_off():
    gc.disable()
    with collector_off():
        pass
    assert not gc.isenabled()
