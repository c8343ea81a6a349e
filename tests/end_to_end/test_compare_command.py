"""``companion compare`` on sample scores, with a simulated pianist whose mistakes are known."""

import json
from collections import Counter

import pytest

from companion import command_line
from companion.demo.performance import BreakKind
from companion.demo.pianist import SimulatedPianist
from companion.demo.skill import CONCERT, FIRST_READING, FLAWLESS
from companion.listening.notes import Beginning, Verdict
from companion.midi.files import write_take
from companion.resources import sample_scores_folder
from companion.score.reading.reader import read_score

SCORE = sample_scores_folder() / "the_footbridge.musicxml"
STUDY = sample_scores_folder() / "study_in_d_minor.musicxml"


@pytest.fixture(scope="module")
def score():
    return read_score(SCORE)


@pytest.fixture(scope="module")
def study():
    return read_score(STUDY)


def compared(performance, tmp_path, capsys, path=SCORE):
    take = tmp_path / "take.mid"
    write_take(take, performance.events)
    assert command_line.main(["compare", str(path), str(take), "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def totals(document):
    counts = Counter(note["verdict"] for note in document["notes"])
    counts["missed"] = len(document["missed"])
    return counts


def test_a_flawless_take_is_flawless(score, tmp_path, capsys):
    performance = SimulatedPianist(score, seed=5).play(FLAWLESS)
    document = compared(performance, tmp_path, capsys)
    assert totals(document) == {"right": len(performance.notes), "missed": 0}
    for section in document["sections"]:
        assert section["accuracy"] == 1.0
        assert (section["stops"], section["restarts"]) == (0, 0)
        assert section["running_tempo_qpm"] == pytest.approx(
            performance.quarters_per_minute, rel=0.06
        )
        assert 0.0 < section["steadiness"] < 0.1


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_known_mistakes_are_found(score, seed, tmp_path, capsys):
    performance = SimulatedPianist(score, seed=seed).play(CONCERT)
    found = totals(compared(performance, tmp_path, capsys))
    assert found["wrong"] == pytest.approx(performance.count(Verdict.WRONG), abs=1)
    assert found["missed"] == pytest.approx(len(performance.left_out), abs=1)
    assert found["added"] == pytest.approx(performance.count(Verdict.ADDED), abs=1)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_known_breaks_in_running_music_are_found(study, seed, tmp_path, capsys):
    performance = SimulatedPianist(study, seed=seed).play(FIRST_READING, to_measure_index=31)
    document = compared(performance, tmp_path, capsys, STUDY)
    meant_stops = sum(b.kind is BreakKind.STOP for b in performance.breaks)
    meant_restarts = sum(p.began_with is Beginning.RESTART for p in performance.passages)
    restarts = [p for p in document["passages"] if p["began_with"] == "restart"]
    # a hesitation on a whole beat may well be longer than a beat and a half: a stop for us
    stops = sum(section["stops"] for section in document["sections"])
    breaks = stops + sum(section["hesitations"] for section in document["sections"])
    assert len(restarts) == pytest.approx(meant_restarts, abs=1)
    assert meant_stops - 1 <= stops <= meant_stops + 2
    assert breaks == pytest.approx(len(performance.breaks), abs=2)


def test_the_table_is_printed_for_the_same_take(score, tmp_path, capsys):
    take = tmp_path / "take.mid"
    write_take(take, SimulatedPianist(score, seed=1).play(CONCERT).events)
    assert command_line.main(["compare", str(SCORE), str(take)]) == 0
    printed = capsys.readouterr().out
    for section in ("A ", "B ", "C ", "Whole take"):
        assert any(line.startswith(section) for line in printed.splitlines())


@pytest.mark.parametrize(
    "path", sorted(sample_scores_folder().glob("*.musicxml")), ids=lambda p: p.stem
)
def test_every_sample_score_has_a_section_map(path, capsys):
    assert command_line.main(["sections", str(path), "--json"]) == 0
    sections = json.loads(capsys.readouterr().out)["sections"]
    top = [section for section in sections if section["level"] == 0]
    assert len(top) >= 2
    assert [s["end"] for s in top[:-1]] == [s["start"] for s in top[1:]]
    assert all(section["why"] for section in sections)
