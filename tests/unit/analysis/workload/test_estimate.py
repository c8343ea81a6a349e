"""The order of work: the hard first, known material is less work, the teacher is heard."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest

from companion.analysis.workload.estimate import estimate_workload, target_tempi
from companion.analysis.workload.ranking import hardest_first
from companion.analysis.workload.workload_table import workload_document, workload_table
from companion.errors import Cancelled
from companion.resources import sample_scores_folder
from companion.score.model import Position, Score
from companion.score.reading.reader import read_score
from companion.score.sections.edits import set_target
from companion.score.sections.proposal import propose_sections
from companion.score.sections.section_map import Section, SectionMap
from tests.unit.analysis.running_notes import hand_of, score_with

EASY = [60, 62, 64, 65, 67, 65, 64, 62]
WILD = [85, 60, 86, 61, 87, 63, 84, 62] * 2


def mapped(score, *borders):
    places = [0, *borders, len(score.measures)]
    sections = tuple(
        Section(
            section_id=f"s{number}",
            name="ABCDEFGH"[number],
            start=Position(start),
            end=Position(end),
        )
        for number, (start, end) in enumerate(pairwise(places))
    )
    return SectionMap(sections=sections)


def easy_wild_easy():
    easy = hand_of(EASY, value=Fraction(1, 2))
    wild = hand_of(WILD, start=4, name="w")
    again = hand_of(EASY, value=Fraction(1, 2), start=8, name="e")
    return score_with(easy, wild, again)


def test_the_wild_section_comes_first_and_says_why():
    score = easy_wild_easy()
    section_map = mapped(score, 1, 2)
    workload = estimate_workload(score, section_map)
    assert hardest_first(workload, section_map)[0] == "s1"
    hardest = workload.section("s1")
    assert hardest.rank == 1
    assert hardest.level == 5.0
    assert "wide leaps in the right hand" in hardest.in_words
    assert len(hardest.reasons) == 3
    assert type(hardest.difficulty) is float


def test_what_comes_again_is_half_the_work():
    score = easy_wild_easy()
    workload = estimate_workload(score, mapped(score, 1, 2))
    first, again = workload.section("s0"), workload.section("s2")
    assert first.features.effective_notes == 8
    assert again.features.effective_notes == 4
    assert again.work < 0.6 * first.work
    assert "mostly material from before" in again.reasons


def test_measures_have_their_own_figures_hand_by_hand():
    score = easy_wild_easy()
    workload = estimate_workload(score, mapped(score, 1, 2))
    difficulties = [measure.difficulty for measure in workload.measures]
    assert max(difficulties) == difficulties[1]
    assert all(measure.left == 0.0 for measure in workload.measures)
    assert workload.measures[1].right > workload.measures[0].right


@pytest.mark.parametrize(
    ("wanted", "order"),
    [
        ([], ["s1", "s0", "s2"]),
        (["s2", "s0", "s1"], ["s2", "s0", "s1"]),
        (["s2", "s1"], ["s2", "s0", "s1"]),
        (["s0"], ["s1", "s0", "s2"]),
        (["gone", "s0", "s1"], ["s0", "s1", "s2"]),
    ],
)
def test_the_teachers_order_is_kept(wanted, order):
    score = easy_wild_easy()
    section_map = mapped(score, 1, 2)
    workload = estimate_workload(score, section_map)
    assert list(hardest_first(workload, section_map, wanted)) == order


def test_targets_come_from_section_score_or_habit():
    score = easy_wild_easy()
    section_map = set_target(mapped(score, 1, 2), "s1", 132.0)
    assert target_tempi(score, section_map) == (60.0, 132.0, 60.0)
    silent = replace(score, tempo_marks=())
    assert target_tempi(silent, section_map) == (96.0, 132.0, 96.0)


def test_a_part_that_holds_sections_is_ranked_with_its_like():
    score = easy_wild_easy()
    flat = mapped(score, 1, 2)
    whole = Section(section_id="all", name="All", start=Position(0), end=Position(3))
    nested = SectionMap(sections=(whole, *(replace(s, parent_id="all") for s in flat.sections)))
    workload = estimate_workload(score, nested)
    assert workload.section("all").rank == 1
    assert [workload.section(f"s{k}").rank for k in range(3)] == [2, 1, 3]
    assert "all" not in hardest_first(workload, nested)


def test_an_empty_score_has_no_workload():
    empty = Score(title="", composer="", measures=(), notes=())
    assert estimate_workload(empty, SectionMap(sections=())).sections == ()


def test_the_estimate_can_be_stopped():
    def stop(_):
        raise Cancelled

    score = easy_wild_easy()
    with pytest.raises(Cancelled):
        estimate_workload(score, mapped(score, 1), report=stop)


@pytest.fixture(scope="module")
def study():
    return read_score(sample_scores_folder() / "study_in_d_minor.musicxml")


def test_the_coda_of_the_study_is_the_hardest_page(study):
    # demo data: it was composed as the hardest page, in sixteenths for both hands
    section_map = propose_sections(study)
    workload = estimate_workload(study, section_map)
    order = [section_map.section(name).name for name in hardest_first(workload, section_map)]
    assert order[0] == "Coda"
    coda = next(s for s in section_map.sections if s.name == "Coda")
    assert workload.section(coda.section_id).reasons[-1] == "new material"


def test_the_easy_piece_is_easier_than_every_section_of_the_study(study):
    footbridge = read_score(sample_scores_folder() / "the_footbridge.musicxml")
    easy = estimate_workload(footbridge, propose_sections(footbridge))
    hard = estimate_workload(study, propose_sections(study))
    assert max(s.difficulty for s in easy.sections) < min(s.difficulty for s in hard.sections)


def test_the_table_names_the_sections_in_the_order_of_work(study):
    section_map = propose_sections(study)
    workload = estimate_workload(study, section_map)
    first = workload_table(study, section_map, workload, 200).splitlines()[0]
    assert first.startswith(" 1. Coda (mm. 65–84): level 5.0 of 5, ")
    assert all(
        len(line) <= 60 for line in workload_table(study, section_map, workload, 60).splitlines()
    )
    document = workload_document(study, section_map, workload)
    assert document["order"][0] == "Coda"
    assert len(document["measures"]) == 84
