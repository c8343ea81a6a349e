"""Loading a score for the window, in steps that run in worker processes.

One process prepares the file and reads it, another engraves what was prepared meanwhile. Nothing
here runs in the window's own process: music21 and verovio never come near it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from companion.practice.opening import ReadScore, read_score_file
from companion.progress import Report, no_report
from companion.score.files import PartChoice, PreparedScore, list_parts, prepare_score
from companion.score.model import Score
from companion.score.section_map import SectionMap

if TYPE_CHECKING:
    from collections.abc import Callable

    from companion.score.engraving_model import EngravedPage, EngravingSummary, Layout


@dataclass(frozen=True, slots=True, kw_only=True)
class PreparedFile:
    """A score file that was prepared.

    ``parts`` are all parts that could have been chosen, ``part`` the choice as it was asked for.
    """

    path: str
    part: str | None
    prepared: PreparedScore = field(repr=False)
    parts: tuple[PartChoice, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadedScore:
    """A score that was read, and the sections that its printed signs suggest."""

    read: ReadScore
    proposal: SectionMap = field(repr=False)


def prepare_file(path: str, part: str | None, report: Report = no_report) -> PreparedFile:
    """Prepare a score file and list its parts.

    Raises
    ------
    ScoreUnreadable
        The file is missing, broken, hostile, too large or no score.
    """
    prepared = prepare_score(path, part, report)
    return PreparedFile(path=path, part=part, prepared=prepared, parts=list_parts(path))


def read_file(file: PreparedFile, report: Report = no_report) -> LoadedScore:
    """Read a prepared file and propose its sections.

    Raises
    ------
    ScoreUnreadable
        The notation makes no sense to the reader, or the file is gone.
    """
    from companion.score.reading import read_prepared  # noqa: PLC0415 - slow, and not always needed
    from companion.score.section_proposal import propose_sections  # noqa: PLC0415

    def read(_path: str, _part: str | None, report: Report) -> Score:
        return read_prepared(file.prepared, report)

    found = read_score_file(file.path, file.part, report, read)
    return LoadedScore(read=found, proposal=propose_sections(found.score))


def engrave_file(
    file: PreparedFile,
    layout: Layout,
    report: Report = no_report,
    emit: Callable[[EngravedPage], None] = lambda _page: None,
) -> EngravingSummary:
    """Engrave a prepared file page by page."""
    from companion.score.engraving import engrave  # noqa: PLC0415 - loads the engraver

    return engrave(file.prepared.musicxml, layout, report, emit)
