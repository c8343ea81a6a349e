"""Drills as notes: values that add up to the group, one number over it, pitches of the piece."""

from __future__ import annotations

from fractions import Fraction

import music21
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from companion.analysis.grouping.drill_notation import drill_as_notes
from companion.analysis.grouping.drills import drills_of_group, rhythms_for
from companion.analysis.grouping.proposal import propose_grouping
from companion.resources import sample_scores_folder
from companion.score.reading.reader import read_score
from companion.score.writing.snippet import SnippetNote, name_of_key, snippet_as_musicxml
from tests.musicxml_schema import musicxml_schema

SIXTEENTH = Fraction(1, 4)


@pytest.fixture(scope="module")
def score():
    return read_score(sample_scores_folder() / "study_in_d_minor.musicxml")


@pytest.fixture(scope="module")
def drills(score):
    grouping = propose_grouping(score)
    group = next(g for g in grouping.runs[0].groups if g.end_step - g.first_step == 4)
    assert rhythms_for(group)
    return {drill.title: drill for drill in drills_of_group(score, grouping, group)}


def of(drills, words):
    return next(drill for title, drill in drills.items() if title.startswith(words))


def first_group(drill):
    notes = drill_as_notes(drill)
    return [note for note in notes if note.beam_group == notes[0].beam_group]


def test_long_short_is_a_dotted_sixteenth_and_a_thirty_second(drills):
    # domain practice: 3 to 1, the group as long as before (375, 125 ms at 60 quarters a minute)
    group = first_group(of(drills, "Long-short"))
    assert [note.written_quarters for note in group] == [Fraction(3, 8), Fraction(1, 8)] * 2
    assert {note.tuplet for note in group} == {(1, 1)}


def test_one_long_and_three_short_are_six_in_the_time_of_four(drills):
    # L-s-s-s with L = 3 units of 6
    group = first_group(of(drills, "First note long"))
    assert [note.written_quarters for note in group] == [3 * SIXTEENTH, *[SIXTEENTH] * 3]
    assert {note.tuplet for note in group} == {(6, 4)}
    assert sum(note.sounding_quarters for note in group) == 4 * SIXTEENTH


def test_a_group_that_ends_on_a_stop_has_the_number_of_the_others(drills):
    notes = drill_as_notes(of(drills, "First note long"))
    assert notes[-1].fermata
    assert {note.tuplet for note in notes if not note.fermata} == {(6, 4)}


def test_a_stop_is_a_longer_note_with_a_fermata(drills):
    notes = drill_as_notes(of(drills, "Stop on every second"))
    assert [note.fermata for note in notes[:4]] == [False, True, False, True]
    assert notes[1].written_quarters == Fraction(1)


def test_every_drill_keeps_its_lengths_but_for_its_stops(drills):
    for drill in drills.values():
        notes = drill_as_notes(drill)
        for note, step in zip(notes, drill.steps, strict=True):
            if not step.held:
                assert note.sounding_quarters == step.duration_quarters


def test_music21_and_the_schema_read_the_pitches_in_their_rhythm(drills):
    for drill in drills.values():
        data = snippet_as_musicxml(drill_as_notes(drill), key_fifths=-1)
        musicxml_schema().assertValid(etree.fromstring(data))
        again = music21.converter.parse(data, format="musicxml").flatten().notes
        pitches = {note.note_id: note.pitch for note in drill.notes}
        wanted = [sorted(pitches[note_id] for note_id in step.note_ids) for step in drill.steps]
        assert [sorted(pitch.midi for pitch in note.pitches) for note in again] == wanted
        assert [Fraction(note.duration.quarterLength).limit_denominator(96) for note in again] == [
            note.sounding_quarters for note in drill_as_notes(drill)
        ]


@given(st.integers(21, 108), st.integers(-7, 7))
def test_any_key_of_the_piano_is_written_in_any_signature(pitch, fifths):
    note = SnippetNote(spellings=(name_of_key(pitch),), written_quarters=SIXTEENTH)
    again = music21.converter.parse(snippet_as_musicxml([note], fifths), format="musicxml")
    assert [each.pitch.midi for each in again.flatten().notes] == [pitch]


@pytest.mark.parametrize(
    ("names", "fifths", "printed"),
    [
        (("C#5", "C#5", "C5"), 0, ["sharp", None, "natural"]),
        (("Bb4", "B4", "Bb4"), -1, [None, "natural", "flat"]),
        (("F#4", "F##4"), 1, [None, "double-sharp"]),
        (("C#5", "C#4"), 0, ["sharp", "sharp"]),
    ],
    ids=["repeated", "against the signature", "doubled", "another octave"],
)
def test_accidentals_are_printed_where_a_reader_needs_them(names, fifths, printed):
    notes = [SnippetNote(spellings=(name,), written_quarters=SIXTEENTH) for name in names]
    tree = etree.fromstring(snippet_as_musicxml(notes, fifths))
    assert [note.findtext("accidental") for note in tree.iter("note")] == printed


def test_what_is_no_note_is_refused():
    with pytest.raises(ValueError, match="not a note"):
        snippet_as_musicxml([SnippetNote(spellings=("H5",), written_quarters=SIXTEENTH)])
    with pytest.raises(ValueError, match="no note lasts"):
        snippet_as_musicxml([SnippetNote(spellings=("C5",), written_quarters=Fraction(1, 3))])
