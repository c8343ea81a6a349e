"""What the page of the days shows, as plain values: whoever knows the history fills them in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from fractions import Fraction

from companion.history.days import zone_named
from companion.history.model import Take
from companion.history.summaries import SectionDay, SectionSummary
from companion.listening.measuring.take_measures import MeasureErrors
from companion.listening.notes import Hands


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionDays:
    """A section and how it went on each day.

    ``from_measure_index`` up to ``to_measure_index`` (not included) are its measures, ``span`` the
    same as printed, "65–88"; ``target_quarters_per_minute`` is its own target or that of the score.
    """

    section_id: str
    name: str
    span: str
    level: int
    from_measure_index: int
    to_measure_index: int
    summary: SectionSummary
    beat_quarters: Fraction
    beat_name: str
    target_quarters_per_minute: float | None

    def day(self, wanted: date) -> SectionDay | None:
        """The figures of one day: both hands when it was played so, else one hand."""
        found = None
        for figures in self.summary.days:
            if figures.day == wanted:
                if figures.hands is Hands.BOTH:
                    return figures
                found = found or figures
        return found

    def beats_per_minute(self, quarters_per_minute: float) -> float:
        """A tempo in the beats of this section."""
        return quarters_per_minute / float(self.beat_quarters)


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeRow:
    """A take as one line of the list.

    ``measures`` says what it covered ("1-24"); figures are those of the whole take, None while it
    is not worked out yet. ``section_ids`` are the sections it touched.
    """

    take: Take
    day: date
    measures: str = ""
    section_ids: frozenset[str] = frozenset()
    hands: Hands | None = None
    accuracy: float | None = None
    expected: int = 0
    beats_per_minute: float | None = None
    stops: int = 0
    restarts: int = 0

    @property
    def local_start(self) -> datetime:
        """When it began, on the clock of the wall where it was played."""
        return self.take.started_at.astimezone(zone_named(self.take.zone))


@dataclass(frozen=True, slots=True, kw_only=True)
class DayMeasures:
    """Errors per measure on one practice day."""

    day: date
    measures: tuple[MeasureErrors, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DaysContent:
    """Everything on the page for one piece: sections in order of the map, takes newest first.

    ``tasks`` are parts of sections that have a history of their own, under the ids of the tasks.
    ``since`` is the moment before which takes are left out, None when these are all.
    """

    sections: tuple[SectionDays, ...] = ()
    takes: tuple[TakeRow, ...] = ()
    day_measures: tuple[DayMeasures, ...] = ()
    measure_numbers: tuple[str, ...] = ()
    today: date | None = None
    tasks: tuple[SectionDays, ...] = ()
    since: datetime | None = None

    @property
    def days(self) -> tuple[date, ...]:
        """Days with any take, in rising order."""
        return tuple(sorted({row.day for row in self.takes}))

    def section(self, section_id: str | None) -> SectionDays | None:
        """Look a section up."""
        return next((s for s in self.sections if s.section_id == section_id), None)

    def takes_of(self, section_id: str | None) -> tuple[TakeRow, ...]:
        """Takes that touched a section, all takes for None."""
        if section_id is None:
            return self.takes
        return tuple(row for row in self.takes if section_id in row.section_ids)

    def errors_in(self, section: SectionDays | None) -> Iterator[tuple[date, list[MeasureErrors]]]:
        """Per day the measures of a section (of the piece for None) that were played."""
        for day_measures in self.day_measures:
            inside = [
                result
                for result in day_measures.measures
                if section is None
                or section.from_measure_index <= result.measure_index < section.to_measure_index
            ]
            if inside:
                yield day_measures.day, inside
