"""The marked score leaves the window as MusicXML, read again by music21."""

from __future__ import annotations

import music21
import pytest
from lxml import etree

LONG_MS = 120_000


@pytest.fixture
def export(companion, qtbot):
    export = companion.further.score_export
    for name in ("show_harmony", "show_groups"):
        companion.window.actions_by_id[name].setChecked(True)
    qtbot.waitUntil(lambda: companion.further.harmony.harmony is not None, timeout=LONG_MS)
    qtbot.waitUntil(lambda: companion.further.grouping.grouping is not None, timeout=LONG_MS)
    return export


def test_sections_numerals_and_fingers_are_in_the_file(companion, export, tmp_path):
    note_id = companion.stand.score.notes[0].note_id
    companion.further.grouping.choose_note(note_id)
    companion.window.group_row.finger_set.emit(4)
    export.write(tmp_path / "marked.musicxml")
    again = music21.converter.parse(tmp_path / "marked.musicxml")
    names = {mark.content for mark in again.recurse().getElementsByClass("RehearsalMark")}
    assert {section.name for section in companion.stand.section_map.top_level} <= names
    words = [text.content for text in again.recurse().getElementsByClass("TextExpression")]
    first = companion.further.harmony.harmony.spans[0]
    assert f"{first.key.name}: {first.numeral}" in words
    tree = etree.parse(tmp_path / "marked.musicxml")
    (note,) = (each for each in tree.iter("note") if each.get("id") == note_id)
    assert note.findtext("notations/technical/fingering") == "4"
    assert "was written" in companion.window.messages.text


def test_what_is_hidden_is_not_written(companion, export, tmp_path):
    companion.window.actions_by_id["show_harmony"].setChecked(False)
    export.write(tmp_path / "plain.musicxml")
    first = companion.further.harmony.harmony.spans[0]
    text = (tmp_path / "plain.musicxml").read_text(encoding="utf-8")
    assert f"{first.key.name}: {first.numeral}" not in text


def test_a_folder_that_is_not_there_is_told_in_one_sentence(companion, export, tmp_path):
    export.write(tmp_path / "nowhere" / "marked.musicxml")
    assert companion.window.messages.text.startswith("“marked.musicxml” cannot be written")
