"""What merging came to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True, kw_only=True)
class MapReplaced:
    """A section map that was in force here, and is an earlier version now.

    ``content_before`` is its stored text; ``was_worked_on`` tells it from a mere proposal.
    """

    piece_id: str
    title: str
    content_before: str = field(repr=False)
    was_worked_on: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DocumentReplaced:
    """A document that was in force here, and is kept as an entry now."""

    piece_id: str
    title: str
    kind: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Merged:
    """What came into this history.

    Parameters
    ----------
    new_takes, new_pieces, new_entries
        How many were not known here.
    doubles
        Takes that were in both under two ids, and are one now.
    thrown_away
        Takes of ours that the other history knows to be thrown away.
    pieces_renamed
        New ids of pieces of ours whose score had another id there.
    maps_replaced, documents_replaced
        What the later word of the other machine took the place of.
    """

    new_takes: int = 0
    new_pieces: int = 0
    new_entries: int = 0
    doubles: int = 0
    thrown_away: int = 0
    pieces_renamed: Mapping[str, str] = field(default_factory=dict)
    maps_replaced: tuple[MapReplaced, ...] = ()
    documents_replaced: tuple[DocumentReplaced, ...] = ()
