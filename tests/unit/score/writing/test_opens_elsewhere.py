"""The exported score in other programs' hands: the schema, music21, verovio and partitura."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import music21
import pytest
import verovio
from lxml import etree

from companion.analysis.fingering.suggest import finger_score
from companion.analysis.grouping.proposal import propose_grouping
from companion.analysis.harmony import analyse_harmony
from companion.practice.score_export import annotations_of
from companion.resources import sample_scores_folder
from companion.score.reading.reader import read_score
from companion.score.sections.proposal import propose_sections
from companion.score.writing.annotated import annotated_score
from tests.musicxml_schema import musicxml_schema

SAMPLES = [
    sample_scores_folder() / f"{name}.musicxml"
    for name in ("evening_by_the_weir", "minuet_and_trio_in_d_major", "waltz_at_the_ferry")
]
CORPUS = [
    Path(str(music21.corpus.getWork(name)))
    for name in ("mozart/k545/movement1_exposition", "schumann_clara/polonaise_op1n1")
]


@pytest.fixture(scope="module", params=[*SAMPLES, *CORPUS], ids=lambda path: path.stem)
def exported(request):
    """A score with all that can be written into it, and the file that came of it."""
    score = read_score(request.param)
    grouping = propose_grouping(score)
    fingers = {
        note_id: finger
        for suggestion in finger_score(score, grouping=grouping)
        for note_id, finger in suggestion.fingers
    }
    annotations = annotations_of(propose_sections(score), analyse_harmony(score), grouping, fingers)
    return score, annotations, annotated_score(score, annotations)


def complaints(data):
    schema = musicxml_schema()
    schema.validate(etree.fromstring(data))
    return Counter(error.message for error in schema.error_log)


def test_the_schema_accepts_all_that_it_accepted_before(exported):
    # one score of the corpus has a negative loudness in it; our own have nothing of the kind
    score, _, data = exported
    assert complaints(data) == complaints(score.musicxml)


def test_every_mark_is_in_the_file(exported):
    _, annotations, data = exported
    tree = etree.fromstring(data)
    rehearsals = {mark.text for mark in tree.iter("rehearsal")}
    assert {section.name for section in annotations.sections} <= rehearsals
    words = Counter(mark.text for mark in tree.iter("words"))
    assert not Counter(mark.text for mark in annotations.numerals) - words
    starts = [mark for mark in tree.iter("bracket") if mark.get("type") == "start"]
    assert len(starts) == len(annotations.brackets)
    assert sum(1 for _ in tree.iter("fingering")) >= len(annotations.fingers)


def test_music21_reads_the_same_notes_and_all_fingers(exported):
    score, annotations, data = exported
    again = music21.converter.parse(data, format="musicxml")
    plain = music21.converter.parse(score.musicxml, format="musicxml")
    assert [n.pitches for n in again.recurse().notes] == [n.pitches for n in plain.recurse().notes]
    fingers = [
        mark
        for note in again.recurse().notes
        for mark in note.articulations
        if isinstance(mark, music21.articulations.Fingering)
    ]
    assert len(fingers) >= len(annotations.fingers)


def test_verovio_engraves_it_with_its_numerals(exported):
    _, annotations, data = exported
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions({"inputFrom": "xml", "breaks": "none", "pageHeight": 60_000})
    assert toolkit.loadData(data.decode())
    page = toolkit.renderToSVG(1)
    assert annotations.numerals[0].text in page
    assert page.count('class="fing') >= len(annotations.fingers)


@pytest.mark.filterwarnings("ignore")  # it warns of what it does not read
def test_partitura_reads_the_same_pitches(exported, tmp_path):
    partitura = pytest.importorskip("partitura")
    score, _, data = exported
    pitches = []
    for name, content in (("plain", score.musicxml), ("marked", data)):
        path = tmp_path / f"{name}.musicxml"
        path.write_bytes(content)
        loaded = partitura.load_musicxml(path, ignore_invisible_objects=False)
        pitches.append(Counter(note["pitch"] for note in loaded.note_array()))
    assert pitches[0] == pitches[1]
