"""What is kept of a score that was opened before, so that the window can show it at once."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from companion.practice.opening import ReadScore
from companion.score.cache import ScoreCache
from companion.score.engraving.model import LAYOUT_VERSION, EngravedPage, Layout
from companion.score.sections.section_map import SectionMap

if TYPE_CHECKING:
    from companion.score.reading.part_choice import PartChoice

LOADED_SCORE = "loaded score 4"
"""Name of the entry of a whole score; another number whenever its classes change or move."""

PROPOSED_SECTIONS = "sections of the form 1"
"""Name of the entry of the sections; another number whenever the form is found otherwise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadedScore:
    """A score that was read, and the sections that are proposed for it.

    ``parts`` are all parts that could have been chosen. While not ``form_known``, the proposal
    comes from the printed signs alone: the form takes seconds and follows.
    """

    read: ReadScore
    proposal: SectionMap = field(repr=False)
    parts: tuple[PartChoice, ...] = ()
    form_known: bool = True


def kept_score(cache_folder: Path, score_hash: str, part: str | None) -> LoadedScore | None:
    """A score as it was read before; None when it has to be read."""
    cache, key = ScoreCache(cache_folder), score_key(score_hash, part)
    loaded = cache.get(key, LOADED_SCORE)
    if not isinstance(loaded, LoadedScore):
        return None
    if not loaded.form_known:
        sections = cache.get(key, PROPOSED_SECTIONS)
        if isinstance(sections, SectionMap):
            return replace(loaded, proposal=sections, form_known=True)
    return loaded


def kept_page(
    cache_folder: Path, score_hash: str, part: str | None, layout: Layout, index: int
) -> EngravedPage | None:
    """A page as it was engraved before; None when it has to be engraved."""
    value = ScoreCache(cache_folder).get(score_key(score_hash, part), page_name(layout, index))
    return value if isinstance(value, EngravedPage) else None


def page_name(layout: Layout, index: int) -> str:
    """Name of the entry of a page."""
    return f"page {index} {LAYOUT_VERSION} {layout!r}"


def score_key(score_hash: str, part: str | None) -> str:
    """Name of everything kept of this file and part."""
    return f"{score_hash} {part or ''}"
