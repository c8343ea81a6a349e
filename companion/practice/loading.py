"""Loading a score for the window, in steps that run in worker processes.

One process prepares the file and reads it (:func:`load_file`), another engraves what was prepared
meanwhile (:func:`engrave_file`). As soon as the score is read it is handed out, with the sections
that its printed signs suggest; a third process then looks for its form (:func:`sections_of_form`).
Music21 and verovio never come into the window's own process. What was made is kept in a
:class:`companion.score.cache.ScoreCache`, under the hash of the file and the part, so a score that
was open before needs none of them.
"""

from __future__ import annotations

import logging
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from companion.errors import Cancelled, CompanionError
from companion.practice.kept import (
    LOADED_SCORE,
    PROPOSED_SECTIONS,
    LoadedScore,
    kept_score,
    page_name,
    score_key,
)
from companion.practice.opening import hash_of_file, read_score_file
from companion.progress import Report, no_report
from companion.score.cache import ScoreCache
from companion.score.engraving.model import (
    LAYOUT_VERSION,
    EngravedPage,
    EngravingSummary,
    Layout,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from companion.score.model import Score
    from companion.score.reading.part_choice import PartChoice
    from companion.score.sections.section_map import SectionMap


@dataclass(frozen=True, slots=True, kw_only=True)
class PreparedFile:
    """A score file that is ready to be engraved; ``part`` is the choice as it was asked for."""

    path: str
    part: str | None
    score_hash: str
    title: str
    musicxml: bytes = field(repr=False)
    parts: tuple[PartChoice, ...]

    @classmethod
    def of(cls, loaded: LoadedScore) -> PreparedFile:
        """The file of a score that was read before."""
        read = loaded.read
        return cls(
            path=read.path,
            part=read.part or None,
            score_hash=read.score_hash,
            title=read.score.title,
            musicxml=read.score.musicxml,
            parts=loaded.parts,
        )

    @property
    def key(self) -> str:
        """Name of everything kept of this file and part."""
        return score_key(self.score_hash, self.part)


def load_file(
    path: str,
    part: str | None,
    cache_folder: Path,
    report: Report = no_report,
    emit: Callable[[PreparedFile | LoadedScore], None] = lambda _part: None,
) -> None:
    """Hand out a score file ready to be engraved, then the score itself; or both from the cache.

    Raises
    ------
    ScoreUnreadable
        The file is missing, broken, hostile, too large, no score or gone meanwhile, or its notation
        makes no sense to the reader.
    """
    score_hash = hash_of_file(Path(path))
    kept = kept_score(cache_folder, score_hash, part) if score_hash else None
    if kept is not None:
        loaded = replace(kept, read=replace(kept.read, path=path))
        emit(PreparedFile.of(loaded))
        emit(loaded)
        return
    # only workers prepare and read: the window must not load what they need
    from companion.score.reading.prepare import prepare_score
    from companion.score.reading.reader import read_prepared
    from companion.score.sections.proposal import propose_sections

    prepared = prepare_score(path, part, report)
    file = PreparedFile(
        path=path,
        part=part,
        score_hash=score_hash,
        title=prepared.title,
        musicxml=prepared.musicxml,
        parts=prepared.parts,
    )
    emit(file)

    def read(_path: str, _part: str | None, report: Report) -> Score:
        return read_prepared(prepared, report)

    found = read_score_file(path, part, report, read)
    loaded = LoadedScore(
        read=found, proposal=propose_sections(found.score), parts=file.parts, form_known=False
    )
    if found.score_hash == file.score_hash:
        ScoreCache(cache_folder).put(file.key, LOADED_SCORE, loaded)
    emit(loaded)


def sections_of_form(
    score: Score, key: str, cache_folder: Path, report: Report = no_report
) -> SectionMap:
    """Propose sections from the form and keep them; from the printed signs where that trips.

    A fault of the analysis must not leave a score without sections: it is logged, and the map can
    be edited.
    """
    from companion.analysis.form import propose_section_map
    from companion.practice.harmony import kept_or_analysed
    from companion.score.sections.proposal import propose_sections

    try:
        harmony = kept_or_analysed(score, cache_folder, report)
        sections = propose_section_map(score, harmony, report)
    except (Cancelled, CompanionError):
        raise
    except Exception:
        logging.getLogger(__name__).exception("the form of a score could not be analysed")
        sections = propose_sections(score)
    ScoreCache(cache_folder).put(key, PROPOSED_SECTIONS, sections)
    return sections


def engrave_file(
    file: PreparedFile,
    layout: Layout,
    cache_folder: Path,
    first_page: int = 0,
    report: Report = no_report,
    emit: Callable[[EngravedPage], None] = lambda _page: None,
) -> EngravingSummary:
    """Engrave a prepared file page by page, from ``first_page`` on, or hand out the kept pages."""
    cache = ScoreCache(cache_folder)
    summary = cache.get(file.key, _summary_name(layout))
    if isinstance(summary, EngravingSummary) and _hand_out_kept(
        cache, file.key, layout, range(first_page, summary.pages), emit
    ):
        return summary
    from companion.score.engraving.engraver import engrave

    def keep_and_emit(page: EngravedPage) -> None:
        cache.put(file.key, page_name(layout, page.index), page)
        emit(page)

    made = engrave(file.musicxml, layout, report, keep_and_emit)
    cache.put(file.key, _summary_name(layout), made)
    return made


def _hand_out_kept(
    cache: ScoreCache,
    key: str,
    layout: Layout,
    indices: range,
    emit: Callable[[EngravedPage], None],
) -> bool:
    for index in indices:
        page = cache.get(key, page_name(layout, index))
        if not isinstance(page, EngravedPage):
            return False  # what was handed out already is replaced by the same pages
        emit(page)
    return True


def _summary_name(layout: Layout) -> str:
    return f"pages {LAYOUT_VERSION} {layout!r}"
