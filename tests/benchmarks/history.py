"""How long a piece with a long history takes to open: 2,000 takes with 500,000 notes.

Usage: python -m tests.benchmarks.history [--takes N] [--notes N] [--keep FILE] [--ten-years]

A seeded generator builds a history file of demo takes (invented, half a year of practice on one
piece of 160 measures in 16 sections under 4 headings), then each step of opening is timed in a
process whose caches are warm, and compared with the plainest thing that could be done with the same
file: reading all raw blobs of its takes. The target is 0.5 s for everything the map needs.

``--ten-years`` builds ten years of daily practice instead: 20,000 short takes, each coming through
one to all sixteen sections. There the target is a second, for what is known since when as well.
"""

from __future__ import annotations

import argparse
import random
import sqlite3
import statistics
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from pathlib import Path

from companion.desktop.wiring.shown_history import Question, read_days, read_map
from companion.history.fingerprints import fingerprint
from companion.history.knowing.attempts import Attempt
from companion.history.knowing.clean import Thresholds
from companion.history.knowing.standing import PieceStanding
from companion.history.model import Piece, RawEvent, Take, TakeSource
from companion.history.results import SectionResult, Stretch, TakeResults, stretches_of
from companion.history.summaries import heat_strip, summarise_sections
from companion.listening.measuring.take_measures import MeasureErrors
from companion.listening.notes import (
    Beginning,
    Hands,
    JudgedNote,
    Match,
    MissedNote,
    Passage,
    Verdict,
)
from companion.practice.knowing import KnowingAsked, piece_standing
from companion.practice.standing import NEWEST_TAKES
from companion.score.model import Measure, Position, Score
from companion.score.sections.section_map import Section, SectionMap
from companion.storage.backups import copy_soundly
from companion.storage.history_file import HistoryFile

SEED = 20260302
MEASURES = 160
NOTES_PER_MEASURE = 25
LEAVES = 16
HEADINGS = 4
BASIS = "benchmark"
TODAY = date(2026, 3, 2)
TARGET_SECONDS = 0.5
TEN_YEARS_TAKES = 20_000
TEN_YEARS_DAYS = 3652
TEN_YEARS_TARGET_SECONDS = 1.0
RUNS = 7


def demo_section_map() -> SectionMap:
    """Sixteen sections of ten measures under four headings."""
    wide, narrow = MEASURES // HEADINGS, MEASURES // LEAVES
    sections = []
    for heading in range(HEADINGS):
        start = heading * wide
        sections.append(_section(f"h{heading}", f"Part {heading + 1}", start, start + wide, None))
        sections += [
            _section(f"s{at}", f"Measures {at + 1}", at, at + narrow, f"h{heading}")
            for at in range(start, start + wide, narrow)
        ]
    return SectionMap(sections=tuple(sections))


def demo_score() -> Score:
    """The measures of the piece; nothing here needs its notes."""
    measures = (
        Measure(
            index=index,
            number=str(index + 1),
            start_quarters=Fraction(4 * index),
            duration_quarters=Fraction(4),
        )
        for index in range(MEASURES)
    )
    return Score(title="Demo piece", composer="nobody", measures=tuple(measures), notes=())


def _section(section_id: str, name: str, start: int, end: int, parent: str | None) -> Section:
    return Section(
        section_id=section_id,
        name=name,
        start=Position(start),
        end=Position(end),
        parent_id=parent,
    )


def demo_take(rng: random.Random, number: int, takes: int, notes: int, days: int = 182) -> Take:
    """A take of random keys, at a random minute of some afternoon, half a year by default."""
    began = datetime(2026, 3, 2, 13, tzinfo=UTC) - timedelta(
        days=days - number * days // takes, minutes=rng.uniform(0, 300)
    )
    events, at = [], 0.0
    for _ in range(notes):
        at += rng.expovariate(8.0)
        pitch, velocity = rng.randrange(30, 95), rng.randrange(30, 100)
        events.append(RawEvent(at, bytes((0x90, pitch, velocity))))
        events.append(RawEvent(at + 0.1, bytes((0x80, pitch, 64))))
    return Take(
        take_id=f"take{number:05}",
        piece_id="piece",
        started_at=began,
        zone="Europe/Berlin",
        source=TakeSource.DEMO,
        duration_seconds=at + 0.1,
        note_count=notes,
        events=tuple(events),
        content_hash=fingerprint(events),
    )


