"""How well somebody plays a piece at the moment, and how that changes with practice and rest.

Sources
-------
- Error rates of professionals: about 0.2-1.1 omitted and 1.0 added notes per 100 (Hu & Widmer
  2023, arXiv:2309.02399; Vienna 4x22). Those of a learner are invented for the demo.
- Improvement follows a power law of the number of trials (common finding), retention a power law
  of time (Wixted & Ebbesen 1991); motor skills fade slowly (Tatel & Ackerman, doi:10.1037/
  bul0000481), so that the exponent for days is small. The exponents themselves are invented.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Skill:
    """How a take goes.

    Parameters
    ----------
    tempo_share
        Tempo as a share of the written one.
    wrong_per_100, left_out_per_100, added_per_100
        Mistakes for every 100 written notes, in a measure of middling difficulty.
    hesitations_per_100, stops_per_100
        Breaks for every 100 onsets.
    restart_share
        How many of the stops go back before going on.
    caution
        How much slower troublesome measures are taken: tempo times ``trouble ** -caution``.
    """

    tempo_share: float = 1.0
    wrong_per_100: float = 0.5
    left_out_per_100: float = 0.5
    added_per_100: float = 0.4
    hesitations_per_100: float = 0.0
    stops_per_100: float = 0.0
    restart_share: float = 0.8
    caution: float = 0.0

    def towards(self, other: Skill, share: float) -> Skill:
        """The skill that lies ``share`` (0-1) of the way to ``other``."""

        def between(mine: float, theirs: float) -> float:
            return mine + (theirs - mine) * share

        return Skill(
            tempo_share=between(self.tempo_share, other.tempo_share),
            wrong_per_100=between(self.wrong_per_100, other.wrong_per_100),
            left_out_per_100=between(self.left_out_per_100, other.left_out_per_100),
            added_per_100=between(self.added_per_100, other.added_per_100),
            hesitations_per_100=between(self.hesitations_per_100, other.hesitations_per_100),
            stops_per_100=between(self.stops_per_100, other.stops_per_100),
            restart_share=between(self.restart_share, other.restart_share),
            caution=between(self.caution, other.caution),
        )


FLAWLESS = Skill(wrong_per_100=0.0, left_out_per_100=0.0, added_per_100=0.0)
"""Every note right; still with human timing."""

CONCERT = Skill()
"""About one mistake in a hundred notes, as measured in professional recordings."""

FIRST_READING = Skill(
    tempo_share=0.55,
    wrong_per_100=4.0,
    left_out_per_100=3.0,
    added_per_100=2.0,
    hesitations_per_100=2.5,
    stops_per_100=1.2,
    caution=0.2,
)
"""A good student with a new piece (invented for the demo)."""

LEARNING_EXPONENT = 0.55
FORGETTING_EXPONENT = 0.08


def learnt_share(takes_before: int, days_since_last: float) -> float:
    """How much of the way from first reading to mastery is done.

    ``(1 - (1 + takes) ** -0.55) * (1 + days) ** -0.08``: each take helps less than the one before
    it, and a part of what was gained is gone after a pause.
    """
    learnt: float = 1.0 - (1.0 + takes_before) ** -LEARNING_EXPONENT
    return learnt * float((1.0 + max(0.0, days_since_last)) ** -FORGETTING_EXPONENT)
