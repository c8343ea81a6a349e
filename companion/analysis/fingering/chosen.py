"""The fingers that the pianist has set, and the stored form of them.

Every edit returns a new value; undo is going back to the old one.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any

from companion.analysis.fingering.rules import FingeredHand, Model
from companion.analysis.fingering.spans import FINGERS, MEDIUM_HAND, HandSpans
from companion.analysis.fingering.suggest import Suggestion
from companion.errors import EditRefused

FORMAT = 1
LARGEST_CHANGE = 4


@dataclass(frozen=True, slots=True)
class ChosenFingers:
    """Fingers by note id, and the hand and the form of the model that suggestions are asked of.

    The form is the one that comes nearest to what is taught; the paper's own can be chosen.
    """

    fingers: tuple[tuple[str, int], ...] = ()
    spans: HandSpans = MEDIUM_HAND
    model: Model = Model.TAUGHT
    _by_id: MappingProxyType[str, int] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Keep a view by id: the score asks for many notes."""
        object.__setattr__(self, "_by_id", MappingProxyType(dict(self.fingers)))

    @property
    def by_id(self) -> MappingProxyType[str, int]:
        """The fingers by note id."""
        return self._by_id

    @property
    def asked(self) -> FingeredHand:
        """What the model is asked."""
        return FingeredHand(self.spans, self.model)

    def __reduce__(self) -> tuple[Any, ...]:
        """Say how to make the value again: the view cannot be pickled."""
        return ChosenFingers, (self.fingers, self.spans, self.model)


def set_finger(chosen: ChosenFingers, note_id: str, finger: int) -> ChosenFingers:
    """Set the finger of a note; it is kept in every suggestion."""
    if finger not in FINGERS:
        raise EditRefused("Fingers are numbered from 1, the thumb, to 5.")
    return replace(chosen, fingers=_sorted({**chosen.by_id, note_id: finger}.items()))


def clear_fingers(chosen: ChosenFingers, note_ids: Iterable[str]) -> ChosenFingers:
    """Take the fingers of some notes away."""
    gone = set(note_ids)
    return replace(chosen, fingers=tuple(one for one in chosen.fingers if one[0] not in gone))


def take_suggestion(chosen: ChosenFingers, suggestion: Suggestion) -> ChosenFingers:
    """Set all fingers of a suggestion."""
    return replace(chosen, fingers=_sorted({**chosen.by_id, **dict(suggestion.fingers)}.items()))


def chosen_to_document(chosen: ChosenFingers) -> dict[str, Any]:
    """Return the fingers as values that ``json`` can write; inverse of the function below."""
    return {
        "format": FORMAT,
        "fingers": dict(chosen.fingers),
        "spans": [chosen.spans.with_thumb, chosen.spans.without_thumb],
        "model": chosen.model.name.lower(),
    }


def chosen_from_document(document: object) -> ChosenFingers:
    """Read fingers from the values that ``json`` gave; inverse of the function above.

    Raises
    ------
    EditRefused
        When the document was made by a newer version or is damaged.
    """
    try:
        if document["format"] > FORMAT:  # type: ignore[index]
            raise EditRefused("These fingers were stored by a newer version of the program.")
        fingers = {str(k): int(v) for k, v in document["fingers"].items()}  # type: ignore[index]
        spans = HandSpans(*(int(change) for change in document["spans"]))  # type: ignore[index]
        model = Model[document["model"].upper()]  # type: ignore[index]
    except (TypeError, KeyError, ValueError, AttributeError) as error:
        raise EditRefused("These fingers are damaged and cannot be read.") from error
    changes = (spans.with_thumb, spans.without_thumb)
    if any(finger not in FINGERS for finger in fingers.values()) or any(
        abs(change) > LARGEST_CHANGE for change in changes
    ):
        raise EditRefused("These fingers are damaged and cannot be read.")
    return ChosenFingers(_sorted(fingers.items()), spans, model)


def _sorted(fingers: Iterable[tuple[str, int]]) -> tuple[tuple[str, int], ...]:
    return tuple(sorted(fingers))
