"""What other programs are told about the sections."""

from itertools import pairwise

from companion.analysis.form import propose_section_map
from companion.analysis.form.form_document import form_document
from tests.unit.analysis.form.test_form import SONATA


def test_the_sections_of_the_document_divide_the_whole_piece() -> None:
    document = form_document(SONATA, propose_section_map(SONATA))
    sections = document["sections"]
    assert {section["level"] for section in sections} == {0}
    assert sections[0]["start"] == 0.0
    assert sections[-1]["end"] == float(SONATA.end_quarters)
    for one, other in pairwise(sections):
        assert one["end"] == other["start"]


def test_what_lies_inside_a_section_says_in_which() -> None:
    document = form_document(SONATA, propose_section_map(SONATA))
    everything = document["sections"] + document["inside"]
    for section in document["inside"]:
        around = everything[section["within"]]
        assert around["level"] == section["level"] - 1
        assert around["start"] <= section["start"] < section["end"] <= around["end"]


def test_measures_are_told_by_their_printed_numbers() -> None:
    first = form_document(SONATA, propose_section_map(SONATA))["sections"][0]
    assert first["from_measure"] == "1"
    assert first["why"] == "the beginning of the piece"
    assert first["confidence"] == 1.0
