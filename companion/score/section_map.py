"""The section map: named stretches of the score, nested, each with its purpose.

Conventions
-----------
- A :class:`SectionMap` is a frozen value and every edit returns a new one, so that undo is going
  back to an earlier value. An edit that makes no sense raises
  :class:`companion.errors.EditRefused` with a plain sentence.
- Sections are half-open: ``start`` belongs to the section, ``end`` does not.
- The top level covers the whole piece without gaps or overlaps; the children of a section, where
  it has any, cover it in the same way.
"""

from __future__ import annotations

from dataclasses import dataclass

from companion.score.model import Position


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A named stretch of the piece.

    Parameters
    ----------
    section_id
        Unique and kept over edits, so that history and words stay with the section.
    start, end
        First position inside and first position behind.
    parent_id
        The section that contains it, None on the top level.
    purpose
        What the section is for in the piece, in the pianist's words.
    how_to_play
        How it should be played, in the pianist's words.
    target_quarters_per_minute
        Own target tempo, None to take that of the score.
    why
        Why the border was proposed ("double bar", "new key signature"); empty once edited.
    """

    section_id: str
    name: str
    start: Position
    end: Position
    parent_id: str | None = None
    purpose: str = ""
    how_to_play: str = ""
    target_quarters_per_minute: float | None = None
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionMap:
    """All sections of a piece, sorted by start, parents before their children."""

    sections: tuple[Section, ...]
