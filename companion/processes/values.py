"""Unpickling large values without the garbage collector looking over them again and again.

A score is some hundred thousand small objects; with the collector at work, unpickling it takes
twice as long, and each full collection would hold up the window.
"""

from __future__ import annotations

import gc
import pickle
from typing import Any


def unpickled(data: bytes) -> Any:
    """Return the value of a pickle that this program wrote itself."""
    was_at_work = gc.isenabled()
    gc.disable()
    try:
        return pickle.loads(data)
    finally:
        if was_at_work:
            gc.enable()
