"""The fingers that the pianist has set, and the stored form of them.

Every edit returns a new value; undo is going back to the old one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any

from companion.analysis.fingering.spans import FINGERS
from companion.analysis.fingering.suggest import Suggestion
from companion.errors import EditRefused

FORMAT = 1


@dataclass(frozen=True, slots=True)
class ChosenFingers:
    """Fingers by note id.

    Parameters
    ----------
    keep_printed
        Suggestions keep to the fingers that are printed in the score, but for notes whose finger
        the pianist has set.
    """

    fingers: tuple[tuple[str, int], ...] = ()
    keep_printed: bool = True
    _by_id: MappingProxyType[str, int] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Keep a view by id: the score asks for many notes."""
        object.__setattr__(self, "_by_id", MappingProxyType(dict(self.fingers)))

    @property
    def by_id(self) -> MappingProxyType[str, int]:
        """The fingers by note id."""
        return self._by_id

    def locked(self, printed: Mapping[str, int]) -> dict[str, int]:
        """The fingers that no suggestion changes: those of the pianist before printed ones."""
        return {**(printed if self.keep_printed else {}), **self._by_id}

    def __reduce__(self) -> tuple[Any, ...]:
        """Say how to make the value again: the view cannot be pickled."""
        return ChosenFingers, (self.fingers, self.keep_printed)


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
        "keep_printed": chosen.keep_printed,
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
        keep_printed = document.get("keep_printed", True) is not False  # type: ignore[attr-defined]
    except (TypeError, KeyError, ValueError, AttributeError) as error:
        raise EditRefused("These fingers are damaged and cannot be read.") from error
    if any(finger not in FINGERS for finger in fingers.values()):
        raise EditRefused("These fingers are damaged and cannot be read.")
    return ChosenFingers(_sorted(fingers.items()), keep_printed)


def _sorted(fingers: Iterable[tuple[str, int]]) -> tuple[tuple[str, int], ...]:
    return tuple(sorted(fingers))
