"""Tasks of a real piece against a count of its notes by music21.

Clara Schumann, Polonaise op. 1 no. 2, as music21's corpus carries it. What a task says of its
measures ("20 chords of three keys or more in the left hand") is counted again by music21 itself.
"""

from __future__ import annotations

import re

import music21
import pytest

from companion.analysis.form.form_map import propose_section_map
from companion.analysis.grouping.cuts import in_words
from companion.analysis.tasks.model import TaskKind
from companion.analysis.tasks.proposal import propose_tasks
from companion.score.model import Hand
from companion.score.reading.reader import read_score

PIECE = "schumann_clara/polonaise_op1n2"
SHORT_QUARTERS = 0.25  # its runs go in sixteenths and faster


@pytest.fixture(scope="module")
def stream():
    return music21.corpus.parse(PIECE)


@pytest.fixture(scope="module")
def tasks():
    path = music21.corpus.getWork(PIECE)
    score = read_score(path)
    return [
        (score, task, score.measures[task.start.measure_index].number)
        for task in propose_tasks(score, propose_section_map(score))
    ]


def measures_of(stream, score, task):
    first = int(score.measures[task.start.measure_index].number)
    last = int(score.measures[task.end.measure_index - 1].number)
    part = stream.parts[0 if task.hand is Hand.RIGHT else 1]
    return [m for m in part.getElementsByClass("Measure") if first <= m.number <= last]


def told(task):
    """The number that a task names, however it is written."""
    names = {in_words(count): count for count in range(200)}
    return names[re.match(r"\w+", task.reason).group()]


def test_chords_are_as_many_as_music21_counts(stream, tasks):
    chordal = [(s, t) for s, t, _ in tasks if t.kind is TaskKind.CHORDS]
    assert len(chordal) >= 3
    for score, task in chordal:
        chords = [
            chord
            for measure in measures_of(stream, score, task)
            for chord in measure.recurse().getElementsByClass("Chord")
            if len(chord.pitches) >= 3
        ]
        assert told(task) == len(chords)


def test_running_notes_of_one_hand_are_as_many_as_music21_counts(stream, tasks):
    runs = [(s, t) for s, t, _ in tasks if t.kind is TaskKind.RUN and t.hand is Hand.RIGHT]
    assert len(runs) >= 3
    for score, task in runs:
        short = [
            note
            for measure in measures_of(stream, score, task)
            for note in measure.recurse().notes
            if 0 < note.quarterLength <= SHORT_QUARTERS
        ]
        assert told(task) == len(short)


def test_repeated_chords_of_an_accompaniment_are_no_run(tasks):
    # the left hand of the beginning repeats chords in eighths
    assert not any(
        task.kind is TaskKind.RUN and task.hand is Hand.LEFT and number == "1"
        for _, task, number in tasks
    )
