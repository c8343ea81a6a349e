import pickle
from dataclasses import replace

import pytest

from companion.errors import Cancelled
from companion.history.results import Stretch, stretches_of
from companion.listening.notes import Hands
from companion.practice import basis
from companion.practice import results as working
from companion.practice.basis import results_basis
from companion.practice.results import bring_up_to_date, work_out_take, work_out_takes
from companion.practice.standing import standing_of
from companion.score.model import Hand
from tests.unit.practice.practice_examples import a_map, a_played_take, a_score

SCORE, MAP = a_score(), a_map()
BASIS = results_basis(SCORE)


def test_a_perfect_take_is_right_in_every_section():
    take = a_played_take("take", SCORE)
    worked_out = work_out_take(SCORE, MAP, take, BASIS)
    rows = worked_out.results.sections
    assert [(row.stretch, row.right, row.expected, row.accuracy) for row in rows] == [
        (stretch, 20, 20, 1.0) for stretch in stretches_of(MAP)
    ]
    assert all(row.complete and row.hands is Hands.BOTH for row in rows)
    assert rows[0].running_tempo_quarters_per_minute == pytest.approx(120.0)
    assert [m.measure_index for m in worked_out.results.measures] == list(range(8))


def test_a_wrong_key_shows_in_its_section_and_measure_only():
    worked_out = work_out_take(SCORE, MAP, a_played_take("take", SCORE, wrong=("n22",)), BASIS)
    up, down = worked_out.results.sections
    assert (up.wrong, down.wrong) == (0, 1)
    assert [m.wrong for m in worked_out.results.measures] == [0, 0, 0, 0, 0, 1, 0, 0]


def test_what_goes_to_the_worker_process_and_back_can_be_pickled():
    worked_out = work_out_take(SCORE, MAP, a_played_take("take", SCORE), BASIS)
    assert pickle.loads(pickle.dumps(worked_out)) == worked_out


def test_another_score_or_other_hands_are_another_basis():
    other_score = replace(SCORE, content_hash="another")
    bases = {BASIS, results_basis(other_score), results_basis(SCORE, {"n1": Hand.LEFT})}
    assert len(bases) == 3
    assert results_basis(SCORE, {}) == BASIS
    left_then_right = {"n2": Hand.LEFT, "n1": Hand.RIGHT}
    assert results_basis(SCORE, left_then_right) == results_basis(
        SCORE, dict(reversed(left_then_right.items()))
    )


@pytest.fixture
def practised(history):
    """A history with twenty takes, none of them worked out."""
    history.save_takes(
        a_played_take(f"take {n:02}", SCORE, minutes=n, first_measure=n % 4, last_measure=4 + n % 4)
        for n in range(20)
    )
    return history


def test_bringing_up_to_date_works_out_every_take_once(practised):
    assert bring_up_to_date(practised, "piece", SCORE, MAP, BASIS) == 20
    standing = standing_of(practised, "piece", BASIS, MAP)
    assert standing.takes_to_work_out == 0
    assert sum(measure.plays for measure in standing.measures) == 20 * 5
    assert {summary.take_count for summary in standing.sections.values()} == {20}
    assert bring_up_to_date(practised, "piece", SCORE, MAP, BASIS) == 0


def test_the_newest_takes_come_first_and_progress_is_told(practised, monkeypatch):
    asked, told, sizes = [], [], []

    def work_out(score, section_map, to_do, basis):
        asked.extend(one.take.take_id for one in to_do)
        sizes.append(len(to_do))
        return work_out_takes(score, section_map, to_do, basis)

    monkeypatch.setattr(working, "NOTES_IN_A_BATCH", 200)  # eight takes of 25 notes
    bring_up_to_date(practised, "piece", SCORE, MAP, BASIS, work_out=work_out, report=told.append)
    assert sizes == [8, 8, 4]
    assert asked == [f"take {n:02}" for n in reversed(range(20))]
    assert [progress.done for progress in told] == [0, 8, 16, 20]
    assert {progress.total for progress in told} == {20}


