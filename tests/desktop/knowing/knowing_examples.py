"""Made-up standings for the tests of what is shown: c clean, x not clean, one cold take a day."""

from __future__ import annotations

from datetime import timedelta
from fractions import Fraction

from companion.desktop.knowing.filling import knowing_content
from companion.history.knowing.clean import Thresholds
from companion.history.knowing.standing import PieceStanding, SectionAsked, section_standing
from companion.history.results import Stretch
from companion.score.model import Measure, Position
from companion.score.sections.section_map import Section, SectionMap
from tests.unit.history.knowing.knowing_examples import FIRST_DAY, attempts_on_days

TODAY = FIRST_DAY + timedelta(days=20)
DAYS = {"Opening": "xcccc", "Trio": "ccc x x", "Bridge": "x cc", "Close": "", "Coda": "ccc"}
SECTIONS = tuple(
    Section(section_id=name, name=name, start=Position(8 * n), end=Position(8 * n + 8))
    for n, name in enumerate(DAYS)
)
MAP = SectionMap(sections=SECTIONS)
MEASURES = tuple(
    Measure(
        index=n,
        number=str(n + 1),
        start_quarters=Fraction(4 * n),
        duration_quarters=Fraction(4),
    )
    for n in range(8 * len(DAYS))
)
HARDNESS = {name: float(n) for n, name in enumerate(DAYS)}


def a_standing(days=None, rules=None):
    days = DAYS if days is None else days
    limits = rules or Thresholds()
    return PieceStanding(
        today=TODAY,
        rules=limits,
        sections=tuple(
            section_standing(
                SectionAsked(
                    section_id=section.section_id,
                    name=section.name,
                    stretch=Stretch.of(section),
                    target_quarters_per_minute=100.0,
                ),
                attempts_on_days(days.get(section.name, "")),
                TODAY,
                rules=limits,
            )
            for section in SECTIONS
        ),
    )


def a_content(days=None, **more):
    return knowing_content(a_standing(days), MAP, MEASURES, **({"hardness": HARDNESS} | more))
