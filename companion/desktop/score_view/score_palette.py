"""The colours of the printed score and of the pencil on it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from companion.desktop.palette import Palette


@dataclass(frozen=True, slots=True, kw_only=True)
class ScorePalette:
    """Colours as ``#rrggbb``. Each pencil colour also has its own sign, so none stands alone.

    Parameters
    ----------
    desk
        What the sheets lie on.
    paper, paper_edge, ink, staff_line
        The printed page; staff lines are a little lighter than the notes.
    quiet
        Text on an empty desk and on sheets that are not engraved yet.
    place, place_wash
        The rule at the place being played and the tint of its measure.
    section_wash, section_edge
        Tint of the section that is being looked at, and the rules at its two ends.
    focus
        Frame of the measure that has the keyboard focus.
    right
        Soft shading behind a note that was played as written.
    wrong, missed, added, stop
        The pencil.
    """

    desk: str
    paper: str
    paper_edge: str
    ink: str
    staff_line: str
    quiet: str
    place: str
    place_wash: str
    section_wash: str
    section_edge: str
    focus: str
    right: str
    wrong: str
    missed: str
    added: str
    stop: str

    @classmethod
    def of_window(cls, palette: Palette) -> ScorePalette:
        """Return the score's colours that go with a palette of the window."""
        return cls(
            desk=palette.desk,
            paper=palette.sheet,
            paper_edge=palette.hairline,
            ink=palette.ink,
            staff_line=palette.graphite,
            quiet=palette.graphite,
            place=palette.place,
            place_wash=palette.place_wash,
            section_wash=palette.place_wash,
            section_edge=palette.place,
            focus=palette.place,
            right=palette.shading,
            wrong=palette.wrong,
            missed=palette.attention_text,
            added=palette.place,
            stop=palette.graphite,
        )
