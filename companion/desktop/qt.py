"""Brings Qt into the process, without what it would cost each later import.

Qt for Python puts a function of its own in the place of Python's ``__import__``, which reads the
source of every module that is imported from then on, to see whether the module switches other
spellings of Qt's names on (``from __feature__ import snake_case``). Nobody does that here, and it
took 40 ms of a start: so the plain function is put back.
"""

from __future__ import annotations

import builtins

_plain_import = builtins.__import__

from PySide6 import QtCore, QtGui, QtWidgets  # noqa: E402, F401 - between the two lines on purpose

builtins.__import__ = _plain_import
