"""The two hands of a pianist and the form of the model: what suggestions are asked of."""

from __future__ import annotations

import logging
from dataclasses import dataclass

from companion.analysis.fingering.rules import FingeredHand, Model
from companion.analysis.fingering.spans import (
    MEDIUM_HAND,
    HandSpans,
    spans_from_text,
    spans_to_text,
)
from companion.errors import EditRefused
from companion.score.model import Hand

_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class PianistHands:
    """What each hand spans, and which form of the model is asked.

    The usual form is the one that comes nearest to what is taught; the paper's own can be chosen.
    """

    right: HandSpans = MEDIUM_HAND
    left: HandSpans = MEDIUM_HAND
    model: Model = Model.TAUGHT

    def asked(self, hand: Hand) -> FingeredHand:
        """What the model is asked for a hand."""
        return FingeredHand(self.right if hand is Hand.RIGHT else self.left, self.model)


def hands_to_texts(hands: PianistHands) -> tuple[str, str, str]:
    """Write right hand, left hand and form of the model; inverse of the function below."""
    return spans_to_text(hands.right), spans_to_text(hands.left), hands.model.name.lower()


def hands_from_texts(right: str, left: str, model: str) -> PianistHands:
    """Read hands from settings; what is broken there is logged and falls back to the usual."""
    try:
        return PianistHands(
            right=spans_from_text(right),
            left=spans_from_text(left),
            model=Model[model.upper()],
        )
    except (EditRefused, KeyError) as error:
        _log.warning("The hands in the settings cannot be read (%s); using medium ones", error)
        return PianistHands()
