"""What holds for the form of any music, however senseless."""

from fractions import Fraction
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from companion.analysis.form import Level, propose_form, propose_section_map
from companion.analysis.form.division import best_division
from companion.analysis.form.measure_likeness import likeness_of, struck_tables
from companion.analysis.form.returns import NEAREST_MEASURES, SHORTEST_RETURN, find_returns
from companion.analysis.harmony import Harmony
from companion.score.model import CueKind, Measure, Position, PrintedCue, Score, ScoreNote
from companion.score.sections.edits import rename
from companion.score.sections.merging import merge_proposal
from companion.score.sections.section_map import validate

NO_HARMONY = Harmony(spans=())


@st.composite
def scores(draw: st.DrawFn) -> Score:
    """Up to 40 measures built from a few different ones, with an upbeat or not, signs or not."""
    patterns = draw(
        st.lists(
            st.lists(st.tuples(st.integers(0, 7), st.integers(36, 84)), max_size=6),
            min_size=1,
            max_size=5,
        )
    )
    order = draw(st.lists(st.integers(0, len(patterns) - 1), min_size=1, max_size=40))
    upbeat = draw(st.booleans())
    measures, notes, start = [], [], Fraction(0)
    for index, pattern in enumerate(order):
        length = Fraction(1) if upbeat and not index else Fraction(4)
        measures.append(
            Measure(
                index=index,
                number=str(index),
                start_quarters=start,
                duration_quarters=length,
            )
        )
        for number, (place, pitch) in enumerate(patterns[pattern]):
            offset = Fraction(place, 2)
            if offset >= length:
                continue
            notes.append(
                ScoreNote(
                    note_id=f"{index}-{number}",
                    onset_quarters=start + offset,
                    duration_quarters=Fraction(1, 2),
                    pitch=pitch,
                    staff=1 + number % 2,
                    measure_index=index,
                    measure_offset_quarters=offset,
                )
            )
        start += length
    kinds = [CueKind.REPEAT_END, CueKind.DOUBLE_BAR, CueKind.HEADING, CueKind.KEY_CHANGE]
    cues = draw(
        st.lists(
            st.builds(
                PrintedCue,
                kind=st.sampled_from(kinds),
                position=st.builds(Position, st.integers(0, len(order))),
                text=st.sampled_from(["", "Trio", "1"]),
            ),
            max_size=5,
        )
    )
    notes.sort(key=lambda note: (note.onset_quarters, note.pitch))
    return Score(
        title="", composer="", measures=tuple(measures), notes=tuple(notes), cues=tuple(cues)
    )


@given(scores())
@settings(deadline=None, max_examples=60)
def test_every_proposal_is_a_map_of_the_whole_piece(score: Score) -> None:
    section_map = propose_section_map(score, NO_HARMONY)
    validate(section_map, score.end)
    assert all(section.why for section in section_map.sections)
    assert all(section.name for section in section_map.sections)


@given(scores())
@settings(deadline=None, max_examples=40)
def test_each_level_tiles_the_piece(score: Score) -> None:
    form = propose_form(score, NO_HARMONY)
    for level in Level:
        sections = form.of_level(level)
        if not sections:
            continue
        assert (sections[0].start, sections[-1].end) == (Position(0), score.end)
        assert all(one.end == other.start for one, other in pairwise(sections))


@given(scores())
@settings(deadline=None, max_examples=40)
def test_returns_come_later_than_what_they_return_to_and_do_not_overlap(score: Score) -> None:
    returns = find_returns(likeness_of(struck_tables(score)))
    for each in returns:
        assert each.length >= SHORTEST_RETURN
        assert each.lag >= NEAREST_MEASURES
        assert 0 <= each.source < each.source_end <= len(score.measures)
    assert all(one.end <= other.start for one, other in pairwise(returns))


@given(scores(), scores(), st.data())
@settings(deadline=None, max_examples=40)
def test_what_was_renamed_outlives_any_proposal(
    score: Score, other: Score, data: st.DataObject
) -> None:
    before, after = propose_section_map(score, NO_HARMONY), propose_section_map(other, NO_HARMONY)
    chosen = data.draw(st.sampled_from(before.sections))
    edited = rename(before, chosen.section_id, "The pianist's own")
    merged = merge_proposal(edited, before, after)
    validate(merged, score.end)
    assert merged.section(chosen.section_id) == edited.section(chosen.section_id)


@given(
    st.dictionaries(st.integers(-5, 60), st.floats(-10, 20), max_size=12),
    st.integers(0, 20),
    st.integers(1, 40),
)
def test_borders_lie_inside_and_where_something_speaks_for_them(
    weights: dict[int, float], start: int, length: int
) -> None:
    borders = best_division(weights, start, start + length)
    assert list(borders) == sorted(set(borders))
    assert all(start < border < start + length and border in weights for border in borders)
