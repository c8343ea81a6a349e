"""What holds for the tasks of any music."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from companion.analysis.tasks.document import tasks_from_document, tasks_to_document
from companion.analysis.tasks.model import TaskList, keep, with_proposals
from companion.analysis.tasks.proposal import MOST_TASKS, propose_tasks
from companion.score.model import Position
from companion.score.sections.section_map import Section, SectionMap
from tests.unit.analysis.running_notes import hand_of, score_with

STEP = st.one_of(
    st.none(), st.integers(40, 84), st.sampled_from([(60, 64, 67), (48, 60), (55, 60, 64, 72)])
)
ROWS = st.lists(STEP, min_size=4, max_size=80)
VALUES = st.sampled_from([Fraction(1, 4), Fraction(1, 3), Fraction(1, 2), Fraction(1)])


@settings(max_examples=60, deadline=None)
@given(right=ROWS, left=ROWS, value=VALUES, other=VALUES, border=st.integers(1, 4))
def test_tasks_lie_inside_their_section_and_are_few(right, left, value, other, border):
    held = hand_of([55], value=Fraction(1), start=20, name="last")
    score = score_with(hand_of(right, value=value), hand_of(left, value=other, staff=2), held)
    sections = (
        Section(section_id="a", name="A", start=Position(0), end=Position(border)),
        Section(section_id="b", name="B", start=Position(border), end=score.end),
    )
    section_map = SectionMap(sections=sections)
    tasks = propose_tasks(score, section_map)
    listed = with_proposals(TaskList(), tasks)
    for section in sections:
        inside = [task for task in listed.tasks if section.contains(task.start)]
        assert len(inside) <= MOST_TASKS
        for task in inside:
            assert section.start <= task.start < task.end <= section.end
            assert task.name
            assert task.reason
    assert len({task.task_id for task in tasks}) == len(tasks)
    for task in tasks:
        listed = keep(listed, task.task_id)
    assert tasks_from_document(tasks_to_document(listed)) == listed
