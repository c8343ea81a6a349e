"""The form of pieces that were put together from themes of our own."""

from itertools import pairwise

import pytest

from companion.analysis.form import Level, propose_form, propose_section_map
from companion.analysis.form.returns import Kind
from companion.errors import Cancelled
from companion.progress import Progress
from companion.score.model import CueKind, PrintedCue, Score
from companion.score.sections.section_map import validate
from tests.unit.analysis.form.composed import AWAY, FIRST, SECOND, at, composed, moved, varied

TERNARY = composed(FIRST, SECOND, AWAY, FIRST, SECOND)
SONATA = composed(
    FIRST,
    moved(SECOND, 1),
    AWAY,
    FIRST,
    SECOND,
    cues=[PrintedCue(kind=CueKind.REPEAT_END, position=at(16))],
)


def starts(score: Score, level: Level = Level.SECTION) -> list[int]:
    return [section.start.measure_index for section in propose_form(score).of_level(level)]


def letters(score: Score) -> list[str]:
    return [section.letter for section in propose_form(score).of_level(Level.SECTION)]


def test_the_return_of_the_opening_begins_a_section() -> None:
    assert 24 in starts(TERNARY)


def test_what_returns_has_the_letter_of_what_it_returns_to() -> None:
    found = dict(zip(starts(TERNARY), letters(TERNARY), strict=True))
    assert found[0] == "A"
    assert found[24] == "A\N{PRIME}"


def test_a_varied_return_is_a_return() -> None:
    score = composed(FIRST, SECOND, AWAY, varied(FIRST), SECOND)
    found = dict(zip(starts(score), letters(score), strict=True))
    assert found[24] == "A\N{PRIME}"
    first = propose_form(score).returns[0]
    assert (first.start, first.source, first.kind) == (24, 0, Kind.VARIED)


def test_a_transposed_return_knows_how_far_it_was_moved() -> None:
    returns = propose_form(composed(FIRST, AWAY, moved(FIRST, 2))).returns
    (found,) = [each for each in returns if each.start == 16]
    assert (found.source, found.length, found.semitones, found.kind) == (0, 8, 2, Kind.TRANSPOSED)


def test_an_exact_return_is_exact() -> None:
    returns = propose_form(TERNARY).returns
    assert [(each.start, each.source, each.kind) for each in returns] == [(24, 0, Kind.EXACT)]
    assert returns[0].length == 16


def test_a_repeat_sign_and_the_return_part_a_sonata() -> None:
    form = propose_form(SONATA)
    found = {section.start.measure_index: section for section in form.of_level(Level.SECTION)}
    assert {0, 16, 24} <= set(found)
    assert "a repeat has ended" in found[16].why
    assert "the opening returns (mm. 1–" in found[24].why


def test_a_second_theme_begins_where_it_later_stands_in_the_home_key() -> None:
    found = {s.start.measure_index: s for s in propose_form(SONATA).of_level(Level.SECTION)}
    assert {8, 32} <= set(found)
    assert "another key" in found[8].why
    assert found[32].letter == found[8].letter + "\N{PRIME}"


def test_every_border_has_its_reason_and_a_confidence() -> None:
    for section in propose_form(SONATA).sections:
        assert section.why
        assert 0 < section.confidence <= 1


def test_repeating_the_theme_at_once_is_no_new_section() -> None:
    assert starts(composed(FIRST, FIRST)) == []


def test_music_without_any_return_or_sign_is_divided_into_phrases_only() -> None:
    form = propose_form(composed(FIRST, SECOND, AWAY))
    assert not form.of_level(Level.PART)
    assert len(form.of_level(Level.PHRASE)) >= 2


def test_headings_make_parts_with_sections_and_phrases_inside() -> None:
    score = composed(
        FIRST,
        SECOND,
        FIRST,
        AWAY,
        SECOND,
        AWAY,
        cues=[
            PrintedCue(kind=CueKind.REPEAT_END, position=at(8)),
            PrintedCue(kind=CueKind.HEADING, position=at(24), text="TRIO."),
            PrintedCue(kind=CueKind.REPEAT_END, position=at(32)),
        ],
    )
    assert starts(score, Level.PART) == [0, 24]
    section_map = propose_section_map(score)
    assert [section.name for section in section_map.top_level] == ["First part", "Trio"]
    inside = section_map.children(section_map.top_level[0].section_id)
    assert 8 in [section.start.measure_index for section in inside]


def test_words_that_are_too_short_for_a_heading_part_nothing() -> None:
    cue = PrintedCue(kind=CueKind.HEADING, position=at(16), text="or \ue262")
    assert starts(composed(FIRST, SECOND, AWAY, cues=[cue]), Level.PART) == []


@pytest.mark.parametrize("score", [TERNARY, SONATA], ids=["ternary", "sonata"])
def test_the_map_of_a_form_keeps_the_promises_of_a_map(score: Score) -> None:
    section_map = propose_section_map(score)
    validate(section_map, score.end)
    names = [section.name for section in section_map.top_level]
    assert len(set(names)) == len(names)


def test_proposing_again_gives_the_same_map() -> None:
    assert propose_section_map(SONATA) == propose_section_map(SONATA)


@pytest.mark.parametrize("fifths", [-4, 3])
def test_a_transposed_piece_has_the_same_form(fifths: int) -> None:
    there = composed(*(moved(part, fifths) for part in (FIRST, SECOND, AWAY, FIRST, SECOND)))
    assert starts(there) == starts(TERNARY)
    assert letters(there) == letters(TERNARY)


def test_levels_tile_the_piece() -> None:
    form = propose_form(TERNARY)
    for level in (Level.SECTION, Level.PHRASE):
        sections = form.of_level(level)
        assert sections[0].start == at(0)
        assert sections[-1].end == SONATA.end
        for one, other in pairwise(sections):
            assert one.end == other.start


def test_a_score_without_measures_has_no_form() -> None:
    empty = Score(title="", composer="", measures=(), notes=())
    assert propose_form(empty).sections == ()
    assert propose_section_map(empty).sections == ()


def test_a_score_of_rests_is_one_section() -> None:
    silent = Score(title="", composer="", measures=SONATA.measures[:4], notes=())
    (section,) = propose_section_map(silent).sections
    assert (section.start, section.end) == (at(0), at(4))


def test_the_work_tells_how_far_it_is_and_can_be_cancelled() -> None:
    told: list[Progress] = []
    propose_form(TERNARY, report=told.append)
    assert [each.done for each in told] == [0, 1, 2]

    def cancel(progress: Progress) -> None:
        if progress.done == 1:
            raise Cancelled

    with pytest.raises(Cancelled):
        propose_form(TERNARY, report=cancel)
