"""What must hold for every take, however it was played."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.listening.measuring.measures import measure_take
from companion.listening.measuring.score_index import index_score
from companion.listening.measuring.take_measures import TakeMeasures
from companion.listening.notes import Hands, HeardNote
from companion.score.sections.edits import nest
from tests.unit.listening.playing import Performance, invented_score, map_of

SCORE = invented_score(8)
INDEX = index_score(SCORE)
MAP = nest(map_of(SCORE, 0, 2, 5), "a", "b", "First part")
IDS = [note.note_id for note in SCORE.notes]

some_notes = st.sets(st.sampled_from(IDS), max_size=12).map(tuple)
passages = st.lists(
    st.tuples(
        st.integers(0, 27),  # from
        st.integers(4, 32),  # length
        st.sampled_from(list(Hands)),
        some_notes,
        some_notes,
        some_notes,
        st.floats(0, 3),
    ),
    min_size=1,
    max_size=4,
)


def performed(plan, quarter_seconds=0.5, jitter=None) -> Performance:
    performance = Performance(SCORE, quarter_seconds)
    for start, length, hands, miss, wrong, added, pause in plan:
        performance.play(
            start,
            start + length,
            hands=hands,
            miss=miss,
            wrong=tuple(set(wrong) - set(miss)),
            added_after=added,
            shift=jitter or (lambda note: 0.0),
        ).pause(pause)
    return performance


def measured(performance: Performance) -> TakeMeasures:
    heard, match = performance.finished()
    return measure_take(SCORE, MAP, heard, match, index=INDEX)


@settings(max_examples=80, deadline=None)
@given(passages)
def test_every_note_is_counted_once(plan):
    performance = performed(plan)
    heard, match = performance.finished()
    take = measure_take(SCORE, MAP, heard, match, index=INDEX)
    whole = take.whole
    assert whole.right + whole.wrong + whole.missed == whole.expected
    assert whole.missed == len(match.missed)
    # a note that was struck in a passage in which every note with a place was missed has none
    placed = {note.passage for note in match.notes if note.note_id}
    assert whole.played == sum(note.passage in placed for note in match.notes)
    leaves = {leaf.section_id for leaf in MAP.leaves}
    for name in ("expected", "right", "wrong", "missed", "added"):
        of_leaves = sum(getattr(r, name) for r in take.sections if r.section_id in leaves)
        of_passages = sum(getattr(r, name) for r in take.passages if r.section_id in leaves)
        of_measures = sum(getattr(m, name) for m in take.measures)
        assert of_leaves == of_passages == of_measures == getattr(whole, name)


@settings(max_examples=80, deadline=None)
@given(passages)
def test_shares_stay_within_their_bounds(plan):
    take = measured(performed(plan))
    for row in (take.whole, *take.sections, *take.passages):
        for share in (row.accuracy, row.precision, row.recall, row.coverage):
            assert share is None or 0.0 <= share <= 1.0
        if row.accuracy is not None and row.precision and row.recall:
            assert row.accuracy == pytest.approx(
                2 * row.precision * row.recall / (row.precision + row.recall)
            )
        assert not row.complete or row.coverage > 0.9
        for figure in (row.steadiness, row.evenness_sd_ms, row.chord_spread_ms):
            assert figure is None or figure >= 0.0
        if row.through_tempo_quarters_per_minute is not None:
            assert row.through_tempo_quarters_per_minute > 0.0


@settings(max_examples=50, deadline=None)
@given(passages, st.floats(0.5, 2.0))
def test_playing_at_another_tempo_scales_the_tempi_and_nothing_relative(plan, factor):
    plan = [(*step[:-1], 0.0) for step in plan]

    def uneven(note):
        return 0.01 * ((hash_of(note.note_id) % 5) - 2)

    slow = measured(performed(plan, 0.5, uneven))
    fast = measured(performed(plan, 0.5 * factor, lambda note: factor * uneven(note)))
    for one, two in zip(slow.sections, fast.sections, strict=True):
        assert (one.expected, one.right, one.wrong) == (two.expected, two.right, two.wrong)
        for name in ("running_tempo_quarters_per_minute", "through_tempo_quarters_per_minute"):
            if getattr(one, name) is not None:
                assert getattr(two, name) == pytest.approx(getattr(one, name) / factor)
        if one.steadiness is not None:
            assert two.steadiness == pytest.approx(one.steadiness, abs=1e-9)
        if one.evenness_cv is not None:
            assert two.evenness_cv == pytest.approx(one.evenness_cv, abs=1e-9)
            assert two.evenness_sd_ms == pytest.approx(one.evenness_sd_ms * factor, abs=1e-6)


def hash_of(text: str) -> int:
    return sum(ord(letter) * (k + 1) for k, letter in enumerate(text))


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 20), st.integers(8, 32), st.floats(0.2, 1.5), st.sampled_from(list(Hands)))
def test_a_metronome_is_right_steady_and_even(start, length, quarter_seconds, hands):
    take = measured(Performance(SCORE, quarter_seconds).play(start, start + length, hands=hands))
    for row in (take.whole, *take.sections):
        assert row.accuracy == 1.0
        assert row.steadiness is None or row.steadiness < 1e-9
        assert row.evenness_sd_ms is None or row.evenness_sd_ms < 1e-6
        assert (row.hesitations, row.stops, row.restarts) == (0, 0, 0)
        if row.running_tempo_quarters_per_minute is not None:
            assert row.running_tempo_quarters_per_minute == pytest.approx(60 / quarter_seconds)


@settings(max_examples=30, deadline=None)
@given(passages, st.floats(0, 1000))
def test_when_the_take_began_does_not_matter(plan, shift):
    heard, match = performed(plan).finished()
    later = tuple(
        HeardNote(n.onset_seconds + shift, n.duration_seconds, n.pitch, n.velocity) for n in heard
    )
    moved = replace(
        match,
        notes=tuple(replace(n, onset_seconds=n.onset_seconds + shift) for n in match.notes),
    )
    one = measure_take(SCORE, MAP, heard, match, index=INDEX)
    two = measure_take(SCORE, MAP, later, moved, index=INDEX)
    assert one.measures == two.measures
    for a, b in zip(one.sections, two.sections, strict=True):
        assert (a.stops, a.hesitations, a.restarts) == (b.stops, b.hesitations, b.restarts)
        if a.running_tempo_quarters_per_minute is not None:
            assert b.running_tempo_quarters_per_minute == pytest.approx(
                a.running_tempo_quarters_per_minute, rel=1e-6
            )
