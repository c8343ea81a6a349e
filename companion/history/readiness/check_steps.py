"""The steps of a readiness check: what is asked, drawn with a seed, in an order that tires least.

1. A run through the whole piece, first thing on the day, without stopping.
2. Starts at places drawn without replacement, half of them beginnings of sections and half
   downbeats inside sections, because beginnings look better known than they are (Chaffin & Logan
   2006). Passed when the first two measures are right and begun within two seconds (project
   convention).
3. The hardest sections in tempo.
4. Where it will be played without the score: a section from memory with the score closed.
5. Key and chord named at some places.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from random import Random

STARTS = 6
TEMPO_SECTIONS = 2
MEMORY_SECTIONS = 2
RECITED_PLACES = 4
OPENING_MEASURES = 2
OPENING_WITHIN_SECONDS = 2.0


class CheckKind(StrEnum):
    """What a step asks for."""

    RUN_THROUGH = "cold run-through"
    START = "start"
    TEMPO = "tempo"
    MEMORY = "memory"
    RECITE = "harmony"


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckSection:
    """A section of the finest division: ``rank`` is 1 for the hardest."""

    section_id: str
    name: str
    rank: int


@dataclass(frozen=True, slots=True, kw_only=True)
class StartPlace:
    """A place to start from: a downbeat with a note of its own, never a tied one or a rest.

    ``opens_section`` tells a beginning from a place inside; ``name`` is as it is shown.
    """

    measure_index: int
    section_id: str
    name: str
    opens_section: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckStep:
    """One step.

    Parameters
    ----------
    step_id
        Unique within the check.
    section_ids
        What it is about: all sections for the run-through.
    measure_index
        Where to start; None where that is the beginning of the section or the piece.
    opens_section
        For a start: whether it is the beginning of a section.
    says
        What the pianist is asked to do, one plain sentence.
    """

    step_id: str
    kind: CheckKind
    section_ids: tuple[str, ...]
    says: str
    measure_index: int | None = None
    opens_section: bool | None = None


def draw_steps(
    sections: Sequence[CheckSection],
    places: Sequence[StartPlace],
    seed: int,
    *,
    from_memory: bool = True,
    with_harmony: bool = True,
    starts: int = STARTS,
) -> tuple[CheckStep, ...]:
    """Draw the steps of a check; the same seed draws the same ones.

    Parameters
    ----------
    sections
        In the order of the piece.
    places
        Where starts are possible.
    starts
        How many are drawn, as far as there are places.
    """
    if not sections:
        return ()
    random = Random(seed)
    steps = [
        CheckStep(
            step_id="run",
            kind=CheckKind.RUN_THROUGH,
            section_ids=tuple(section.section_id for section in sections),
            says="Play the whole piece, without stopping, whatever happens.",
        )
    ]
    steps += _starts(places, random, starts)
    hardest = sorted(sections, key=lambda section: section.rank)[:TEMPO_SECTIONS]
    steps += [
        CheckStep(
            step_id=f"tempo {section.section_id}",
            kind=CheckKind.TEMPO,
            section_ids=(section.section_id,),
            says=f"Play {section.name} in the tempo of the performance.",
        )
        for section in hardest
    ]
    if from_memory:
        drawn = random.sample(list(sections), min(MEMORY_SECTIONS, len(sections)))
        steps += [
            CheckStep(
                step_id=f"memory {section.section_id}",
                kind=CheckKind.MEMORY,
                section_ids=(section.section_id,),
                says=f"Close the score and play {section.name} from memory.",
            )
            for section in drawn
        ]
    if with_harmony:
        steps += _recited(places, random)
    return tuple(steps)


def _starts(places: Sequence[StartPlace], random: Random, count: int) -> list[CheckStep]:
    """Half beginnings, half places inside; where one kind runs out the other fills up."""
    openings = [place for place in places if place.opens_section]
    inside = [place for place in places if not place.opens_section]
    random.shuffle(openings)
    random.shuffle(inside)
    first = openings[: count // 2]
    second = inside[: count - len(first)]
    first = openings[: count - len(second)]
    drawn = first + second
    random.shuffle(drawn)
    return [
        CheckStep(
            step_id=f"start {number}",
            kind=CheckKind.START,
            section_ids=(place.section_id,),
            says=f"Start at {place.name} and play on for {OPENING_MEASURES} measures or more.",
            measure_index=place.measure_index,
            opens_section=place.opens_section,
        )
        for number, place in enumerate(drawn)
    ]


def _recited(places: Sequence[StartPlace], random: Random) -> list[CheckStep]:
    drawn = random.sample(list(places), min(RECITED_PLACES, len(places)))
    return [
        CheckStep(
            step_id=f"harmony {number}",
            kind=CheckKind.RECITE,
            section_ids=(place.section_id,),
            says=f"Away from the keys: name key and chord at {place.name}.",
            measure_index=place.measure_index,
            opens_section=place.opens_section,
        )
        for number, place in enumerate(drawn)
    ]
