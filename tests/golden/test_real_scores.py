"""Real scores are read without loss: every attack, counted straight from the file.

The scores are those that music21 carries (keyboard pieces, the piano part of larger scores, and
quartets for variety) and this project's own. The count is independent: see ``counted_from_xml``.
"""

from __future__ import annotations

import warnings
from collections import Counter
from pathlib import Path

import pytest

from companion.resources import sample_scores_folder
from companion.score.reading.prepare import prepare_score
from companion.score.reading.reader import read_prepared, read_score
from tests.golden.counted_from_xml import attacks, part_of, visible_heads

music21_corpus = pytest.importorskip("music21.common").getCorpusFilePath()

REAL_SCORES = {
    # keyboard pieces and piano parts
    "schumann_clara/polonaise_op1n1.mxl": 852,
    "schumann_clara/polonaise_op1n2.mxl": 696,
    "schumann_clara/polonaise_op1n3.mxl": 950,
    "schumann_clara/polonaise_op1n4.mxl": 583,
    "schumann_clara/opus17/movement3.xml": 1565,
    "schumann_robert/opus48no2.mxl": 169,
    "schumann_robert/dichterliebe_no2.xml": 169,
    "joplin/maple_leaf_rag.mxl": 1489,
    "mozart/k545/movement1_exposition.mxl": 191,
    "cpebach/h186.mxl": 809,
    "schubert/Lindenbaum.xml": 1437,
    "beach/prayer_of_a_tired_child.musicxml": 626,
    "schoenberg/opus19/movement2.mxl": 92,
    "schoenberg/opus19/movement6.mxl": 53,
    "liliuokalani/aloha_oe.mxl": 265,
    "verdi/laDonnaEMobile.mxl": 370,
    "handel/rinaldo/Lascia_chio_pianga.mxl": 453,
    # other parts
    "haydn/opus1no1/movement4.mxl": 147,
    "haydn/opus74no1/movement2.mxl": 586,
    "mozart/k155/movement2.mxl": 308,
    "mozart/k458/movement3.mxl": 578,
    "schumann_robert/opus41no1/movement2.mxl": 383,
    "bach/bwv226.2.mxl": 120,
    "luca/gloria.xml": 282,
}


def samples():
    return sorted(sample_scores_folder().glob("*.musicxml"))


def assert_read_without_loss(path):
    prepared = prepare_score(path)
    score = read_prepared(prepared)
    part = part_of(path, prepared.part_id)
    starts = [measure.start_quarters for measure in score.measures]
    counted = attacks(part, starts)
    read = Counter(
        (note.measure_index, note.measure_offset_quarters, note.pitch)
        for note in score.notes
        if note.expected
    )
    assert read == counted
    assert len(score.measures) == len(part.findall("measure"))
    return score, part


@pytest.mark.parametrize("name", REAL_SCORES)
def test_every_note_of_a_real_score_is_read_where_it_stands(name):
    score, _ = assert_read_without_loss(Path(music21_corpus) / name)
    assert sum(note.expected for note in score.notes) == REAL_SCORES[name]


@pytest.mark.parametrize("path", samples(), ids=lambda path: path.stem)
def test_every_note_of_a_sample_score_is_read_where_it_stands(path):
    score, part = assert_read_without_loss(path)
    heads = sum(1 for _ in visible_heads(part))
    tied = sum(len(note.tied_ids) for note in score.notes)
    assert len(score.notes) + tied == heads
    assert not score.remarks


# by hand from the printed signs: repeats, endings, Trio, D.C. al Fine
ORDERS = {
    "schumann_clara/polonaise_op1n2.mxl": "0-7 0-15 8-23 16-31 24-31 0-15",
    "joplin/maple_leaf_rag.mxl": "0-16 1-15 17-33 18-32 34-66 51-65 67-83 68-82 84-84",
    "mozart/k155/movement2.mxl": "0-19 0-49 20-49",
    "schumann_robert/opus41no1/movement2.mxl": "0-34 27-50 35-46 51-82",
}


@pytest.mark.parametrize("name", ORDERS)
def test_the_playing_order_of_real_scores(name):
    score = read_score(Path(music21_corpus) / name)
    runs = [map(int, run.split("-")) for run in ORDERS[name].split()]
    assert score.playing_order == tuple(
        place for first, last in runs for place in range(first, last + 1)
    )


@pytest.mark.parametrize(
    "name",
    ["mozart/k155/movement2.mxl", "haydn/opus1no1/movement2.mxl"],
)
def test_the_playing_order_agrees_with_the_expansion_of_music21(name):
    from music21 import converter, repeat

    score = read_score(Path(music21_corpus) / name)
    part = converter.parseData(score.musicxml.decode(), format="musicxml").parts[0]
    measures = list(part.getElementsByClass("Measure"))
    for place, measure in enumerate(measures):
        measure.editorial.place = place
    expanded = repeat.Expander(part).process()
    theirs = [measure.editorial.place for measure in expanded.getElementsByClass("Measure")]
    assert list(score.playing_order) == theirs


def test_positions_and_lengths_agree_with_partitura():
    partitura = pytest.importorskip("partitura")
    for name in ("schumann_clara/polonaise_op1n4.mxl", "mozart/k545/movement1_exposition.mxl"):
        path = Path(music21_corpus) / name
        score = read_score(path)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # it warns of every word that it does not know
            theirs = partitura.load_score(str(path))[0].note_array()
        first = min(note.onset_quarters for note in score.notes)
        ours = sorted(
            (float(note.onset_quarters - first), note.pitch)
            for note in score.notes
            if not note.grace
        )
        shift = min(theirs["onset_quarter"])
        others = sorted(
            (float(onset - shift), int(pitch))
            for onset, pitch, length in zip(
                theirs["onset_quarter"], theirs["pitch"], theirs["duration_quarter"], strict=True
            )
            if length > 0
        )
        assert [pitch for _, pitch in ours] == [pitch for _, pitch in others]
        assert max(abs(a - b) for (a, _), (b, _) in zip(ours, others, strict=True)) < 1e-4
