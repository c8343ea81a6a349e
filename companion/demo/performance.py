"""A simulated take together with the truth about it.

Conventions
-----------
- Clock time is seconds from the first note, as in a recorded take.
- ``truth`` runs parallel to ``notes``: what the pianist meant by each of them. Written notes are
  named by their index in ``Score.notes``.
- The truth is what was *meant*. A matcher may see it differently with good reason where two
  readings fit the sounding notes equally well.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from companion.history.model import RawEvent
from companion.listening.notes import Beginning, Hands, HeardNote, PedalChange, Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class MeantNote:
    """What a played note was meant to be.

    ``score_index`` is None for an added note; ``also`` are other voices' notes of the same key.
    """

    verdict: Verdict
    passage: int
    score_index: int | None = None
    also: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOutNote:
    """A written note that was left out, and when it should have sounded."""

    score_index: int
    passage: int
    at_seconds: float


class BreakKind(StrEnum):
    """How the flow of the playing was broken."""

    HESITATION = "hesitation"
    STOP = "stop"


@dataclass(frozen=True, slots=True, kw_only=True)
class Break:
    """A hesitation or a stop: the silence added before the onset at ``at_seconds``."""

    kind: BreakKind
    at_seconds: float
    added_seconds: float
    measure_index: int
    passage: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedPassage:
    """A stretch played without going back.

    ``first_played`` and ``last_played`` are indices of played notes; ``from_quarters`` and
    ``to_quarters`` the first and last written onset reached, as printed.
    """

    first_played: int
    last_played: int
    from_quarters: Fraction
    to_quarters: Fraction
    from_measure_index: int
    to_measure_index: int
    hands: Hands
    began_with: Beginning


@dataclass(frozen=True, slots=True, kw_only=True)
class Performance:
    """Everything about one simulated take.

    ``quarters_per_minute`` is the tempo meant at its beginning.
    """

    notes: tuple[HeardNote, ...]
    pedals: tuple[PedalChange, ...]
    events: tuple[RawEvent, ...]
    truth: tuple[MeantNote, ...]
    left_out: tuple[LeftOutNote, ...]
    breaks: tuple[Break, ...]
    passages: tuple[PlayedPassage, ...]
    quarters_per_minute: float
    seed: int

    def count(self, verdict: Verdict) -> int:
        """How many played notes were meant as ``verdict``."""
        return sum(meant.verdict is verdict for meant in self.truth)
