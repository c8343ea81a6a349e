"""The section map as JSON: what is damaged or too new is refused in words."""

import json
from fractions import Fraction

import pytest

from companion.errors import EditRefused
from companion.score.model import Position
from companion.score.sections.document import section_map_from_document, section_map_to_document
from companion.score.sections.section_map import Section, SectionMap

MAP = SectionMap(
    sections=(
        Section(
            section_id="q",
            name="Question",
            start=Position(0),
            end=Position(4, Fraction(7, 3)),
            purpose="asks",
            how_to_play="softly",
            target_quarters_per_minute=66.5,
            why="double bar",
        ),
        Section(section_id="r", name="Reply", start=Position(4, Fraction(7, 3)), end=Position(9)),
    )
)


def test_a_map_comes_back_through_json_text():
    assert section_map_from_document(json.loads(json.dumps(section_map_to_document(MAP)))) == MAP


def test_offsets_are_written_as_exact_fractions():
    assert section_map_to_document(MAP)["sections"][0]["end"] == [4, "7/3"]


def test_a_newer_document_is_refused():
    with pytest.raises(EditRefused, match="newer version"):
        section_map_from_document({"format": 2, "sections": []})


@pytest.mark.parametrize(
    "document",
    [
        None,
        [],
        "text",
        {},
        {"format": "one", "sections": []},
        {"format": 1, "sections": [{"id": "a"}]},
        {"format": 1, "sections": [{"id": "a", "name": "A", "start": 0, "end": [1, "0"]}]},
        {"format": 1, "sections": [{"id": "a", "name": "A", "start": [0, "x"], "end": [1, "0"]}]},
        {"format": 1, "sections": [{"id": "a", "name": "A", "start": [0, "1/0"], "end": [1, "0"]}]},
    ],
)
def test_damaged_documents_are_refused(document):
    with pytest.raises(EditRefused, match="damaged"):
        section_map_from_document(document)


def test_a_document_with_a_gap_is_refused():
    document = section_map_to_document(MAP)
    document["sections"][1]["start"] = [6, "0"]
    with pytest.raises(EditRefused, match="gap"):
        section_map_from_document(document)


def test_a_circle_of_parents_is_refused():
    document = section_map_to_document(MAP)
    document["sections"][0]["parent"] = "r"
    document["sections"][1]["parent"] = "q"
    with pytest.raises(EditRefused):
        section_map_from_document(document)
