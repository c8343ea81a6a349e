"""The commands from the outside: output, JSON, exit status, plain sentences."""

import importlib
import json
import subprocess
import sys
from fractions import Fraction
from pathlib import Path

import pytest

from companion import __version__, command_line
from companion.errors import CompanionError
from companion.history.model import RawEvent
from companion.listening.comparison import compare, comparison_document
from companion.listening.notes import HeardNote
from companion.listening.section_table import section_table, sections_table
from companion.midi.files import write_take
from companion.resources import sample_scores_folder
from companion.score.model import Score
from companion.score.sections.proposal import propose_sections
from companion.score.sections.section_map import SectionMap
from tests.unit.listening.playing import Performance, invented_score, map_of

SCORE_XML = """<?xml version="1.0" encoding="UTF-8"?>
<score-partwise version="4.0">
  <work><work-title>Four measures, made up</work-title></work>
  <part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list>
  <part id="P1">{measures}</part>
</score-partwise>
"""
ATTRIBUTES = (
    "<attributes><divisions>1</divisions><key><fifths>0</fifths></key>"
    "<time><beats>4</beats><beat-type>4</beat-type></time>"
    "<clef><sign>G</sign><line>2</line></clef></attributes>"
)
STEPS = ("C", "E", "G", "B", "D", "F", "A", "E", "G", "C", "B", "D", "F", "D", "E", "G")
PITCHES = (60, 64, 67, 71, 62, 65, 69, 64, 67, 60, 71, 62, 65, 62, 64, 67)


@pytest.fixture
def score_path(tmp_path: Path) -> Path:
    """Four measures of quarters in C."""
    measures = "".join(
        f'<measure number="{m + 1}">{ATTRIBUTES if not m else ""}'
        + "".join(
            f"<note><pitch><step>{step}</step><octave>4</octave></pitch><duration>1</duration>"
            "<type>quarter</type></note>"
            for step in STEPS[4 * m : 4 * m + 4]
        )
        + "</measure>"
        for m in range(4)
    )
    path = tmp_path / "four.musicxml"
    path.write_text(SCORE_XML.format(measures=measures), encoding="utf-8")
    return path


@pytest.fixture
def take_path(tmp_path: Path) -> Path:
    """All sixteen notes in time, the sixth a semitone too high, the last one left out."""
    events = []
    for k, pitch in enumerate(PITCHES[:-1]):
        key = pitch + 1 if k == 5 else pitch
        events.append(RawEvent(0.5 * k, bytes([0x90, key, 70])))
        events.append(RawEvent(0.5 * k + 0.4, bytes([0x80, key, 0])))
    path = tmp_path / "take.mid"
    write_take(path, events)
    return path


def test_compare_prints_a_table_and_is_done(score_path, take_path, capsys):
    assert command_line.main(["compare", str(score_path), str(take_path)]) == 0
    printed = capsys.readouterr()
    assert printed.err == ""
    assert "Four measures, made up: 15 notes" in printed.out
    assert "Accuracy" in printed.out
    total = next(line for line in printed.out.splitlines() if line.startswith("Whole take"))
    assert total.split()[2:4] == ["15", "14"]


