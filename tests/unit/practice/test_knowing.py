"""How the sections of a piece stand, from takes that were worked out; the music is made up."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from companion.history.edits import ChangeDocument, SetPerformanceDate
from companion.history.knowing.clean import Thresholds
from companion.history.knowing.known import State
from companion.history.knowing.rules import CLEAN_RULES, rules_to_text
from companion.practice import results as working
from companion.practice.basis import results_basis
from companion.practice.knowing import KnowingAsked, piece_standing
from companion.practice.results import bring_up_to_date
from companion.practice.standing import newest_since, standing_of
from companion.score.model import Position
from companion.score.sections.section_map import Section
from tests.unit.practice.practice_examples import a_map, a_played_take, a_score
from tests.unit.storage.history_examples import MOMENT

SCORE, MAP = a_score(), a_map()
BASIS = results_basis(SCORE)
A_DAY = 24 * 60
TODAY = MOMENT.date() + timedelta(days=4)
TASK = Section(section_id="t", name="Turn", start=Position(1), end=Position(3))


@pytest.fixture
def practised(history):
    """Four days, a take of the whole piece on each; the second has a wrong key in the last half."""
    history.save_takes(
        a_played_take(f"take {day}", SCORE, minutes=day * A_DAY, wrong=("n22",) * (day == 1))
        for day in range(4)
    )
    return history


def asked(**more):
    values = {
        "piece_id": "piece",
        "basis": BASIS,
        "score": SCORE,
        "section_map": MAP,
        "today": TODAY,
        "tasks": (TASK,),
    }
    return KnowingAsked(**(values | more))


def map_with_task():
    return replace(MAP, sections=(*MAP.sections, TASK))


def work_out_all(history):
    return bring_up_to_date(history, "piece", SCORE, map_with_task(), BASIS)


def test_sections_and_tasks_stand_as_their_cold_takes_say(practised):
    work_out_all(practised)
    found = piece_standing(practised, asked())
    up, down, task = found
    assert (up.state, up.known_since) == (State.KNOWN, date(2026, 3, 4))
    assert [take.clean for take in down.cold_takes] == [True, False, True, True]
    assert down.known_since == date(2026, 3, 5)
    assert (task.name, task.is_task, task.state) == ("Turn", True, State.KNOWN)
    assert found.takes_to_work_out == 0
    assert found.section("b") is down
    assert found.section("nowhere") is None


def test_before_takes_are_worked_out_it_is_said_how_many_are_missing(practised):
    found = piece_standing(practised, asked())
    assert found.takes_to_work_out == 4
    assert {section.state for section in found} == {State.NEW}


def test_the_rules_kept_with_the_piece_hold_and_can_be_taken_back(practised):
    work_out_all(practised)
    text = rules_to_text(Thresholds(errors_per_100=10.0))
    edit = ChangeDocument("piece", CLEAN_RULES, "", text, "Rules of this piece")
    practised.apply(edit)
    found = piece_standing(practised, asked())
    assert found.rules.errors_per_100 == 10.0
    assert found.section("b").known_since == date(2026, 3, 4)
    practised.apply(edit.inverse())
    assert piece_standing(practised, asked()).section("b").known_since == date(2026, 3, 5)


def test_a_faster_target_judges_the_past_too(practised):
    work_out_all(practised)
    up = replace(MAP.sections[0], target_quarters_per_minute=140.0)
    faster = replace(MAP, sections=(up, MAP.sections[1]))
    found = piece_standing(practised, asked(section_map=faster))
    assert found.section("a").state is State.LEARNING
    assert found.section("b").state is State.KNOWN
    assert found.section("t").target_quarters_per_minute == 140.0  # that of the section around it


def test_results_of_an_older_program_are_measured_again_but_not_matched_again(
    practised, monkeypatch
):
    work_out_all(practised)
    with practised._connections.writing() as connection:  # as a file that format 3 just brought up
        connection.execute("DELETE FROM attempts")
        connection.execute("UPDATE take_results SET stretches = ''")
    assert piece_standing(practised, asked()).takes_to_work_out == 4
    matches = []

    def work_out(score, section_map, to_do, basis):
        matches.extend(one.match for one in to_do)
        return working.work_out_takes(score, section_map, to_do, basis)

    bring_up_to_date(practised, "piece", SCORE, map_with_task(), BASIS, work_out=work_out)
    assert len(matches) == 4
    assert None not in matches
    assert piece_standing(practised, asked()).section("a").known_since == date(2026, 3, 4)


def test_a_new_border_finds_its_cold_takes_and_the_old_one_keeps_its_own(practised):
    moved = a_map(5)
    practised.save_section_map("piece", MAP)
    practised.save_section_map("piece", moved)
    work_out_all(practised)
    bring_up_to_date(practised, "piece", SCORE, moved, BASIS)
    found = piece_standing(practised, asked(section_map=moved, tasks=()))
    assert len(found.section("a").cold_takes) == 4
    earlier = piece_standing(practised, asked(tasks=()))
    bring_up_to_date(practised, "piece", SCORE, MAP, BASIS)
    assert piece_standing(practised, asked(tasks=())) == replace(earlier, takes_to_work_out=0)
    assert len(earlier.section("a").cold_takes) == 4


def test_the_performance_caps_the_return(practised):
    work_out_all(practised)
    practised.apply(SetPerformanceDate("piece", None, TODAY + timedelta(days=1)))
    found = piece_standing(practised, asked(performance=TODAY + timedelta(days=1)))
    assert all(section.next_return.day <= found.performance for section in found)


def test_another_hour_at_which_days_begin_moves_takes_to_other_days(practised):
    late = a_played_take("late", SCORE, minutes=-14 * 60)  # half past four in the morning, Berlin
    practised.save_takes([late])
    work_out_all(practised)
    at_four = piece_standing(practised, asked()).section("a")
    at_six = piece_standing(practised, asked(day_starts_at_hour=6)).section("a")
    assert at_four.cold_takes[0].day == date(2026, 3, 2)
    assert at_six.cold_takes[0].day == date(2026, 3, 1)


@pytest.mark.parametrize("newest", [1, 2, 3, 50])
def test_the_map_shows_the_same_when_only_the_newest_takes_are_looked_at(practised, newest):
    first_half = a_played_take("later", SCORE, minutes=3 * A_DAY + 30, last_measure=3)
    practised.save_takes([first_half])
    work_out_all(practised)
    known = piece_standing(practised, asked(tasks=()))
    everything = standing_of(practised, "piece", BASIS, MAP)
    quickly = standing_of(practised, "piece", BASIS, MAP, newest=newest, known=known)
    plays = [measure.plays for measure in quickly.measures]
    assert all(0 < count <= 5 for count in plays)
    assert len(quickly.takes) <= 5
    for stretch, summary in everything.sections.items():
        found = quickly.sections[stretch]
        assert found.take_count == summary.take_count
        assert found.last_played_at == summary.last_played_at
        assert found.latest == summary.latest


def test_the_newest_takes_begin_with_a_whole_day(practised):
    practised.save_takes([a_played_take("again", SCORE, minutes=2 * A_DAY + 30)])
    work_out_all(practised)
    known = piece_standing(practised, asked(tasks=()))
    found = standing_of(practised, "piece", BASIS, MAP, newest=2, known=known)
    assert [take.take_id for take in found.takes] == ["take 3"]
    assert found.since is not None
    assert standing_of(practised, "piece", BASIS, MAP, newest=5, known=known).since is None


def test_few_takes_are_all_looked_at_one_by_one(practised):
    assert newest_since(practised, "piece") is None
