"""Tasks inside sections: what is found, what is the section itself, what the pianist decides."""

from __future__ import annotations

import json
from fractions import Fraction

import pytest

from companion.analysis.tasks.document import tasks_from_document, tasks_to_document
from companion.analysis.tasks.model import (
    TaskKind,
    TaskList,
    add_task,
    bring_back,
    dismiss,
    keep,
    map_with_tasks,
    move_task,
    rename_task,
    with_proposals,
    write_how_to_practise,
)
from companion.analysis.tasks.proposal import propose_tasks
from companion.analysis.tasks.tasks_table import NO_TASKS, tasks_document, tasks_table
from companion.errors import EditRefused
from companion.listening.matching import match_take
from companion.listening.measuring.measures import measure_take
from companion.listening.notes import HeardNote
from companion.resources import sample_scores_folder
from companion.score.model import Hand, Position
from companion.score.reading.reader import read_score
from companion.score.sections.proposal import propose_sections
from companion.score.sections.section_map import Section, SectionMap
from tests.unit.analysis.running_notes import hand_of, score_with

QUARTER = Fraction(1)
CALM = [60, 62, 64, 62] * 2  # two measures of quarters


def one_section(score):
    whole = Section(section_id="a", name="A", start=Position(0), end=score.end)
    return SectionMap(sections=(whole,))


def calm_then(*middle):
    """Two calm measures, something else, two calm measures more."""
    before = hand_of(CALM, value=QUARTER, name="before")
    after = hand_of(CALM, value=QUARTER, start=16, name="after")
    return score_with(before, *middle, after)


def found_in(score):
    return [
        (task.kind, task.hand, task.start.measure_index, task.end.measure_index)
        for task in propose_tasks(score, one_section(score))
    ]


def test_a_run_of_two_measures_is_a_task():
    score = calm_then(hand_of([60 + k % 8 for k in range(32)], start=8))
    assert found_in(score) == [(TaskKind.RUN, Hand.RIGHT, 2, 4)]
    (task,) = propose_tasks(score, one_section(score))
    assert task.name == "Run, right hand, mm. 3–4"
    assert task.reason == "32 running notes in the right hand"


def test_a_repeated_key_is_no_run():
    score = calm_then(hand_of([67] * 32, start=8))
    assert TaskKind.RUN not in {kind for kind, *_ in found_in(score)}


def test_what_fills_the_section_is_no_task():
    score = score_with(hand_of([60 + k % 8 for k in range(64)]))
    assert found_in(score) == []


def test_leaps_of_an_octave_are_a_task():
    score = calm_then(hand_of([40, 60, 41, 62] * 2, value=QUARTER, start=8, staff=2))
    assert found_in(score) == [(TaskKind.LEAPS, Hand.LEFT, 2, 4)]


def test_full_chords_are_a_task():
    chords = [(60, 64, 67), (62, 65, 69), (64, 67, 71), (62, 65, 69)]
    score = calm_then(hand_of(chords * 2, value=QUARTER, start=8))
    assert found_in(score) == [(TaskKind.CHORDS, Hand.RIGHT, 2, 4)]


def test_octaves_are_a_task():
    octaves = [(60, 72), (62, 74), (64, 76), (65, 77)]
    score = calm_then(hand_of(octaves * 2, value=QUARTER, start=8))
    assert found_in(score) == [(TaskKind.OCTAVES, Hand.RIGHT, 2, 4)]


def test_triplets_against_eighths_are_a_task():
    right = hand_of([72, 74, 76] * 8, value=Fraction(1, 3), start=8)
    left = hand_of([48, 50] * 8, value=Fraction(1, 2), start=8, staff=2)
    kinds = {kind: (start, end) for kind, _, start, end in found_in(calm_then(right, left))}
    assert kinds[TaskKind.TWO_RHYTHMS] == (2, 4)


def test_both_hands_running_are_one_task():
    right = hand_of([72 + k % 8 for k in range(32)], start=8)
    left = hand_of([48 + k % 8 for k in range(32)], start=8, staff=2)
    assert found_in(calm_then(right, left)) == [(TaskKind.RUN, None, 2, 4)]


def test_tasks_of_the_sample_study():
    # demo data: page C ends with a run for one hand, the coda runs in both and ends in chords
    score = read_score(sample_scores_folder() / "study_in_d_minor.musicxml")
    names = [task.name for task in propose_tasks(score, propose_sections(score))]
    assert "Run, right hand, m. 48" in names
    assert "Run, mm. 65–81" in names


def test_the_same_tasks_have_the_same_ids_after_the_map_has_changed():
    score = calm_then(hand_of([60 + k % 8 for k in range(32)], start=8))
    (task,) = propose_tasks(score, one_section(score))
    other = SectionMap(
        sections=(
            Section(section_id="x", name="X", start=Position(0), end=Position(1)),
            Section(section_id="y", name="Y", start=Position(1), end=score.end),
        )
    )
    (again,) = propose_tasks(score, other)
    assert again.task_id == task.task_id


def listed():
    score = calm_then(hand_of([60 + k % 8 for k in range(32)], start=8))
    proposed = propose_tasks(score, one_section(score))
    return with_proposals(TaskList(), proposed), proposed


