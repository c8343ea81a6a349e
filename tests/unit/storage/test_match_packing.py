import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.listening.notes import (
    Beginning,
    Hands,
    JudgedNote,
    Match,
    MissedNote,
    Passage,
    Verdict,
)
from companion.storage.match_packing import pack_match, unpack_match

counts = st.integers(0, 20000)
pitches = st.integers(0, 127)
quarters = st.fractions(0, 2000, max_denominator=96)
ids = st.text(max_size=8)

judged = st.builds(
    JudgedNote,
    played=counts,
    onset_seconds=st.floats(0, 1e5),
    pitch=pitches,
    verdict=st.sampled_from(Verdict),
    passage=counts,
    score_index=st.none() | counts,
    note_id=st.none() | ids,
    measure_index=st.none() | counts,
    offset_quarters=st.none() | quarters,
    expected_pitch=st.none() | pitches,
)
missed = st.builds(
    MissedNote,
    score_index=counts,
    note_id=ids,
    measure_index=counts,
    offset_quarters=quarters,
    pitch=pitches,
    passage=counts,
    before_played=counts,
)
passages = st.builds(
    Passage,
    index=counts,
    first_played=counts,
    last_played=counts,
    from_quarters=quarters,
    to_quarters=quarters,
    from_measure_index=counts,
    to_measure_index=counts,
    hands=st.sampled_from(Hands),
    began_with=st.sampled_from(Beginning),
)


def tuples_of(values):
    return st.lists(values, max_size=5).map(tuple)


matches = st.builds(
    Match, notes=tuples_of(judged), missed=tuples_of(missed), passages=tuples_of(passages)
)


@given(matches)
def test_a_match_comes_back_exactly(match):
    assert unpack_match(pack_match(match)) == match


def note_with(**more):
    values = {"played": 0, "onset_seconds": 0.0, "pitch": 60, "verdict": Verdict.RIGHT}
    return Match(notes=(JudgedNote(passage=0, **{**values, **more}),), missed=(), passages=())


def test_whole_numbers_of_numpy_come_back_as_numbers():
    match = note_with(pitch=np.int64(61), onset_seconds=np.float64(0.1))
    (note,) = unpack_match(pack_match(match)).notes
    assert (type(note.pitch), note.pitch) == (int, 61)
    assert note.onset_seconds == 0.1


def test_what_is_no_part_of_a_match_is_refused():
    with pytest.raises(TypeError):
        pack_match(note_with(pitch=object()))
