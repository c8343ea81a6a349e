"""The marked score as PDF, opened again by another library (pypdf)."""

from __future__ import annotations

import pytest

from companion.desktop.score_view.marks import Mark, MarkKind
from companion.practice.score_export import marks_to_print
from companion.score.sections.edits import set_purpose

pypdf = pytest.importorskip("pypdf")

LONG_MS = 120_000


@pytest.fixture
def pdf(companion, qtbot, tmp_path):
    """Writes what is shown and gives the words of each page."""
    for name in ("show_harmony", "show_groups"):
        companion.window.actions_by_id[name].setChecked(True)
    further = companion.further
    qtbot.waitUntil(lambda: further.harmony.harmony is not None, timeout=LONG_MS)
    qtbot.waitUntil(lambda: further.grouping.grouping is not None, timeout=LONG_MS)
    qtbot.waitUntil(lambda: companion.score_view.is_complete, timeout=LONG_MS)

    def write():
        path = tmp_path / "marked.pdf"
        further.printing.write_pdf(path)
        assert "was written" in companion.window.messages.text
        assert list(tmp_path.glob(".*.part")) == []
        reader = pypdf.PdfReader(path)
        return [page.extract_text().split() for page in reader.pages], path.stat().st_size

    return write


def test_the_marks_of_a_piece_are_words_in_its_pdf(companion, pdf):
    stand = companion.stand
    section = stand.section_map.top_level[0]
    stand.change_map(
        set_purpose(stand.section_map, section.section_id, "sets out the figure"), "Write a purpose"
    )
    note_id = companion.stand.score.notes[0].note_id
    companion.further.grouping.set_suggested([(note_id, 5)])
    pages, _ = pdf()
    words = [word for page in pages for word in page]
    first = companion.further.harmony.harmony.spans[0]
    assert first.numeral in words
    assert " ".join(companion.stand.piece.title.split()) in " ".join(pages[0])
    assert "sets out the figure" in " ".join(words)
    assert "5" in words


def test_pencil_marks_are_printed_too(companion, pdf):
    _, clean = pdf()
    companion.score_view.set_marks(
        [
            Mark(kind=MarkKind.WRONG, note_id=note.note_id)
            for note in companion.stand.score.notes[:20]
        ]
    )
    assert pdf()[1] > clean


def test_a_folder_that_is_not_there_is_told(companion, pdf, tmp_path):
    companion.further.printing.write_pdf(tmp_path / "nowhere" / "marked.pdf")
    assert companion.window.messages.text.startswith("“marked.pdf” cannot be written")


def test_names_that_say_no_more_than_the_page_are_not_printed(companion):
    stand = companion.stand
    printed = {cue.text for cue in stand.score.cues}
    assert not {mark.name for mark in marks_to_print(stand.section_map, stand.score)} & printed
