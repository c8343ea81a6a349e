"""How long reading takes, and whether every sounding note of real scores is read.

Run: ``python -m tests.benchmarks.reading``. Prints seconds and ratios; asserts nothing that is
timed. The large score is one of the project's samples, repeated until it has about 9,000 notes.
"""

from __future__ import annotations

import copy
import os
import statistics
import tempfile
import time
import warnings
from collections import Counter
from pathlib import Path

from lxml import etree

from companion.processes.messages import Done, Failed, Part
from companion.processes.worker import WorkerProcess
from companion.progress import no_report
from companion.resources import sample_scores_folder
from companion.score.reading.prepare import prepare_score
from companion.score.reading.reader import read_prepared, read_score
from tests.golden.counted_from_xml import attacks, part_of
from tests.golden.test_real_scores import REAL_SCORES, music21_corpus, samples

NOTES = 9_000


def large_score(folder):
    """Write a score of about 9,000 noteheads."""
    tree = etree.parse(str(sample_scores_folder() / "study_in_d_minor.musicxml"))
    part = tree.getroot().find("part")
    measures = list(part)
    while len(part.findall("measure/note/pitch")) < NOTES:
        part.extend([copy.deepcopy(measure) for measure in measures])
    path = Path(folder) / "large.musicxml"
    tree.write(str(path), encoding="UTF-8", xml_declaration=True)
    return path


def seconds(work, times=3):
    """Median wall and CPU seconds."""
    walls, cpus = [], []
    for _ in range(times):
        wall, cpu = time.perf_counter(), time.process_time()
        work()
        walls.append(time.perf_counter() - wall)
        cpus.append(time.process_time() - cpu)
    return statistics.median(walls), statistics.median(cpus)


def prepare_then_read(path, report=no_report, emit=no_report):
    started = time.perf_counter()
    prepared = prepare_score(path, None, report)
    emit(time.perf_counter() - started)
    started = time.perf_counter()
    score = read_prepared(prepared, report)
    emit(time.perf_counter() - started)
    return score


def in_the_child(path):
    """Read in a warm worker process and watch how long the parent's thread is held up."""
    from tests.benchmarks.reading import prepare_then_read as task  # by a name the child finds

    preload = ("companion.score.reading.reader", "music21.musicxml.xmlToM21")
    with WorkerProcess("reader", preload=preload) as worker:
        worker.submit(os.getpid).result()  # warm
        started = time.perf_counter()
        job = worker.submit(task, path)
        inside, longest_poll, longest_gap = [], 0.0, 0.0
        last = time.perf_counter()
        while True:
            before = time.perf_counter()
            messages = job.poll()
            after = time.perf_counter()
            longest_poll = max(longest_poll, after - before)
            longest_gap = max(longest_gap, after - last)
            last = after
            inside.extend(message.value for message in messages if isinstance(message, Part))
            if any(isinstance(message, Done | Failed) for message in messages):
                break
            time.sleep(0.001)  # what an event loop does between events
        return time.perf_counter() - started, inside, longest_poll, longest_gap


def speeds(path):
    import partitura
    from music21 import converter

    prepared = prepare_score(path)
    notes = len(read_prepared(prepared).notes)
    print(f"one score of {notes} notes, {path.stat().st_size / 1e6:.1f} MB; seconds (wall / CPU)")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        table = {
            "prepare": lambda: prepare_score(path),
            "read (prepared)": lambda: read_prepared(prepared),
            "music21 parse alone": lambda: converter.parse(path, forceSource=True),
            "partitura load alone": lambda: partitura.load_score(str(path)),
        }
        measured = {
            name: seconds(work, 3 if "alone" not in name else 1) for name, work in table.items()
        }
    for name, (wall, cpu) in measured.items():
        print(f"  {name:22} {wall:6.2f} / {cpu:5.2f}")
    ours = measured["prepare"][1] + measured["read (prepared)"][1]
    for name in ("music21 parse alone", "partitura load alone"):
        print(f"  prepare and read / {name}: {ours / measured[name][1]:.2f} of its CPU time")
    total, inside, poll, gap = in_the_child(path)
    print(
        f"  in a warm child: prepared after {inside[0]:.2f}, read in {inside[1]:.2f}, "
        f"there after {total:.2f}; longest poll {poll * 1000:.1f} ms, "
        f"longest gap of the parent's loop {gap * 1000:.0f} ms"
    )


def every_note():
    print(f"\n{'score':45} {'in the file':>11} {'read':>6} {'seconds':>8}")
    missing = 0
    paths = [Path(music21_corpus) / name for name in REAL_SCORES] + samples()
    for path in paths:
        started = time.perf_counter()
        score = read_score(path)
        took = time.perf_counter() - started
        prepared = prepare_score(path)
        starts = [measure.start_quarters for measure in score.measures]
        counted = attacks(part_of(path, prepared.part_id), starts)
        read = Counter(
            (note.measure_index, note.measure_offset_quarters, note.pitch)
            for note in score.notes
            if note.expected
        )
        differing = (counted - read).total() + (read - counted).total()
        missing += differing
        name = "/".join(path.parts[-2:])
        mark = "" if not differing else f"  {differing} differ"
        print(f"{name:45} {counted.total():11} {read.total():6} {took:8.2f}{mark}")
    print(f"{len(paths)} scores, {missing} notes differ in measure, offset or pitch")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        speeds(large_score(folder))
    every_note()
