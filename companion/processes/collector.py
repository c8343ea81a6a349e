"""Python's garbage collector switched off by several at once.

The collector has one switch for the whole process. Who turns it off for a while, and on again as it
was found, turns it on for somebody who has turned it off in between: so whoever wants it off holds
it off here, and it is on again when the last one lets go.
"""

from __future__ import annotations

import gc
import threading
from collections.abc import Iterator
from contextlib import contextmanager

_lock = threading.Lock()
_holders = 0
_was_on = False


def hold_off() -> None:
    """Switch the collector off until :func:`let_go` was called as often."""
    global _holders, _was_on
    with _lock:
        if not _holders:
            _was_on = gc.isenabled()
            gc.disable()
        _holders += 1


def let_go() -> None:
    """Leave it to the others who hold it off; the last one switches it on if it was on."""
    global _holders
    with _lock:
        _holders -= 1
        if not _holders and _was_on:
            gc.enable()


@contextmanager
def collector_off() -> Iterator[None]:
    """Hold it off for a while."""
    hold_off()
    try:
        yield
    finally:
        let_go()