def test_a_cancelled_run_keeps_what_was_done_and_goes_on_from_there(practised, monkeypatch):
    monkeypatch.setattr(working, "TAKES_IN_A_BATCH", 16)

    def stop_after_the_first_batch(progress):
        if progress.done:
            raise Cancelled

    with pytest.raises(Cancelled):
        bring_up_to_date(practised, "piece", SCORE, MAP, BASIS, report=stop_after_the_first_batch)
    assert standing_of(practised, "piece", BASIS, MAP).takes_to_work_out == 4
    assert bring_up_to_date(practised, "piece", SCORE, MAP, BASIS) == 4


def test_a_moved_border_is_worked_out_from_the_stored_matches(practised, monkeypatch):
    practised.save_section_map("piece", MAP)
    bring_up_to_date(practised, "piece", SCORE, MAP, BASIS)
    moved = a_map(border=3)
    practised.save_section_map("piece", moved)
    assert standing_of(practised, "piece", BASIS, moved).takes_to_work_out == 20
    monkeypatch.setattr("companion.listening.matching.match.match_take", None)  # must not be needed
    bring_up_to_date(practised, "piece", SCORE, moved, BASIS)
    practised_anew = standing_of(practised, "piece", BASIS, moved)
    assert practised_anew.takes_to_work_out == 0
    # and undoing the edit finds the old results
    assert standing_of(practised, "piece", BASIS, MAP).takes_to_work_out == 0


def test_results_after_a_moved_border_are_those_of_working_out_all_anew(practised):
    moved = a_map(border=3)
    stretches = stretches_of(moved)
    bring_up_to_date(practised, "piece", SCORE, MAP, BASIS)
    bring_up_to_date(practised, "piece", SCORE, moved, BASIS)
    step_by_step = practised.section_results("piece", BASIS, stretches)
    practised.forget_results("piece")
    bring_up_to_date(practised, "piece", SCORE, moved, BASIS)
    assert practised.section_results("piece", BASIS, stretches) == step_by_step


def test_results_at_the_borders_of_a_map_of_long_ago_are_forgotten(practised, monkeypatch):
    monkeypatch.setattr(working, "VERSIONS_WITH_RESULTS", 2)
    for border in (4, 3, 2):
        practised.save_section_map("piece", a_map(border))
        bring_up_to_date(practised, "piece", SCORE, a_map(border), BASIS)
    left = {
        border: standing_of(practised, "piece", BASIS, a_map(border)).takes_to_work_out
        for border in (4, 3, 2)
    }
    assert left == {4: 20, 3: 0, 2: 0}


def test_a_better_method_works_out_everything_anew(practised, monkeypatch):
    bring_up_to_date(practised, "piece", SCORE, MAP, BASIS)
    monkeypatch.setattr(basis, "METHOD_VERSION", basis.METHOD_VERSION + 1)
    better = results_basis(SCORE)
    assert better != BASIS
    assert standing_of(practised, "piece", better, MAP).takes_to_work_out == 20
    bring_up_to_date(practised, "piece", SCORE, MAP, better)
    assert standing_of(practised, "piece", better, MAP).takes_to_work_out == 0


def test_a_take_that_is_not_of_this_piece_does_no_harm(history):
    history.save_take(a_played_take("take", SCORE, first_measure=2, last_measure=2, wrong=()))
    stranger = replace(SCORE, notes=SCORE.notes[:3], content_hash="short")
    assert bring_up_to_date(history, "piece", stranger, MAP, results_basis(stranger)) == 1


def test_two_sections_over_the_same_measures_give_one_row():
    whole = a_map(border=8).sections[0]
    only = replace(whole, section_id="only", parent_id="a")
    doubled = replace(MAP, sections=(whole, only))
    worked_out = work_out_take(SCORE, doubled, a_played_take("take", SCORE), BASIS)
    assert [row.stretch for row in worked_out.results.sections] == [Stretch.of(whole)]
