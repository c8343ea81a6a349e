"""Modules that are imported when something of them is first used."""

from __future__ import annotations

from importlib import import_module
from typing import Any


class LateModule:
    """Stands for a module.

    The window opens the history before it is painted for the first time. For that it needs neither
    results nor edits, whose many classes took 30 ms of its start.
    """

    def __init__(self, name: str) -> None:
        self._name = name

    def __getattr__(self, name: str) -> Any:
        """Import the module, and return what it has under this name."""
        return getattr(import_module(self._name), name)