def test_a_task_that_was_turned_down_does_not_come_back():
    tasks, proposed = listed()
    refused = dismiss(tasks, proposed[0].task_id)
    assert with_proposals(refused, proposed).tasks == ()


def test_a_kept_task_stays_when_nothing_is_proposed_any_more():
    tasks, proposed = listed()
    kept = keep(tasks, proposed[0].task_id)
    assert [task.task_id for task in with_proposals(kept, []).tasks] == [proposed[0].task_id]
    assert with_proposals(tasks, []).tasks == ()


def test_names_and_borders_of_a_task_are_the_pianists():
    tasks, proposed = listed()
    name = proposed[0].task_id
    edited = move_task(rename_task(tasks, name, "  The  scale "), name, Position(1), Position(4))
    assert edited.task(name).name == "The scale"
    assert edited.task(name).kept
    assert with_proposals(edited, proposed).task(name).start == Position(1)


@pytest.mark.parametrize(
    ("edit", "sentence"),
    [
        (lambda tasks, name: rename_task(tasks, name, "  "), "needs a name"),
        (lambda tasks, name: move_task(tasks, name, Position(3), Position(3)), "at least one note"),
        (lambda tasks, name: keep(tasks, "gone"), "no longer"),
        (lambda tasks, name: add_task(tasks, "", Position(0), Position(1)), "needs a name"),
    ],
)
def test_what_cannot_be_done_is_said(edit, sentence):
    tasks, proposed = listed()
    with pytest.raises(EditRefused, match=sentence):
        edit(tasks, proposed[0].task_id)


def test_kept_own_and_dismissed_tasks_survive_being_stored():
    tasks, proposed = listed()
    tasks = add_task(keep(tasks, proposed[0].task_id), "My page", Position(0), Position(2))
    back = tasks_from_document(json.loads(json.dumps(tasks_to_document(tasks))))
    assert back == tasks
    gone = dismiss(tasks, proposed[0].task_id)
    assert tasks_from_document(tasks_to_document(gone)) == gone


@pytest.mark.parametrize("document", [None, {}, {"format": 1, "tasks": [{}], "dismissed": []}])
def test_a_damaged_document_is_refused(document):
    with pytest.raises(EditRefused, match="damaged"):
        tasks_from_document(document)


def test_takes_are_measured_in_tasks_as_in_sections():
    score = calm_then(hand_of([60 + k % 8 for k in range(32)], start=8))
    section_map = one_section(score)
    tasks = propose_tasks(score, section_map)
    heard = [HeardNote(float(n.onset_quarters), 0.2, n.pitch) for n in score.notes]
    match = match_take(score.notes, heard)
    measured = measure_take(score, map_with_tasks(section_map, tasks), heard, match)
    rows = {row.section_id: row for row in measured.sections}
    assert rows[tasks[0].task_id].right == 32
    assert rows["a"].right == 48


def test_a_task_of_ones_own_that_is_taken_away_leaves_nothing_behind():
    own = add_task(TaskList(), "The jump", Position(1), Position(2))
    assert dismiss(own, own.tasks[0].task_id) == TaskList()


def test_everything_that_was_turned_down_can_be_brought_back():
    score = calm_then(hand_of([60 + k % 8 for k in range(32)], start=8))
    proposed = propose_tasks(score, one_section(score))
    tasks = with_proposals(TaskList(), proposed)
    turned_down = dismiss(tasks, proposed[0].task_id)
    assert with_proposals(turned_down, proposed).tasks == ()
    assert with_proposals(bring_back(turned_down), proposed) == tasks


def test_words_on_how_to_practise_are_kept_and_stored():
    score = calm_then(hand_of([60 + k % 8 for k in range(32)], start=8))
    tasks = with_proposals(TaskList(), propose_tasks(score, one_section(score)))
    written = write_how_to_practise(tasks, tasks.tasks[0].task_id, "  In dotted rhythms. ")
    assert written.tasks[0].kept
    document = json.loads(json.dumps(tasks_to_document(written)))
    assert tasks_from_document(document).tasks[0].how_to_practise == "In dotted rhythms."


def test_the_document_for_other_programs_tells_place_hand_and_reason():
    score = calm_then(hand_of([60 + k % 8 for k in range(32)], start=8))
    section_map = one_section(score)
    document = tasks_document(score, section_map, propose_tasks(score, section_map))
    assert document == {
        "tasks": [
            {
                "name": "Run, right hand, mm. 3–4",
                "kind": "run",
                "hand": "right",
                "section": "A",
                "from_measure": "3",
                "to_measure": "4",
                "start": 8.0,
                "end": 16.0,
                "why": "32 running notes in the right hand",
            }
        ]
    }


@pytest.mark.parametrize("width", [24, 60, 100])
def test_the_list_of_tasks_fits_the_terminal(width):
    score = calm_then(hand_of([60 + k % 8 for k in range(32)], start=8))
    section_map = one_section(score)
    lines = tasks_table(score, section_map, propose_tasks(score, section_map), width).splitlines()
    assert lines[0] == "A"
    assert lines[1].startswith("  mm. 3–4: 32")
    assert max(map(len, lines)) <= width
    assert tasks_table(score, section_map, (), width) == NO_TASKS
