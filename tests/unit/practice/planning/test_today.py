"""The plan of today from a history: how it stood this morning, and what was done since."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from companion.history.drilled import DRILLED
from companion.history.knowing.known import State
from companion.history.planning.model import Activity, Place, PlaceKind, PlannedTurn
from companion.history.planning.situation import Availability
from companion.history.planning.ticking import DoneKind
from companion.listening.notes import Hands
from companion.practice.planning.document import (
    DAMAGED,
    PlanChoices,
    choices_to_text,
    text_to_choices,
)
from companion.practice.planning.done import AWAY, away_entry, done_on
from companion.practice.planning.situation import situation_of, touched_by_takes
from companion.practice.planning.today import plan_today
from companion.score.model import Position
from companion.score.sections.section_map import Section, SectionMap
from companion.storage.history_file import HistoryFile
from tests.unit.practice.played_days import DOWN, TODAY, UP, asked, play
from tests.unit.practice.practice_examples import a_map
from tests.unit.storage.history_examples import a_piece, an_entry


@pytest.fixture
def history(tmp_path):
    with HistoryFile(tmp_path / "history.sqlite3") as history:
        history.save_piece(a_piece())
        yield history


def test_what_is_played_today_changes_no_plan_but_ticks_it_off(history):
    for day in (-3, -2):
        play(history, f"day {day}", day, UP)
    before = plan_today(history, asked())
    play(history, "today", 0, UP)
    after = plan_today(history, asked())
    assert after.plan.plan == before.plan.plan
    assert sum(turn.done for turn in before.plan.turns) == 0
    done = [turn for turn in after.plan.turns if turn.done_ids]
    assert done
    assert all(turn.done_ids == ("today",) for turn in done)
    assert all("a" in turn.turn.place.section_ids for turn in done)


def test_a_section_stands_as_its_cold_takes_say(history):
    for day in (-4, -3, -2):
        play(history, f"day {day}", day, UP)
    play(history, "apart", -1, DOWN, hands=Hands.RIGHT)
    found = situation_of(history, asked(), touched_by_takes(history, asked()))
    up, down = found.sections
    assert (up.state, up.rank, up.known_since) == (State.KNOWN, 2, date(2026, 3, 7))
    assert (down.state, down.rank, down.last_played) == (State.NEW, 1, date(2026, 3, 8))
    assert found.first_day == date(2026, 3, 5)
    # 16 quarters at 90 a minute, for nothing says how fast the piece goes
    assert up.playing_seconds == pytest.approx(16 / 90 * 60)
    assert (up.practised_minutes, down.practised_minutes) == (3.0, 1.0)


def test_sections_inside_sections_are_planned_and_take_the_target_around_them(history):
    whole = Section(
        section_id="whole",
        name="All of it",
        start=Position(0),
        end=Position(8),
        target_quarters_per_minute=120.0,
    )
    inside = tuple(replace(each, parent_id="whole") for each in a_map().sections)
    wanted = asked(section_map=SectionMap(sections=(whole, *inside)))
    found = situation_of(history, wanted, touched_by_takes(history, wanted))
    assert [section.section_id for section in found.sections] == ["a", "b"]
    assert [section.target_beats_per_minute for section in found.sections] == [120.0, 120.0]


def test_borders_and_run_throughs_are_told_from_takes(history):
    play(history, "both", -5, UP, DOWN)
    play(history, "one", -1, UP)
    found = situation_of(history, asked(), touched_by_takes(history, asked()))
    assert [(join.first_id, join.second_id) for join in found.joins] == [("a", "b")]
    assert found.joins[0].last_played == date(2026, 3, 4)
    assert found.last_run_through == date(2026, 3, 4)


def test_a_tempo_is_told_as_a_share_of_the_target(history):
    sections = [replace(each, target_quarters_per_minute=120.0) for each in a_map().sections]
    wanted = asked(section_map=replace(a_map(), sections=tuple(sections)))
    play(history, "today", 0, UP, DOWN, seconds=32.0)
    (done,) = done_on(wanted, touched_by_takes(history, wanted), (), TODAY)
    assert done.kind is DoneKind.PLAYED
    assert [part.tempo_share for part in done.parts] == [0.75, 0.75]
    assert [part.seconds for part in done.parts] == [16.0, 16.0]


def test_drills_answers_and_what_was_done_away_count_for_their_section(history):
    touched = touched_by_takes(history, asked())
    moment = datetime(2026, 3, 9, 17, tzinfo=UTC)
    drill = an_entry("drill", kind=DRILLED, happened_at=moment, content='{"drill_id": "one:n5:n8"}')
    answer = an_entry(
        "answer",
        happened_at=moment,
        content='{"start": "20", "parts": [true, true, true, true], "answer": "V", '
        '"with_score": false}',
    )
    turn = PlannedTurn(
        turn_id="conduct",
        activity=Activity.CONDUCT,
        place=Place(kind=PlaceKind.SECTION, section_ids=("b",), name="Down"),
        minutes=4,
        why="Hands at rest.",
    )
    entries = [drill, answer, away_entry(turn, "piece", moment, "UTC")]
    found = {each.kind: each for each in done_on(asked(), touched, entries, TODAY)}
    assert [part.section_id for part in found[DoneKind.DRILLED].parts] == ["a"]
    assert [part.section_id for part in found[DoneKind.RECITED].parts] == ["b"]
    (conducted,) = found[DoneKind.CONDUCTED].parts
    assert (conducted.section_id, conducted.seconds) == ("b", 240.0)
    yesterday = TODAY - timedelta(days=1)
    assert done_on(asked(), touched, entries, yesterday) == ()


def test_entries_that_make_no_sense_count_for_nothing(history):
    touched = touched_by_takes(history, asked())
    moment = datetime(2026, 3, 9, 17, tzinfo=UTC)
    kinds = (DRILLED, "recited", AWAY, "something else")
    for number, content in enumerate(("", "[]", '{"drill_id": 3}', '{"activity": "conduct"}')):
        entries = [
            an_entry(f"{kind} {number}", kind=kind, happened_at=moment, content=content)
            for kind in kinds
        ]
        assert done_on(asked(), touched, entries, TODAY) == ()


def test_choices_are_kept_as_text():
    choices = PlanChoices(
        availability=Availability(
            minutes_by_weekday=(30, 30, 30, 30, 30, 60, 0),
            days_off=frozenset({date(2026, 3, 12)}),
            other_minutes=((date(2026, 3, 14), 90),),
        ),
        from_memory=True,
    )
    assert text_to_choices(choices_to_text(choices)) == (choices, "")
    assert choices_to_text(PlanChoices()) == ""


@pytest.mark.parametrize(
    "text",
    ["{", "[]", "{}", '{"minutes": [1], "days_off": [], "other_minutes": {}, "from_memory": 1}'],
)
def test_damaged_choices_are_the_usual_ones_with_a_word(text):
    assert text_to_choices(text) == (PlanChoices(), DAMAGED)


def test_without_a_take_the_hardest_section_is_begun(history):
    plan = plan_today(history, asked()).plan
    assert plan.plan.turns
    at_work = [turn for turn in plan.plan.turns if turn.activity is not Activity.REPLAY]
    assert at_work[0].place.section_ids == ("b",)
    assert not any(turn.done for turn in plan.turns)
