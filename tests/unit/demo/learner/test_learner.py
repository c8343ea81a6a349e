"""The simulated learner obeys the laws that it cites. Learners are seeded demo data."""

from datetime import timedelta
from math import log

import pytest

from companion.demo.learner.courses import FIRST_DAY, HABITS, Term, days_known, practise
from companion.demo.learner.learner import Learner
from companion.demo.learner.memory import MemoryLaw, Trace
from companion.listening.notes import Hands

DAY = 86_400.0 * MemoryLaw().between_sessions


def activation(moments, now):
    trace = Trace(MemoryLaw())
    for moment in moments:
        trace.encounter(moment)
    return trace.activation(now)


def test_one_encounter_fades_as_a_power_of_time():
    """m = -a ln t after one encounter (Pavlik & Anderson 2005, equation as published)."""
    law = MemoryLaw()
    for seconds in (60.0, 3600.0, 7 * DAY):
        assert activation([0.0], seconds) == pytest.approx(-law.decay_intercept * log(seconds))


def test_the_second_encounter_decays_by_the_activation_it_met():
    law = MemoryLaw()
    met = 100.0**-law.decay_intercept
    decay = law.decay_scale * met + law.decay_intercept
    expected = log(1100.0**-law.decay_intercept + 1000.0**-decay)
    assert activation([0.0, 100.0], 1100.0) == pytest.approx(expected)


def test_more_practice_holds_better():
    counts = [activation([30.0 * k for k in range(count)], 5 * DAY) for count in (1, 3, 9, 27)]
    assert counts == sorted(counts)


def test_spaced_practice_holds_longer_than_massed():
    """The spacing effect follows from the law; after ten days twelve encounters are compared."""
    massed = activation([30.0 * k for k in range(12)], 10 * DAY)
    spaced = activation([day * DAY + 30.0 * k for day in range(4) for k in range(3)], 10 * DAY)
    assert spaced > massed
    at_once = activation([30.0 * k for k in range(12)], 400.0)
    assert at_once > activation([day * DAY for day in range(4)], 3 * DAY + 400.0)


def test_a_learner_improves_with_practice_and_forgets_without():
    learner = Learner(7)
    name = learner.piece.sections[0].section_id
    learner.begin_day(FIRST_DAY)
    before = learner.holds(name)
    for number in range(6):
        learner.begin_day(FIRST_DAY + timedelta(days=number))
        learner.practise(name, 12.0)
    after = learner.holds(name)
    slips = learner.slip_rate(name)
    learner.begin_day(FIRST_DAY + timedelta(days=90))
    assert before == 0.0
    assert after > 0.5
    assert learner.holds(name) < after
    assert learner.slip_rate(name) > slips


def test_only_the_first_time_of_a_day_is_an_attempt():
    learner = Learner(3)
    name = learner.piece.sections[0].section_id
    learner.begin_day(FIRST_DAY)
    learner.practise(name, 10.0, Hands.RIGHT)
    learner.play_once([name])
    learner.begin_day(FIRST_DAY + timedelta(days=1))
    learner.play_once([name])
    assert [each.hands for each in learner.attempts[name]] == [Hands.RIGHT, Hands.BOTH]


def test_the_same_seed_is_the_same_learner_and_another_one_is_not():
    term = Term(days=6)

    def course(seed):
        learner = Learner(seed)
        outlook = practise(learner, HABITS["going on in order"], term)
        return outlook, learner.attempts

    assert course(1) == course(1)
    assert course(1) != course(2)


def test_sections_that_were_never_played_cannot_hold():
    learner = Learner(2)
    learner.begin_day(FIRST_DAY)
    learner.practise(learner.piece.sections[0].section_id, 30.0)
    outlook = learner.outlook(FIRST_DAY + timedelta(days=1))
    assert outlook.no_stop == 0.0
    assert outlook.expected_slips > 50


@pytest.mark.parametrize("habit", list(HABITS))
def test_no_habit_practises_longer_than_the_day_has(habit):
    term = Term(days=5, minutes=30)
    learner = Learner(4)
    for _ in HABITS[habit](learner, term):
        assert learner.session_minutes <= term.minutes * 1.05 + 0.5


def test_what_a_plan_is_told_of_the_difficulty_is_only_an_estimate():
    sections = [section for seed in range(150) for section in Learner(seed).piece.sections]
    mean = sum(s.difficulty * s.estimated for s in sections) / len(sections)
    assert 0.55 < mean < 0.75


def test_days_known_come_from_cold_takes_alone():
    term = Term(days=12, minutes=60)
    learner = Learner(5)
    practise(learner, HABITS["by our plan"], term)
    known = days_known(learner, term.performance)
    assert set(known) == {section.section_id for section in learner.piece.sections}
    assert all(days <= term.days for days in known.values())
