"""The demo takes that travel with the sample scores."""

import itertools
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from companion.demo.make_takes import play_plan
from companion.demo.plan import PLANS, measures_of_section
from companion.demo.takes import as_take, demo_takes, example_take
from companion.history.model import TakeSource
from companion.listening.notes import Verdict
from companion.midi.files import read_take
from companion.resources import sample_scores_folder
from companion.score.reading.reader import read_score

NOW = datetime(
    2026, 3, 30, 9, 0, tzinfo=ZoneInfo("Europe/Vienna")
)  # the day after the clock change


def score_file(stem):
    return sample_scores_folder() / f"{stem}.musicxml"


@pytest.fixture(scope="module")
def study():
    return read_score(score_file("study_in_d_minor"))


@pytest.fixture(scope="module")
def made(study):
    return list(play_plan(study, "study_in_d_minor", PLANS["study_in_d_minor"]))


@pytest.mark.parametrize("stem", PLANS)
def test_every_sample_score_has_demo_takes_and_an_example(stem):
    takes = demo_takes(score_file(stem), now=NOW)
    assert len(takes) == sum(len(day.takes) for day in PLANS[stem].days)
    assert read_take(example_take(score_file(stem))).note_count > 100


def test_the_study_was_practised_on_six_to_nine_days_in_fifteen_to_thirty_takes():
    takes = demo_takes(score_file("study_in_d_minor"), now=NOW)
    days = {take.started_at.astimezone(NOW.tzinfo).date() for take in takes}
    assert 6 <= len(days) <= 9
    assert 15 <= len(takes) <= 30


def test_demo_days_lie_just_behind_today_in_local_time():
    takes = demo_takes(score_file("study_in_d_minor"), now=NOW)
    assert all(take.started_at < NOW for take in takes)
    last = takes[-1].started_at.astimezone(NOW.tzinfo)
    assert (NOW.date() - last.date()).days == 1
    first = takes[0].started_at.astimezone(NOW.tzinfo)
    assert (first.hour, first.minute) == (17, 5)  # also before the clocks were changed
    assert all(take.started_at.tzinfo is UTC for take in takes)


def test_takes_of_one_day_do_not_overlap():
    takes = demo_takes(score_file("study_in_d_minor"), now=NOW)
    for earlier, later in itertools.pairwise(takes):
        gap = (later.started_at - earlier.started_at).total_seconds()
        assert gap > earlier.read().duration_seconds


def test_other_scores_have_none():
    assert demo_takes("/somewhere/else.musicxml", now=NOW) == ()
    assert example_take("/somewhere/else.musicxml") is None


def test_a_demo_take_is_labelled_as_demo_data():
    demo = demo_takes(score_file("the_footbridge"), now=NOW)[0]
    take = as_take(demo, piece_id="p", zone="Europe/Vienna")
    assert take.source is TakeSource.DEMO
    assert demo.read().title.startswith("Demo data")
    assert take.note_count == demo.read().note_count


def test_the_files_are_what_the_pianist_plays(made):
    # After a change: python -m companion.demo.make_takes
    folder = sample_scores_folder() / "takes" / "study_in_d_minor"
    assert {path.name for path in folder.glob("*.mid")} == {take.name for take in made}
    for take in (made[0], made[-1]):
        stored = read_take(folder / take.name)
        played = sorted((n.pitch, n.onset_seconds, n.velocity) for n in take.performance.notes)
        found = sorted((n.pitch, n.onset_seconds, n.velocity) for n in stored.notes)
        assert found == [pytest.approx(note, abs=1e-4) for note in played]
        assert stored.duration_seconds == pytest.approx(
            max(n.onset_seconds + n.duration_seconds for n in take.performance.notes), abs=1e-3
        )


def slips_per_100(performance, study, first, last):
    written = [i for i, n in enumerate(study.notes) if first <= n.measure_index <= last]
    wrong = sum(
        m.verdict is Verdict.WRONG and first <= study.notes[m.score_index].measure_index <= last
        for m in performance.truth
    )
    left_out = sum(n.score_index in set(written) for n in performance.left_out)
    return 100 * (wrong + left_out) / len(written)


def test_the_coda_is_the_weakest_section_on_every_day_and_gets_better(study, made):
    coda = measures_of_section(study, "Coda")
    whole = [take.performance for take in made if not take.planned.section][:-1]
    slips = [slips_per_100(p, study, *coda) for p in whole]
    elsewhere = [slips_per_100(p, study, 0, coda[0] - 1) for p in whole]
    assert all(there > here for there, here in zip(slips, elsewhere, strict=True))
    assert sum(slips[-3:]) < 0.8 * sum(slips[:3])


def test_the_tempo_rises_over_the_days(made):
    whole = [take.performance for take in made if not take.planned.section][:-1]
    assert whole[-1].quarters_per_minute > 1.1 * whole[0].quarters_per_minute
