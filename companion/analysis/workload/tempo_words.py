"""How fast a tempo word is, where no figure stands beside it.

Beats a minute of the Italian words are the defaults of music21 10.5 (``music21.tempo``); those of
other languages are put beside the Italian word they stand for (common practice). Sources disagree
by a third and more, so a figure, or a target of the pianist's own, always goes first.
"""

from __future__ import annotations

import re

BEATS_PER_MINUTE: dict[str, float] = {
    "larghissimo": 16,
    "grave": 40,
    "largo": 46,
    "lento": 52,
    "adagio": 56,
    "larghetto": 60,
    "adagietto": 66,
    "andante": 72,
    "andantino": 80,
    "maestoso": 88,
    "moderato": 92,
    "allegretto": 108,
    "animato": 120,
    "allegro": 132,
    "vivace": 160,
    "presto": 184,
    "prestissimo": 208,
    # the same in other languages
    "langsam": 56,
    "slow": 56,
    "slowly": 56,
    "lent": 56,
    "lentement": 56,
    "ruhig": 72,
    "mässig": 92,
    "mäßig": 92,
    "moderate": 92,
    "modéré": 92,
    "bewegt": 120,
    "animé": 120,
    "lively": 132,
    "lebhaft": 132,
    "schnell": 132,
    "fast": 132,
    "vif": 132,
    "rasch": 132,
}


def beats_per_minute_of(text: str) -> float | None:
    """Beats a minute of the first tempo word in a text; None where there is none."""
    for word in re.findall(r"[^\W\d_]+", text.lower()):
        if word in BEATS_PER_MINUTE:
            return BEATS_PER_MINUTE[word]
    return None
