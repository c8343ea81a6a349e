"""Large values on their way between processes and out of the cache.

A score is some hundred thousand small objects; with the garbage collector at work, unpickling it
takes twice as long, and each full collection would hold up the window.
"""

from __future__ import annotations

import pickle
from operator import attrgetter
from typing import Any

from companion.processes.collector import collector_off

_new = object.__new__
_set = object.__setattr__


def unpickled(data: bytes) -> Any:
    """Return the value of a pickle that this program wrote itself."""
    with collector_off():
        return pickle.loads(data)


class QuickPickle:
    """A base of frozen dataclasses with slots and two or more fields, of which there are thousands.

    What ``dataclass`` brings for such classes asks for the list of fields anew with each object
    (Python 3.11: "slightly more performant if we generated the code"); this takes half the time.
    """

    __slots__: tuple[str, ...] = ()

    def __reduce__(self) -> tuple[Any, ...]:
        """Say how to make the object again: its class and its values."""
        cls = type(self)
        first, *others = cls.__slots__
        return _rebuilt, (cls, attrgetter(first, *others)(self))


def _rebuilt(cls: type[QuickPickle], values: tuple[object, ...]) -> QuickPickle:
    made = _new(cls)
    for name, value in zip(cls.__slots__, values, strict=True):
        _set(made, name, value)
    return made