def demo_results(
    rng: random.Random, take: Take, section_map: SectionMap, notes: int
) -> TakeResults:
    """Results as a take of that many notes has them: its measures and the sections they touch."""
    return _results(rng, take, section_map, max(1, notes // NOTES_PER_MEASURE))


def _results(rng: random.Random, take: Take, section_map: SectionMap, length: int) -> TakeResults:
    first = rng.randrange(0, MEASURES - length + 1)
    last = first + length
    touched = [s for s in section_map.sections if s.start.measure_index < last]
    touched = [s for s in touched if s.end.measure_index > first]
    hands = rng.choices(list(Hands), weights=[6, 1, 1])[0]
    return TakeResults(
        take_id=take.take_id,
        basis=BASIS,
        stretches=stretches_of(section_map),
        sections=tuple(_result(rng, take, Stretch.of(s), hands) for s in touched),
        measures=tuple(
            MeasureErrors(measure_index=m, plays=1, expected=25, right=24, wrong=1)
            for m in range(first, last)
        ),
        match=_match(take, first),
        attempts={Stretch.of(s): _attempt(rng, take, hands) for s in touched},
    )


def _attempt(rng: random.Random, take: Take, hands: Hands) -> Attempt:
    complete = rng.random() < 0.6
    return Attempt(
        take_id=take.take_id,
        started_at=take.started_at,
        zone=take.zone,
        hands=hands,
        coverage=1.0 if complete else rng.random(),
        complete=complete,
        began_again=rng.random() < 0.1,
        expected=250,
        wrong=rng.randrange(4),
        missed=rng.randrange(3),
        added=0,
        edge_errors=0,
        stops=int(rng.random() < 0.1),
        running_tempo_quarters_per_minute=rng.uniform(90, 120),
    )


def _result(rng: random.Random, take: Take, stretch: Stretch, hands: Hands) -> SectionResult:
    return SectionResult(
        take_id=take.take_id,
        stretch=stretch,
        started_at=take.started_at,
        zone=take.zone,
        hands=hands,
        passages=1,
        coverage=1.0,
        complete=rng.random() < 0.6,
        expected=250,
        right=240,
        wrong=4,
        missed=6,
        added=2,
        ornament=0,
        accuracy=rng.uniform(0.8, 1.0),
        running_tempo_quarters_per_minute=rng.uniform(60, 120),
        through_tempo_quarters_per_minute=rng.uniform(50, 110),
        steadiness=rng.uniform(0.04, 0.2),
        evenness_sd_ms=rng.uniform(8, 30),
        evenness_cv=rng.uniform(0.08, 0.2),
        hesitations=rng.randrange(3),
        stops=rng.randrange(2),
        restarts=rng.randrange(2),
        jumps=0,
        chord_spread_ms=rng.uniform(10, 50),
        melody_lead_ms=rng.uniform(-5, 30),
        left_right_offset_ms=rng.uniform(-20, 20),
        velocity_p5=rng.uniform(30, 50),
        velocity_p95=rng.uniform(70, 100),
        hand_balance=rng.uniform(-5, 15),
        damper_share=None,
        edge_errors=rng.randrange(2),
    )


def _match(take: Take, first_measure: int) -> Match:
    struck = [event for event in take.events if event.message[0] == 0x90]
    notes = tuple(
        JudgedNote(
            played=index,
            onset_seconds=event.at_seconds,
            pitch=event.message[1],
            verdict=Verdict.RIGHT if index % 25 else Verdict.WRONG,
            passage=0,
            score_index=first_measure * NOTES_PER_MEASURE + index,
            note_id=f"n{first_measure * NOTES_PER_MEASURE + index}",
            measure_index=first_measure + index // NOTES_PER_MEASURE,
            offset_quarters=Fraction(index % NOTES_PER_MEASURE, 6),
            expected_pitch=event.message[1] if index % 25 else event.message[1] + 1,
        )
        for index, event in enumerate(struck)
    )
    missed = MissedNote(
        score_index=first_measure * NOTES_PER_MEASURE,
        note_id="n0",
        measure_index=first_measure,
        offset_quarters=Fraction(0),
        pitch=60,
        passage=0,
        before_played=3,
    )
    passage = Passage(
        index=0,
        first_played=0,
        last_played=len(notes) - 1,
        from_quarters=Fraction(first_measure * 4),
        to_quarters=Fraction(first_measure * 4 + 40),
        from_measure_index=first_measure,
        to_measure_index=first_measure + len(notes) // NOTES_PER_MEASURE,
        hands=Hands.BOTH,
        began_with=Beginning.START,
    )
    return Match(notes=notes, missed=(missed,) * 6, passages=(passage,))


def build(path: Path, takes: int, notes: int) -> None:
    """Build the history file."""
    rng = random.Random(SEED)
    section_map = demo_section_map()
    with HistoryFile(path) as history:
        history.save_piece(
            Piece(piece_id="piece", title="Demo piece", composer="nobody", score_hash="none")
        )
        history.save_section_map("piece", section_map)
        for begin in range(0, takes, 100):
            batch = [
                demo_take(rng, number, takes, notes)
                for number in range(begin, min(begin + 100, takes))
            ]
            history.save_takes(batch)
            history.save_results(demo_results(rng, take, section_map, notes) for take in batch)


def build_ten_years(path: Path) -> None:
    """Build ten years of daily practice: many short takes, the results of longer ones."""
    rng = random.Random(SEED)
    section_map = demo_section_map()
    with HistoryFile(path) as history:
        history.save_piece(
            Piece(piece_id="piece", title="Demo piece", composer="nobody", score_hash="none")
        )
        history.save_section_map("piece", section_map)
        for begin in range(0, TEN_YEARS_TAKES, 500):
            batch = [
                demo_take(rng, number, TEN_YEARS_TAKES, 8, TEN_YEARS_DAYS)
                for number in range(begin, begin + 500)
            ]
            history.save_takes(batch)
            history.save_results(
                _results(rng, take, section_map, rng.choice([10, 10, 20, 40, MEASURES]))
                for take in batch
            )


def read_all_blobs(path: Path) -> int:
    """Read the raw events of all takes, the plainest use of the file; returns their bytes."""
    with closing(sqlite3.connect(path)) as connection:
        rows = connection.execute("SELECT events FROM take_events")
        return sum(len(events) for (events,) in rows)


def timed(name: str, step: Callable[[], object]) -> float:
    """Print the times of several runs and return the median, in seconds.

    The fastest run and the time of the processor tell a slow program from a busy machine.
    """
    times, busy = [], []
    for _ in range(RUNS):
        start, start_busy = time.perf_counter(), time.process_time()
        step()
        times.append(time.perf_counter() - start)
        busy.append(time.process_time() - start_busy)
    middle = statistics.median(times)
    print(
        f"{name:<58} median {middle:7.4f} s, fastest {min(times):7.4f}, slowest {max(times):7.4f}, "
        f"processor {statistics.median(busy):7.4f}"
    )
    return middle


def open_all(path: Path) -> None:
    """Everything from the closed file to what the map needs."""
    with HistoryFile(path) as history:
        history.shelf()
        section_map = history.section_map("piece")
        assert section_map is not None
        read_map(history, question_about(section_map))


def question_about(section_map: SectionMap) -> Question:
    """What the window asks of the history."""
    return Question(
        piece_id="piece",
        basis=BASIS,
        score=demo_score(),
        section_map=section_map,
        today=TODAY,
        zone="Europe/Berlin",
        day_starts_at_hour=4,
    )


def read_standings(history: HistoryFile, section_map: SectionMap) -> PieceStanding:
    """Since when everything is known, from the open file."""
    asked = KnowingAsked(
        piece_id="piece",
        basis=BASIS,
        score=demo_score(),
        section_map=section_map,
        today=TODAY,
        performance=date(2026, 3, 20),
    )
    return piece_standing(history, asked)


def main() -> None:
    """Build, time and print."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--takes", type=int, default=2000)
    parser.add_argument("--notes", type=int, default=250, help="notes per take")
    parser.add_argument("--ten-years", action="store_true", help="20,000 short takes")
    parser.add_argument("--keep", type=Path, help="build this file, or use it when it exists")
    arguments = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        path = arguments.keep or Path(folder) / "history.sqlite3"
        if not path.exists():
            start = time.perf_counter()
            if arguments.ten_years:
                build_ten_years(path)
            else:
                build(path, arguments.takes, arguments.notes)
            print(f"built in {time.perf_counter() - start:.1f} s (not part of the figures)")
        measure(path, ten_years=arguments.ten_years)


def time_all_rows(history: HistoryFile, stretches: tuple[Stretch, ...]) -> None:
    """Time what is read of all takes."""
    rows = history.section_results("piece", BASIS, stretches)
    timed(
        f"(all figures of all sections, not for opening: {len(rows)} rows)",
        lambda: history.section_results("piece", BASIS, stretches),
    )
    glances = history.section_glances("piece", BASIS, stretches)
    timed(
        f"(section_glances of all takes: {len(rows)} rows)",
        lambda: history.section_glances("piece", BASIS, stretches),
    )
    timed("(summarise_sections of all takes)", lambda: summarise_sections(glances))


def measure(path: Path, *, ten_years: bool = False) -> None:
    """Time every step of opening."""
    target_seconds = TEN_YEARS_TARGET_SECONDS if ten_years else TARGET_SECONDS
    section_map = demo_section_map()
    stretches = stretches_of(section_map)
    print(f"{path.stat().st_size / 1e6:.1f} MB, seed {SEED}")
    blobs = timed("raw: reading all blobs of raw events", lambda: read_all_blobs(path))
    whole = timed("opening: file, shelf, map with lanes, since when", lambda: open_all(path))
    print(f"{'':<58} {whole / blobs:8.2f} x the raw reading")
    print(f"{'':<58} {'reached' if whole < target_seconds else 'MISSED'}: {target_seconds} s")
    with HistoryFile(path) as history:
        timed("  takes_of, the newest", lambda: history.takes_of("piece", newest=NEWEST_TAKES))
        if not ten_years:  # the window never asks for all of so many
            time_all_rows(history, stretches)
        if not ten_years:
            timed("  heat strip", lambda: heat_strip(history.measure_counts("piece", BASIS)))
        timed("  missing_stretches", lambda: history.missing_stretches("piece", BASIS, stretches))
        played = history.played_stretches("piece", BASIS, stretches, 4)
        cold = sum(len(each.judged(None, Thresholds())) for each in played.values())
        timed(
            f"  played_stretches ({cold} cold takes)",
            lambda: history.played_stretches("piece", BASIS, stretches, 4),
        )
        timed("  standing of every section", lambda: read_standings(history, section_map))
        question = question_about(section_map)
        map_shown = read_map(history, question)
        timed("window: lanes of the map", lambda: read_map(history, question))
        timed("window: then the page of the days", lambda: read_days(history, map_shown))
        timed("one take with its events", lambda: history.take("take01000"))
        timed("one match", lambda: history.match_of("take01000", BASIS))
    with tempfile.TemporaryDirectory() as folder:
        timed(
            "copy of the day (in a thread, after the start)",
            lambda: copy_soundly(path, Path(folder) / "copy.sqlite3"),
        )


if __name__ == "__main__":
    main()