def test_compare_json_has_the_promised_shape(score_path, take_path, capsys):
    assert command_line.main(["compare", str(score_path), str(take_path), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert set(document) == {"score", "take", "notes", "missed", "passages", "sections"}
    assert document["score"] == {"title": "Four measures, made up", "measures": 4, "notes": 16}
    assert document["take"]["notes"] == 15
    assert document["take"]["duration_seconds"] == pytest.approx(7.4, abs=0.001)
    assert {
        "played", "onset_seconds", "pitch", "verdict", "note_id", "measure", "measure_index",
        "offset_quarters", "expected_pitch", "passage",
    } <= set(document["notes"][0])  # fmt: skip
    assert {
        "name", "from_measure", "to_measure", "expected", "right", "wrong", "missed", "added",
        "accuracy", "running_tempo_qpm", "through_tempo_qpm", "steadiness", "stops", "restarts",
    } <= set(document["sections"][0])  # fmt: skip
    assert {
        "first_played", "last_played", "from_measure_index", "to_measure_index", "hands",
        "began_with",
    } == set(document["passages"][0])  # fmt: skip
    wrong = document["notes"][5]
    assert (wrong["verdict"], wrong["pitch"], wrong["expected_pitch"]) == ("wrong", 66, 65)
    assert (wrong["measure"], wrong["measure_index"], wrong["offset_quarters"]) == ("2", 1, "1")
    assert document["sections"][0]["running_tempo_qpm"] == pytest.approx(120.0, abs=0.1)


def test_sections_json_has_the_promised_shape(score_path, capsys):
    assert command_line.main(["sections", str(score_path), "--json"]) == 0
    (section,) = json.loads(capsys.readouterr().out)["sections"]
    assert section == {
        "name": "mm. 1–4",
        "from_measure": "1",
        "to_measure": "4",
        "start": 0.0,
        "end": 16.0,
        "level": 0,
        "why": "the beginning of the piece",
        "confidence": 1.0,
    }


def test_sections_prints_names_measures_and_reasons(score_path, capsys):
    assert command_line.main(["sections", str(score_path)]) == 0
    printed = capsys.readouterr().out
    assert "mm. 1–4  1–4  the beginning of the piece" in printed


@pytest.fixture
def waltz() -> Path:
    """A sample with leaps, runs and sections of different weight (demo data)."""
    return sample_scores_folder() / "waltz_at_the_ferry.musicxml"


def test_tasks_are_told_as_text_and_as_json(waltz, capsys):
    assert command_line.main(["tasks", str(waltz), "--json"]) == 0
    tasks = json.loads(capsys.readouterr().out)["tasks"]
    assert {"name", "kind", "hand", "section", "from_measure", "to_measure", "why"} <= set(tasks[0])
    assert all(0 <= task["start"] < task["end"] for task in tasks)
    assert command_line.main(["tasks", str(waltz)]) == 0
    printed = capsys.readouterr().out
    assert all(task["why"] in " ".join(printed.split()) for task in tasks)


def test_groups_are_told_as_text_and_as_json(waltz, capsys):
    assert command_line.main(["groups", str(waltz), "--json"]) == 0
    runs = json.loads(capsys.readouterr().out)["runs"]
    assert {"hand", "voice", "measure", "value_quarters", "way", "groups"} <= set(runs[0])
    assert command_line.main(["groups", str(waltz)]) == 0
    assert f"m. {runs[0]['measure']}" in capsys.readouterr().out


def test_the_workload_is_told_hardest_first_as_text_and_as_json(waltz, capsys):
    assert command_line.main(["workload", str(waltz), "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    ranks = {section["name"]: section["rank"] for section in document["sections"]}
    assert [ranks[name] for name in document["order"]] == sorted(
        ranks[n] for n in document["order"]
    )
    assert command_line.main(["workload", str(waltz)]) == 0
    assert capsys.readouterr().out.startswith(f" 1. {document['order'][0]} ")


@pytest.mark.parametrize("command", ["compare", "sections", "tasks", "groups", "workload"])
def test_a_score_that_is_not_there_is_one_sentence(command, take_path, tmp_path, capsys):
    given = [command, str(tmp_path / "nothing.musicxml")]
    given += [str(take_path)] if command == "compare" else []
    assert command_line.main(given) == 1
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.count("\n") == 1
    assert "nothing.musicxml" in printed.err


def test_a_take_that_is_no_midi_file_is_one_sentence(score_path, capsys):
    assert command_line.main(["compare", str(score_path), str(score_path)]) == 1
    assert capsys.readouterr().err == "“four.musicxml” is not a standard MIDI file.\n"


def test_an_unknown_part_is_one_sentence(score_path, take_path, capsys):
    given = ["compare", str(score_path), str(take_path), "--part", "Tuba"]
    assert command_line.main(given) == 1
    assert capsys.readouterr().err.count("\n") == 1


@pytest.mark.parametrize(
    "given",
    [
        ["compare"],
        ["compare", "only.xml"],
        ["sections"],
        ["--frobnicate"],
        ["a", "b"],
        ["ports", "x"],
    ],
)
def test_wrong_usage_is_status_2(given, capsys):
    with pytest.raises(SystemExit) as stopped:
        command_line.main(given)
    assert stopped.value.code == 2
    assert "usage: companion" in capsys.readouterr().err


def test_the_version_is_told(capsys):
    with pytest.raises(SystemExit) as stopped:
        command_line.main(["--version"])
    assert stopped.value.code == 0
    assert capsys.readouterr().out == f"companion {__version__}\n"


def test_help_lists_every_command(capsys):
    with pytest.raises(SystemExit):
        command_line.main(["--help"])
    printed = capsys.readouterr().out
    for command in ("compare", "sections", "harmony", "groups", "workload", "tasks", "ports"):
        assert f"companion {command}" in printed


def test_without_a_display_the_window_says_so(monkeypatch, capsys):
    monkeypatch.setattr(sys, "platform", "linux")
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"):
        monkeypatch.delenv(name, raising=False)
    assert command_line.main([]) == 1
    assert "no display" in capsys.readouterr().err


def test_a_folder_is_no_score_and_that_is_told_before_the_window_opens(tmp_path, capsys):
    assert command_line.main([str(tmp_path)]) == 1
    assert capsys.readouterr().err == (
        f"“{tmp_path.name}” is not a file, so there is no score in it.\n"
    )


def test_a_missing_score_is_told_before_the_window_opens(capsys):
    assert command_line.main(["/nowhere/at_all.musicxml"]) == 1
    assert "/nowhere/at_all.musicxml" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("error", "told"),
    [
        (ModuleNotFoundError("No module named 'PySide6'", name="PySide6"), "PySide6 is missing"),
        (ImportError("libEGL.so.1: cannot open shared object file"), "libEGL.so.1"),
    ],
)
def test_without_qt_the_sentence_says_how_to_get_it(error, told, monkeypatch, capsys):
    monkeypatch.setenv("QT_QPA_PLATFORM", "offscreen")

    def no_qt(name):
        raise error

    monkeypatch.setattr(importlib, "import_module", no_qt)
    assert command_line.main([]) == 1
    printed = capsys.readouterr().err
    assert told in printed
    assert "companion.install" in printed


def test_the_window_gets_the_score_and_gives_the_status(score_path, monkeypatch):
    class App:
        opened = None

        def main(self, score):
            self.opened = score
            return 7

    app = App()
    monkeypatch.setenv("QT_QPA_PLATFORM", "offscreen")
    monkeypatch.setattr(importlib, "import_module", lambda name: app)
    assert command_line.main([str(score_path)]) == 7
    assert app.opened == str(score_path)


def test_ports_work_on_a_machine_without_midi():
    # in a process of its own: the MIDI library may hold on to a server that other tests start
    done = subprocess.run(
        [sys.executable, "-m", "companion", "ports"],
        capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert done.returncode == 0
    assert done.stdout.strip()
    assert "Traceback" not in done.stderr


def test_a_reader_that_goes_away_is_no_crash(score_path):
    done = subprocess.run(
        f"{sys.executable} -m companion sections {score_path} --json | true",
        shell=True, capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert "Traceback" not in done.stderr


def test_a_terminal_without_letters_gets_question_marks(score_path):
    done = subprocess.run(
        [sys.executable, "-m", "companion", "compare", str(score_path), str(score_path)],
        capture_output=True, timeout=120, check=False,
        env={"PYTHONIOENCODING": "ascii", "PATH": "/usr/bin:/bin", "PYTHONPATH": "."},
    )  # fmt: skip
    assert done.returncode == 1
    assert b"four.musicxml" in done.stderr
    assert b"Traceback" not in done.stderr


# ---- the tables and documents themselves

SCORE = invented_score(8)
MAP = map_of(SCORE, 0, 4)


def comparison(score: Score = SCORE, section_map: SectionMap = MAP):
    heard, _ = Performance(score).play(wrong=("r2.1",), miss=("l5.0",)).finished()
    return compare(score, section_map, heard)


@pytest.mark.parametrize("width", [24, 40, 60, 72, 80, 100, 140])
def test_no_line_of_the_table_is_wider_than_the_terminal(width):
    lines = section_table(comparison(), width).splitlines()
    assert max(map(len, lines)) <= width


@pytest.mark.parametrize("width", [24, 72, 120])
def test_every_width_tells_every_section_and_figure(width):
    text = section_table(comparison(), width)
    for expected in ("A", "B", "Whole take", "1–4", "5–8", "120", "97.9%"):
        assert expected in text


def test_long_names_are_cut_not_spilled():
    named = SectionMap(
        sections=tuple(
            type(s)(
                section_id=s.section_id, name=f"{s.name} {'long ' * 15}", start=s.start, end=s.end
            )
            for s in MAP.sections
        )
    )
    assert max(map(len, section_table(comparison(SCORE, named), 80).splitlines())) <= 80
    assert "~" in section_table(comparison(SCORE, named), 80)


def test_unfinished_sections_are_marked():
    heard, _ = Performance(SCORE).play(0, 24).finished()
    text = section_table(compare(SCORE, MAP, heard), 110)
    assert "5–8*" in text
    assert "A * marks" in text


def test_noise_is_told_as_nothing_found():
    noise = [HeardNote(0.0, 0.1, 21), HeardNote(0.4, 0.1, 108)]
    made = compare(SCORE, MAP, noise)
    assert "Whole take" in section_table(made, 100)
    json.dumps(comparison_document(made), allow_nan=False)


def test_an_empty_take_compares_to_nothing():
    made = compare(SCORE, MAP, ())
    assert comparison_document(made)["take"] == {"notes": 0, "duration_seconds": 0.0}
    assert "Nothing in the take" in section_table(made, 100)


def test_documents_are_plain_json_with_exact_offsets():
    document = comparison_document(comparison())
    assert json.loads(json.dumps(document, allow_nan=False)) == document
    offsets = {note["offset_quarters"] for note in document["notes"] if note["note_id"]}
    assert {Fraction(text) for text in offsets} == {Fraction(k, 2) for k in range(8)}
    assert "1/2" in offsets


def test_counts_in_the_document_agree_with_its_notes():
    document = comparison_document(comparison())
    verdicts = [note["verdict"] for note in document["notes"]]
    for verdict in ("right", "wrong", "added"):
        assert sum(s[verdict] for s in document["sections"]) == verdicts.count(verdict)
    assert sum(s["missed"] for s in document["sections"]) == len(document["missed"])


def test_a_section_map_is_told_at_any_width():
    section_map = propose_sections(SCORE)
    for width in (24, 60, 120):
        assert max(map(len, sections_table(SCORE, section_map, width).splitlines())) <= width


def test_the_root_error_is_what_the_command_line_tells(monkeypatch, capsys):
    def fail(options):
        raise CompanionError("One plain sentence.")

    monkeypatch.setattr(command_line, "_ports", fail)
    assert command_line.main(["ports"]) == 1
    assert capsys.readouterr().err == "One plain sentence.\n"
