"""Plays the demo takes anew: ``python -m companion.demo.make_takes``.

Only for developers, after a sample score or the simulated pianist has changed. The files are the
same on every machine; a test compares them with what this module plays.
"""

from __future__ import annotations

import sys
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

from companion.demo.performance import Performance
from companion.demo.pianist import SimulatedPianist
from companion.demo.plan import (
    BEGINNING,
    PLANS,
    SETTLED,
    PiecePlan,
    PlannedTake,
    measures_of_section,
    trouble_by_measure,
)
from companion.demo.skill import Skill, learnt_share
from companion.demo.takes import EXAMPLE_NAME
from companion.midi.files import write_take
from companion.resources import sample_scores_folder
from companion.score.model import Score
from companion.score.reading.reader import read_score

_PAUSE = timedelta(minutes=2)
_ANY_DATE = date(2000, 1, 1)
_EXAMPLE_SHARE = 0.72  # middling: some of everything that can happen in a take


@dataclass(frozen=True, slots=True, kw_only=True)
class MadeTake:
    """A demo take with its file name and its truth."""

    name: str
    planned: PlannedTake
    days_before: int
    performance: Performance


def play_plan(score: Score, stem: str, plan: PiecePlan) -> Iterator[MadeTake]:
    """Play everything in a plan, in order; the example take comes last."""
    trouble = trouble_by_measure(score, plan)
    takes_before, last_day = 0, plan.days[0].days_before
    for day in plan.days:
        begins = datetime.combine(_ANY_DATE, day.begins)
        for planned in day.takes:
            learnt = learnt_share(takes_before, last_day - day.days_before)
            pianist = _pianist(score, f"{stem} {takes_before}", trouble, plan)
            performance = _play(pianist, score, planned, BEGINNING.towards(SETTLED, learnt))
            yield MadeTake(
                name=f"{day.days_before:02}-days-before-at-{begins:%H%M}.mid",
                planned=planned,
                days_before=day.days_before,
                performance=performance,
            )
            begins += timedelta(seconds=performance.notes[-1].onset_seconds) + _PAUSE
            takes_before += 1
            last_day = day.days_before
    pianist = _pianist(score, f"{stem} example", trouble, plan)
    skill = BEGINNING.towards(SETTLED, _EXAMPLE_SHARE)
    yield MadeTake(
        name=EXAMPLE_NAME,
        planned=PlannedTake(),
        days_before=0,
        performance=_play(pianist, score, PlannedTake(), skill),
    )


def make_demo_takes(scores: Path, takes: Path) -> list[Path]:
    """Write the demo takes of all planned sample scores; returns the files."""
    written: list[Path] = []
    for stem, plan in PLANS.items():
        score = read_score(scores / f"{stem}.musicxml")
        folder = takes / stem
        folder.mkdir(parents=True, exist_ok=True)
        for made in play_plan(score, stem, plan):
            path = folder / made.name
            write_take(path, made.performance.events, title=f"Demo data: {score.title}")
            written.append(path)
        for stale in set(folder.glob("*.mid")) - set(written):
            stale.unlink()
    return written


def _pianist(
    score: Score, seed_text: str, trouble: dict[int, float], plan: PiecePlan
) -> SimulatedPianist:
    seed = zlib.crc32(seed_text.encode())
    return SimulatedPianist(score, seed=seed, trouble=trouble, pedal=plan.pedal)


def _play(
    pianist: SimulatedPianist, score: Score, planned: PlannedTake, skill: Skill
) -> Performance:
    if not planned.section:
        return pianist.play(skill, hands=planned.hands)
    first, last = measures_of_section(score, planned.section)
    return pianist.play(skill, hands=planned.hands, from_measure_index=first, to_measure_index=last)


if __name__ == "__main__":
    folder = sample_scores_folder()
    files = make_demo_takes(folder, folder / "takes")
    total_kilobytes = sum(path.stat().st_size for path in files) // 1000
    sys.stdout.write(f"{len(files)} demo takes, {total_kilobytes} kB\n")
