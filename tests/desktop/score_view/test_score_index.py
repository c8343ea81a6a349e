"""Finding notes, measures and free paper on the pages; no window needed."""

from __future__ import annotations

import pytest

from companion.desktop.score_view.score_index import FARTHEST_SIGN, ScoreIndex, Spot


@pytest.fixture
def index(pages, score) -> ScoreIndex:
    found = ScoreIndex()
    for page in pages:
        found.add_page(page)
    found.set_notes(score.notes, score.measures)
    return found


def test_every_onset_has_the_x_of_a_head_that_is_played_then(index, score):
    heads: dict[tuple[int, float], list[float]] = {}
    for note in score.notes:
        box = index.head(note.note_id).head.box
        key = (note.measure_index, float(note.measure_offset_quarters))
        heads.setdefault(key, []).append(box.centre_x)
    for (measure, offset), xs in heads.items():
        assert min(xs) - 1.0 <= index.x_at(measure, offset) <= max(xs) + 1.0


def test_time_never_runs_backwards_on_paper(index, score):
    for measure in score.measures:
        length = float(measure.duration_quarters)
        xs = [index.x_at(measure.index, length * step / 16) for step in range(17)]
        assert xs == sorted(xs)
        box = index.measure(measure.index).measure.box
        assert all(box.x <= x <= box.right for x in xs)


def test_middle_of_each_head_belongs_to_that_note_and_its_measure(index, pages):
    for page in pages:
        for head in page.noteheads:
            spot = Spot(page.index, head.box.centre_x, head.box.centre_y)
            assert index.head_at(spot).note_id == head.note_id
            assert index.measure_at(spot).measure.measure_index == head.measure_index


def test_empty_corner_of_the_paper_has_no_note(index):
    assert index.head_at(Spot(0, 1.0, 1.0)) is None


def test_signs_keep_clear_of_noteheads(index, pages):
    for page in pages:
        for head in page.noteheads:
            placed = index.measure(head.measure_index)
            if head.staff != 1:
                continue
            above = index.free_above(placed, head.box.centre_x, 0.5)
            top = placed.measure.staves[0].box.y
            assert above <= max(head.box.y, top - FARTHEST_SIGN)
            below = index.free_below(placed, 1, head.box.centre_x, 0.5)
            assert below >= placed.measure.staves[0].box.bottom


def test_page_that_comes_again_replaces_the_first(index, pages):
    index.add_page(pages[0])
    assert len(index.pages) == len(pages)
    assert index.last_measure == pages[-1].measures[-1].measure_index


def test_unknown_things_are_not_found(index):
    assert index.head("nobody") is None
    assert index.measure(10_000) is None
    assert index.x_at(10_000, 0.0) is None
    assert index.measure_at(Spot(99, 1.0, 1.0)) is None
