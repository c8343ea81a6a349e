"""Annotated scores, read again by music21 and by verovio: outside checks of what was written."""

from __future__ import annotations

from fractions import Fraction

import music21
import pytest
import verovio
from lxml import etree

from companion.resources import sample_scores_folder
from companion.score.model import Hand, Position
from companion.score.reading.reader import read_score
from companion.score.writing.annotated import (
    Annotations,
    BracketMark,
    NumeralMark,
    SectionMark,
    annotated_score,
)


@pytest.fixture(scope="module")
def score():
    return read_score(sample_scores_folder() / "invention_in_e_minor.musicxml")


def read_again(data):
    return music21.converter.parse(data, format="musicxml")


def fingers_for(score, count):
    notes = [note for note in score.notes if not note.grace][:count]
    return {note.note_id: number % 5 + 1 for number, note in enumerate(notes)}


def test_fingers_stand_at_their_notes(score):
    fingers = fingers_for(score, 12)
    tree = etree.fromstring(annotated_score(score, Annotations(fingers=fingers)))
    found = {
        note.get("id"): int(note.findtext("notations/technical/fingering"))
        for note in tree.iter("note")
        if note.findtext("notations/technical/fingering")
    }
    assert found == fingers


def test_music21_finds_the_same_number_of_fingers_and_all_notes(score):
    fingers = fingers_for(score, 12)
    again = read_again(annotated_score(score, Annotations(fingers=fingers)))
    plain = read_again(score.musicxml)
    found = [
        articulation.fingerNumber
        for note in again.recurse().notes
        for articulation in note.articulations
        if isinstance(articulation, music21.articulations.Fingering)
    ]
    assert sorted(found) == sorted(fingers.values())
    assert [n.pitches for n in again.recurse().notes] == [n.pitches for n in plain.recurse().notes]


def test_a_finger_that_is_set_twice_stands_once(score):
    note_id = score.notes[0].note_id
    once = annotated_score(score, Annotations(fingers={note_id: 2}))
    assert once.count(b"<fingering>") == 1


def test_sections_are_rehearsal_marks_where_they_begin(score):
    marks = (
        SectionMark(position=Position(0), name="Opening", words="sets out"),
        SectionMark(position=Position(5), name="Answer"),
    )
    again = read_again(annotated_score(score, Annotations(sections=marks)))
    part = again.parts[0]
    found = {
        mark.content: mark.getContextByClass("Measure").number
        for mark in part.recurse().getElementsByClass("RehearsalMark")
    }
    assert found["Opening"] == int(score.measures[0].number)
    assert found["Answer"] == int(score.measures[5].number)


def test_a_mark_that_is_printed_there_already_is_not_written_again(score):
    printed = next(
        mark.text for mark in etree.fromstring(score.musicxml).iter("rehearsal") if mark.text
    )
    before = score.musicxml.count(f"<rehearsal>{printed}".encode())
    cue = next(cue for cue in score.cues if cue.text == printed)
    again = annotated_score(
        score, Annotations(sections=(SectionMark(position=cue.position, name=printed),))
    )
    assert again.count(f">{printed}</rehearsal>".encode()) == max(before, 1)


@pytest.mark.parametrize("offset", [Fraction(0), Fraction(1), Fraction(3, 8)])
def test_numerals_stand_below_at_their_place_also_where_no_note_begins(score, offset):
    numeral = NumeralMark(position=Position(2, offset), text="e: V65/V")
    again = read_again(annotated_score(score, Annotations(numerals=(numeral,))))
    found = [
        (words.getContextByClass("Measure").measureNumber, words.offset)
        for part in again.parts
        for words in part.recurse().getElementsByClass("TextExpression")
        if words.content == "e: V65/V"
    ]
    assert len(found) == 1
    number, at = found[0]
    assert number == int(score.measures[2].number)
    assert float(at) == pytest.approx(float(offset))


def test_brackets_begin_and_end_and_overlapping_ones_have_numbers_of_their_own(score):
    right = [note for note in score.notes if note.playing_hand is Hand.RIGHT][:6]
    brackets = tuple(
        BracketMark(first_id=right[a].note_id, last_id=right[b].note_id, hand=Hand.RIGHT)
        for a, b in ((0, 3), (2, 5))
    )
    tree = etree.fromstring(annotated_score(score, Annotations(brackets=brackets)))
    found = [(each.get("type"), each.get("number")) for each in tree.iter("bracket")]
    assert sorted(found) == [("start", "1"), ("start", "2"), ("stop", "1"), ("stop", "2")]


def test_verovio_engraves_the_annotated_score(score):
    annotations = Annotations(
        sections=(SectionMark(position=Position(3), name="Middle"),),
        numerals=(NumeralMark(position=Position(1), text="V43"),),
        fingers=fingers_for(score, 8),
    )
    toolkit = verovio.toolkit()
    toolkit.setOptions({"inputFrom": "xml"})
    assert toolkit.loadData(annotated_score(score, annotations).decode())
    page = toolkit.renderToSVG(1)
    assert "Middle" in page
    assert "V43" in page
    assert page.count('class="fing') >= 8


def test_our_own_reader_finds_the_same_music(score, tmp_path):
    path = tmp_path / "annotated.musicxml"
    path.write_bytes(
        annotated_score(
            score,
            Annotations(
                numerals=(NumeralMark(position=Position(4), text="i6"),),
                fingers=fingers_for(score, 20),
            ),
        )
    )
    again = read_score(path)
    key = [(n.pitch, n.measure_index, n.measure_offset_quarters) for n in score.notes]
    assert [(n.pitch, n.measure_index, n.measure_offset_quarters) for n in again.notes] == key
