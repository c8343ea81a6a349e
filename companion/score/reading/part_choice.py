"""A part of a score as the pianist may choose it: a plain value, kept in the cache."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class PartChoice:
    """One part of a score that the pianist may choose.

    Parameters
    ----------
    part_id
        The id in the file; two ids joined by "+" where the hands are two parts of one staff each.
    name
        The printed name, possibly empty.
    staves
        Number of staves.
    note_count
        Noteheads with a pitch, tied ones counted.
    looks_like_piano
        By its two or more staves, its name, or its General MIDI program 1 to 8.
    """

    part_id: str
    name: str
    staves: int
    note_count: int
    looks_like_piano: bool
