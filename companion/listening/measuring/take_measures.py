"""What is measured of a take, as plain frozen values.

They are filled in by :mod:`companion.listening.measuring.measures`; what each figure means stands
in :mod:`companion.listening.definitions`, sentence by sentence.
A figure without ground is None, never zero; the ``..._count`` beside it says on how many intervals
or chords it rests.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from companion.listening.notes import Hands

if TYPE_CHECKING:  # the window shows these values; it need not load how they are measured
    from companion.listening.measuring.flow import Interruption
    from companion.listening.measuring.tempo_curve import TempoPoint


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionMeasures:
    """How one section went in a take, or in one passage of it.

    Parameters
    ----------
    section_id
        Empty for the take as a whole.
    passage
        Index of the passage, None when all passages with these hands are taken together.
    hands
        The hands that were played; a take with several choices of hands gives a row for each.
    passages
        How many passages touched the section.
    expected, right, wrong, missed, added, ornament
        Counts of notes; ``expected`` is the sum of right, wrong and missed.
    coverage
        Share (0-1) of the section's written notes, of these hands, that were passed over; endings
        that lead back are not asked for.
    complete
        Whether it was played from its first note to its last, with next to nothing left out.
    steadiness, evenness_cv
        Coefficients of variation, 0 for a machine.
    velocity_p5, velocity_p95, right_velocity, left_velocity
        MIDI key velocity: two percentiles, and the means of the hands.
    damper_share
        Share (0-1) of the time with the damper pedal down; None without a pedal in the take.
    edge_errors
        Wrong or missed top and bottom notes at the first and the last onset of the section.
    first_onset_seconds, last_onset_seconds
        When in the take the section was played.
    """

    section_id: str
    hands: Hands
    passage: int | None = None
    passages: int = 0
    expected: int = 0
    right: int = 0
    wrong: int = 0
    missed: int = 0
    added: int = 0
    ornament: int = 0
    coverage: float = 0.0
    complete: bool = False
    running_tempo_quarters_per_minute: float | None = None
    through_tempo_quarters_per_minute: float | None = None
    tempo_count: int = 0
    steadiness: float | None = None
    steadiness_count: int = 0
    evenness_sd_ms: float | None = None
    evenness_cv: float | None = None
    evenness_count: int = 0
    hesitations: int = 0
    stops: int = 0
    restarts: int = 0
    jumps: int = 0
    chord_spread_ms: float | None = None
    chord_count: int = 0
    melody_lead_ms: float | None = None
    melody_count: int = 0
    left_right_offset_ms: float | None = None
    left_right_count: int = 0
    velocity_p5: float | None = None
    velocity_p95: float | None = None
    right_velocity: float | None = None
    left_velocity: float | None = None
    damper_share: float | None = None
    edge_errors: int = 0
    first_onset_seconds: float | None = None
    last_onset_seconds: float | None = None

    @property
    def played(self) -> int:
        """Played notes that are judged: right, wrong and added ones, ornaments left out."""
        return self.right + self.wrong + self.added

    @property
    def precision(self) -> float | None:
        """Right notes as a share of the played ones; None when nothing was played."""
        return self.right / self.played if self.played else None

    @property
    def recall(self) -> float | None:
        """Right notes as a share of the expected ones; None when nothing was expected."""
        return self.right / self.expected if self.expected else None

    @property
    def accuracy(self) -> float | None:
        """F measure of precision P and recall R, 2 P R / (P + R); None without any note."""
        together = self.played + self.expected
        return 2.0 * self.right / together if together else None

    @property
    def errors_per_100(self) -> float | None:
        """Wrong, missed and added notes per 100 expected ones, a wrong key counted once."""
        if not self.expected:
            return None
        return 100.0 * (self.wrong + self.missed + self.added) / self.expected

    @property
    def errors_per_100_both_ways(self) -> float | None:
        """The same with a wrong key counted as a missed note and an added one."""
        if not self.expected:
            return None
        return 100.0 * (2 * self.wrong + self.missed + self.added) / self.expected

    @property
    def hand_balance(self) -> float | None:
        """Mean velocity of the right hand less that of the left; None for one hand alone."""
        if self.right_velocity is None or self.left_velocity is None:
            return None
        return self.right_velocity - self.left_velocity

    @property
    def dynamic_range(self) -> float | None:
        """Velocity that one note in twenty goes beyond, less that which one stays below."""
        if self.velocity_p5 is None or self.velocity_p95 is None:
            return None
        return self.velocity_p95 - self.velocity_p5


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureErrors:
    """What happened in one written measure: for the heat strip.

    ``plays`` counts the passages that went through it, ``stops`` its hesitations and stops.
    """

    measure_index: int
    plays: int = 0
    expected: int = 0
    right: int = 0
    wrong: int = 0
    missed: int = 0
    added: int = 0
    stops: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeMeasures:
    """Everything that is measured of one take.

    Parameters
    ----------
    whole
        The take as a whole, over all its passages.
    sections
        A row per section that was touched and choice of hands, on all levels, in the order of the
        map.
    passages
        The same per passage.
    whole_passages
        Each passage as a whole, over all its sections, in the order of the take.
    measures
        Error counts of the measures that were played, in rising order.
    interruptions
        Hesitations, stops, restarts and jumps in the order of time.
    tempo
        The tempo curve.
    """

    whole: SectionMeasures
    sections: tuple[SectionMeasures, ...] = ()
    passages: tuple[SectionMeasures, ...] = ()
    measures: tuple[MeasureErrors, ...] = ()
    interruptions: tuple[Interruption, ...] = ()
    tempo: tuple[TempoPoint, ...] = ()
    whole_passages: tuple[SectionMeasures, ...] = ()

    def of_section(self, section_id: str) -> tuple[SectionMeasures, ...]:
        """The rows of one section, one per choice of hands; none when it was not touched."""
        return tuple(row for row in self.sections if row.section_id == section_id)
