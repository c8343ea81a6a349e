"""A share as whole per cent, the same everywhere in the window."""

from __future__ import annotations

import math

_FUZZ = 1e-9  # 0.29 * 100 is 28.999999999999996


def percent(share: float) -> str:
    """Write a share (0 to 1) as whole per cent, rounded down.

    Rounded to the nearest, 97.6 would read 98 and seem to reach a threshold of 98 that it does not
    reach, and one wrong note in three hundred would read 100.
    """
    return f"{math.floor(share * 100 + _FUZZ)} %"
