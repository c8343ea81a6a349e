"""Why a section is hard, in a pianist's words: what sets it apart from the piece as a whole."""

from __future__ import annotations

from dataclasses import dataclass, fields

from companion.analysis.workload.features import StretchFeatures
from companion.analysis.workload.shares import Shares
from companion.score.model import Hand

CLEAR_DIFFERENCE = 0.2
"""Units above the piece as a whole from which a feature is named."""

SLIGHT_DIFFERENCE = 0.05
"""Where nothing stands out clearly, the strongest is named from here on."""

MORE_PER_NOTE = 1.1
"""Leaps and awkward fingers are named where there are so many times more of them for each note."""

MOST_REASONS = 3
_MOSTLY_NEW, _MOSTLY_KNOWN = 0.75, 0.25


@dataclass(frozen=True, slots=True)
class _Phrase:
    """What is said of a feature, and of which hand."""

    text: str
    hand: str = ""


_PHRASES = {
    "speed": _Phrase("fast"),
    "leaps_right": _Phrase("wide leaps", "right hand"),
    "leaps_left": _Phrase("wide leaps", "left hand"),
    "stretch_right": _Phrase("wide stretches", "right hand"),
    "stretch_left": _Phrase("wide stretches", "left hand"),
    "fingering_right": _Phrase("awkward fingering", "right hand"),
    "fingering_left": _Phrase("awkward fingering", "left hand"),
    "chords_right": _Phrase("full chords", "right hand"),
    "chords_left": _Phrase("full chords", "left hand"),
    "independence": _Phrase("hands that go their own ways"),
    "polyrhythm": _Phrase("two rhythms against each other"),
    "entropy": _Phrase("many different notes"),
    "accidentals": _Phrase("many accidentals"),
}


def reasons_in_words(
    features: StretchFeatures, shares: Shares, piece: StretchFeatures, of_piece: Shares
) -> tuple[str, ...]:
    """What sets a section apart, the strongest first, at most :data:`MOST_REASONS`."""
    if not features.notes:
        return ("nothing to play",)
    apart = {
        field.name: getattr(shares, field.name) - getattr(of_piece, field.name)
        for field in fields(Shares)
        if field.name in _PHRASES and not _only_faster(field.name, features, piece)
    }
    strongest = sorted(apart, key=lambda name: -apart[name])
    named = [name for name in strongest if apart[name] >= CLEAR_DIFFERENCE]
    if not named and shares.difficulty > of_piece.difficulty:
        named = [name for name in strongest[:1] if apart[name] >= SLIGHT_DIFFERENCE]
    reasons = list(dict.fromkeys(_in_hands(name, named) for name in named))[:MOST_REASONS]
    if features.new_share >= _MOSTLY_NEW > piece.new_share:
        reasons.append("new material")
    elif features.new_share <= _MOSTLY_KNOWN < piece.new_share:
        reasons.append("mostly material from before")
    return tuple(reasons)


def _only_faster(name: str, features: StretchFeatures, piece: StretchFeatures) -> bool:
    """Whether leaps or fingers are harder than elsewhere only because the notes come faster."""
    kind, _, side = name.partition("_")
    if kind not in ("leaps", "fingering"):
        return False
    here, whole = features.hand(Hand(side)), piece.hand(Hand(side))
    if kind == "leaps":
        return here.displacement_rate < MORE_PER_NOTE * whole.displacement_rate
    return here.fingering_points < MORE_PER_NOTE * whole.fingering_points


def _in_hands(name: str, named: list[str]) -> str:
    phrase = _PHRASES[name]
    if not phrase.hand:
        return phrase.text
    other = name.replace("right", "left") if "right" in name else name.replace("left", "right")
    return f"{phrase.text} in {'both hands' if other in named else f'the {phrase.hand}'}"
