"""Whatever is played, also noise: comparing gives a sound document and a table that fits."""

import json

from hypothesis import given, settings
from hypothesis import strategies as st

from companion.listening.comparison import compare, comparison_document
from companion.listening.notes import HeardNote
from companion.listening.section_table import section_table
from tests.unit.listening.playing import invented_score, map_of

SCORE = invented_score(6)
MAP = map_of(SCORE, 0, 2, 4)
WRITTEN = [note.pitch for note in SCORE.notes]

heard_notes = st.lists(
    st.builds(
        HeardNote,
        st.floats(0, 20),
        st.floats(0, 2),
        st.one_of(st.sampled_from(WRITTEN), st.integers(0, 127)),
        st.integers(1, 127),
    ),
    max_size=60,
)


@settings(max_examples=40, deadline=None)
@given(heard_notes, st.integers(24, 140))
def test_any_take_gives_a_sound_document_and_a_table_that_fits(notes, width):
    comparison = compare(SCORE, MAP, notes)
    document = json.loads(json.dumps(comparison_document(comparison), allow_nan=False))
    assert [note["played"] for note in document["notes"]] == list(range(len(notes)))
    for section in document["sections"]:
        assert section["right"] + section["wrong"] + section["missed"] == section["expected"]
    whole = comparison.measures.whole
    assert whole.right + whole.wrong + whole.missed == whole.expected
    assert max(map(len, section_table(comparison, width).splitlines())) <= width
