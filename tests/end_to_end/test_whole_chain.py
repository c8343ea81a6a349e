"""From keys pressed to the table of sections: piano process, real port, listener, history, match.

The simulated pianist knows what it meant by every note; the program must come to the same.
"""

import itertools
import os
import signal
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path

import pytest

from companion.demo.pianist import SimulatedPianist
from companion.demo.plan import measures_of_section
from companion.demo.skill import Skill
from companion.listening.notes import Verdict
from companion.midi.files import read_take, write_take
from companion.practice.basis import results_basis
from companion.practice.results import work_out_take
from companion.resources import sample_scores_folder
from companion.score.reading.reader import read_score
from companion.score.sections.proposal import propose_sections
from companion.storage.history_file import HistoryFile
from tests.end_to_end.conftest import ROOT

pytestmark = pytest.mark.ports

SCORE = sample_scores_folder() / "the_footbridge.musicxml"
SPEED = 3.0
WITH_MISTAKES = Skill(
    wrong_per_100=4.0,
    left_out_per_100=4.0,
    added_per_100=3.0,
    stops_per_100=2.0,
    restart_share=1.0,
)
KEPT_LATE_SECONDS = 0.25
"""What may be lost when the program is killed."""


class Program:
    """The program as a process of its own."""

    def __init__(self, history):
        self.process = subprocess.Popen(
            [
                sys.executable,
                str(Path(__file__).with_name("listening_program.py")),
                str(history),
                str(SCORE),
            ],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env=os.environ | {"PYTHONPATH": str(ROOT)},
        )

    def wait_for(self, fact):
        """Read until the fact is told; the rest of its line."""
        for line in self.process.stdout:
            if line.split()[0] == fact:
                return line.split()[1:]
        raise AssertionError(f"the program ended without “{fact}”")

    def close(self):
        self.process.communicate(timeout=20)

    def kill(self):
        """End it as a power cut would, wherever it is."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait(10)
        self.process.stdin.close()
        self.process.stdout.close()


@pytest.fixture
def start_program(jack_server, tmp_path):
    programs = []

    def start():
        programs.append(Program(tmp_path / "history.db"))
        return programs[-1]

    yield start
    for program in programs:
        if program.process.returncode is None:
            program.kill()


@pytest.fixture(scope="module")
def score():
    return read_score(SCORE)


@pytest.fixture(scope="module")
def performance(score):
    first, last = measures_of_section(score, "B")
    return SimulatedPianist(score, seed=13).play(
        WITH_MISTAKES, from_measure_index=first, to_measure_index=last
    )


def test_the_pianist_of_these_tests_makes_every_kind_of_mistake(performance):
    assert performance.count(Verdict.WRONG)
    assert performance.count(Verdict.ADDED)
    assert performance.left_out
    assert len(performance.passages) > 1


def test_what_is_stored_judged_and_measured_is_what_was_played(
    score, performance, plug_in, start_program, tmp_path
):
    write_take(tmp_path / "played.mid", performance.events)
    piano, program = plug_in(), start_program()
    program.wait_for("connected")
    sent = piano.do(f"play {tmp_path / 'played.mid'} {SPEED}")
    (take_id,) = program.wait_for("saved")
    program.close()

    with HistoryFile(tmp_path / "history.db") as history:
        take = history.take(take_id)
    written = read_take(tmp_path / "played.mid").events
    assert [e.message for e in take.events] == [e.message for e in written]
    stored = [e.at_seconds for e in take.events]
    late_ms = sorted(
        1000 * abs((b - a) - (d - c))
        for (a, b), (c, d) in zip(itertools.pairwise(stored), itertools.pairwise(sent), strict=True)
    )
    assert late_ms[len(late_ms) // 2] < 3.0

    section_map = propose_sections(score)
    worked_out = work_out_take(score, section_map, take, results_basis(score))
    verdicts = Counter(note.verdict for note in worked_out.match.notes)
    assert verdicts == Counter(meant.verdict for meant in performance.truth)
    assert sorted(n.score_index for n in worked_out.match.missed) == sorted(
        n.score_index for n in performance.left_out
    )
    meant_passages = [(p.from_measure_index, p.began_with) for p in performance.passages]
    found = [(p.from_measure_index, p.began_with) for p in worked_out.match.passages]
    assert found == meant_passages

    (section,) = [s for s in section_map.sections if s.name == "B"]
    (row,) = [r for r in worked_out.measures.sections if r.section_id == section.section_id]
    assert row.right == performance.count(Verdict.RIGHT)
    assert row.wrong == performance.count(Verdict.WRONG)
    assert row.added == performance.count(Verdict.ADDED)
    assert row.missed == len(performance.left_out)
    assert row.restarts == len(performance.passages) - 1
    precision = row.right / (row.right + row.wrong + row.added)
    recall = row.right / row.expected
    assert row.accuracy == pytest.approx(2 * precision * recall / (precision + recall))
    tempo = performance.quarters_per_minute * SPEED
    assert row.running_tempo_quarters_per_minute == pytest.approx(tempo, rel=0.1)


def test_a_program_that_is_killed_loses_at_most_a_quarter_of_a_second(
    performance, plug_in, start_program, tmp_path
):
    write_take(tmp_path / "played.mid", performance.events)
    written = read_take(tmp_path / "played.mid").events
    piano, program = plug_in(), start_program()
    program.wait_for("connected")
    piano.begin(f"play {tmp_path / 'played.mid'} {SPEED}")
    program.wait_for("begun")
    time.sleep(3.0)  # not a wait for something to happen: the middle of the playing
    killed_at = time.perf_counter()
    program.kill()
    sent = piano.sent()

    with HistoryFile(tmp_path / "history.db") as history:
        (take,) = history.recover_open_takes()
        assert history.take(take.take_id).recovered
    kept = [e.message for e in take.events]
    assert kept == [e.message for e in written[: len(kept)]]
    must_be_kept = sum(at < killed_at - KEPT_LATE_SECONDS for at in sent)
    assert must_be_kept > 20
    assert len(kept) >= must_be_kept
