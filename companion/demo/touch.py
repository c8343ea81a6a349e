"""How a human hand differs from a machine: when keys go down, how hard, and for how long.

Sources
-------
- Chord spread, melody lead, overlap in runs, spread of velocities: medians of open recordings of
  professional pianists on computer-monitored grands (Vienna 4x22; Hu & Widmer 2023,
  arXiv:2309.02399), measured for this project.
- Melody lead: Goebl 2001, doi:10.1121/1.1376133. Repeated notes sound for about 60 % of the time
  from stroke to stroke: Bresin & Battel 2000, doi:10.1076/jnmr.29.3.211.3092.
- Final ritard: Friberg & Sundberg 1999, JASA 105:1469-1484 (formula as usually cited).
- Deviations grow with the interval above some 300 ms: Repp 1997.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from random import Random

CHORD_SPREAD_SD_SECONDS = 0.008  # gives a median spread of 13-20 ms in chords of three and four
MELODY_LEAD_SECONDS = 0.012  # 5.8 ms (Mozart) to 20.9 ms (Romantic excerpts)
LEFT_HAND_LATE_SD_SECONDS = 0.008
RELEASE_MEAN_SECONDS = -0.027  # release against the next onset: median of sixteenth runs
RELEASE_SD_SECONDS = 0.035
REPEATED_NOTE_SHARE = 0.6
PHRASE_MEASURES = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Touch:
    """The person: how freely and how evenly they play.

    Parameters
    ----------
    rubato
        Amplitude of the tempo arch over a phrase; 0.1 gives beats that vary by some 8 %.
    unevenness_seconds
        Standard deviation of single onsets; professionals in scales 8-12 ms.
    loudness, loudness_range
        Mean velocity and how far the phrase swells above and below it.
    """

    rubato: float = 0.07
    unevenness_seconds: float = 0.008
    loudness: float = 62.0
    loudness_range: float = 14.0

    def tempo_factor(self, measures_from_start: float, measures_to_end: float) -> float:
        """Factor on the length of a beat: slow at the ends of phrases, and at the very end."""
        place = measures_from_start / PHRASE_MEASURES % 1.0
        arch = 1.0 + self.rubato * (math.cos(2 * math.pi * place) * 0.7 + (place - 0.5) * 0.6)
        if measures_to_end < 2.0:
            arch /= final_ritard(1.0 - measures_to_end / 2.0, end_tempo_share=0.65)
        return arch

    def velocity(self, rng: Random, *, place_in_phrase: float, accent: bool, melody: bool) -> int:
        """Velocity of a stroke: the swell of the phrase, the beat, and the voice."""
        swell = math.sin(math.pi * place_in_phrase) - 0.5
        wanted = self.loudness + self.loudness_range * swell
        wanted += (5.0 if accent else 0.0) + (9.0 if melody else -5.0)
        return round(min(120.0, max(12.0, rng.gauss(wanted, 5.0))))

    def onset_error_seconds(self, rng: Random, since_last_seconds: float) -> float:
        """Unevenness of one onset; long intervals are less exact in proportion."""
        return rng.gauss(0.0, max(self.unevenness_seconds, 0.02 * min(since_last_seconds, 2.0)))


def final_ritard(place: float, *, end_tempo_share: float, curvature: float = 2.0) -> float:
    """Tempo share at ``place`` 0-1 of the final ritard: ``(1 + (w^q - 1) x)^(1/q)``."""
    return float((1 + (end_tempo_share**curvature - 1) * place) ** (1 / curvature))
