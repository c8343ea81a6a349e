from contextlib import contextmanager
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from companion.errors import HistoryUnavailable
from companion.history.edits import (
    AnnotateTake,
    ChangeSectionMap,
    DeleteTakes,
    MarkMemory,
    MoveTake,
    RenameTake,
    RestoreTakes,
    SetPerformanceDate,
    SeveralEdits,
)
from companion.history.undo import UndoStack
from companion.storage.history_file import HistoryFile
from tests.unit.storage.history_examples import MOMENT, a_piece, a_section_map, a_take


@contextmanager
def opened_history(folder):
    with HistoryFile(folder / "history.sqlite3", now=lambda: MOMENT) as opened:
        opened.save_piece(a_piece())
        opened.save_piece(a_piece("other"))
        opened.save_section_map("piece", a_section_map(4))
        opened.save_takes([a_take("one"), a_take("two", minutes=2)])
        yield opened


@pytest.fixture
def history(tmp_path):
    with opened_history(tmp_path) as opened:
        yield opened


def everything(history):
    return (
        {i: history.takes_of(i) for i in ("piece", "other", None)},
        {i: history.takes_of(i, in_bin=True) for i in ("piece", "other", None)},
        history.section_map("piece"),
        history.piece("piece"),
    )


EDITS = [
    DeleteTakes(("one",)),
    DeleteTakes(("one", "two")),
    RenameTake("one", before="", after="slow"),
    AnnotateTake("two", before="", after="thumb under"),
    MarkMemory(("one", "two"), from_memory=True),
    MoveTake("one", before_piece_id="piece", after_piece_id="other"),
    MoveTake("one", before_piece_id="piece", after_piece_id=None),
    ChangeSectionMap("piece", a_section_map(4), a_section_map(5), "Move border"),
    SetPerformanceDate("piece", before=None, after=date(2026, 6, 20)),
    SeveralEdits(
        (
            MoveTake("one", before_piece_id="piece", after_piece_id="other"),
            MoveTake("two", before_piece_id="piece", after_piece_id="other"),
        ),
        "Move 2 takes",
    ),
]


@pytest.mark.parametrize("edit", EDITS, ids=lambda edit: edit.text)
def test_every_edit_changes_something_and_undoing_it_changes_it_back(history, edit):
    before = everything(history)
    stack = UndoStack(history.apply)
    stack.do(edit)
    done = everything(history)
    assert done != before
    assert stack.undo_text == edit.text
    assert stack.undo() == edit
    assert everything(history) == before
    assert stack.redo_text == edit.text
    stack.redo()
    assert everything(history) == done


@pytest.mark.parametrize("edit", EDITS, ids=lambda edit: edit.text)
def test_the_inverse_of_the_inverse_is_the_edit(edit):
    assert edit.inverse().inverse() == edit


def test_a_deleted_take_lies_in_the_bin(history):
    history.apply(DeleteTakes(("one",)))
    assert [take.take_id for take in history.takes_of("piece")] == ["two"]
    (thrown,) = history.takes_of("piece", in_bin=True)
    assert (thrown.take_id, thrown.deleted_at) == ("one", MOMENT)
    history.apply(RestoreTakes(("one",)))
    assert history.takes_of("piece", in_bin=True) == ()


def test_a_take_stays_one_from_memory_in_the_bin_and_with_another_piece(history):
    history.apply(MarkMemory(("one",), from_memory=True))
    history.apply(MoveTake("one", before_piece_id="piece", after_piece_id="other"))
    history.apply(DeleteTakes(("one",)))
    history.apply(RestoreTakes(("one",)))
    assert [take.from_memory for take in history.takes_of("other")] == [True]
    assert [take.from_memory for take in history.takes_of("piece")] == [False]


def test_several_edits_are_done_all_or_none(history):
    before = everything(history)
    broken = SeveralEdits(
        (
            RenameTake("one", before="", after="first"),
            MoveTake("two", before_piece_id="piece", after_piece_id="nowhere"),
        ),
        "Impossible",
    )
    with pytest.raises(Exception, match="FOREIGN KEY"):
        history.apply(broken)
    assert everything(history) == before


def test_an_edit_that_fails_leaves_the_stack_as_it_was():
    def refuse(edit):
        raise HistoryUnavailable("The disk is full.")

    stack = UndoStack(refuse)
    with pytest.raises(HistoryUnavailable):
        stack.do(DeleteTakes(("one",)))
    assert stack.undo_text is None
    assert stack.undo() is None
    assert stack.redo() is None


def test_a_new_edit_ends_what_could_be_redone(history):
    stack = UndoStack(history.apply)
    stack.do(RenameTake("one", before="", after="slow"))
    stack.undo()
    stack.do(RenameTake("two", before="", after="fast"))
    assert stack.redo_text is None


names = st.sampled_from(["", "slow", "left hand", "again"])
takes = st.sampled_from(["one", "two"])
wishes = st.lists(
    st.one_of(
        st.tuples(st.just("rename"), takes, names),
        st.tuples(st.just("annotate"), takes, names),
        st.tuples(st.just("memory"), takes, st.none()),
        st.tuples(st.just("move"), takes, st.sampled_from(["piece", "other", None])),
        st.tuples(st.just("delete"), takes, st.none()),
        st.tuples(st.just("border"), st.integers(1, 7), st.none()),
        st.tuples(st.just("undo"), st.none(), st.none()),
    ),
    max_size=12,
)


def edit_for(history, kind, what, value):
    """The edit that the window would make of a wish, from how things stand."""
    if kind == "border":
        return ChangeSectionMap("piece", history.section_map("piece"), a_section_map(what))
    take = history.take(what)
    if kind == "rename":
        return RenameTake(what, take.name, value)
    if kind == "annotate":
        return AnnotateTake(what, take.remark, value)
    if kind == "memory":
        return MarkMemory((what,), not take.from_memory)
    if kind == "move":
        return MoveTake(what, take.piece_id, value)
    return RestoreTakes((what,)) if take.deleted_at else DeleteTakes((what,))


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(wishes)
def test_undoing_everything_leads_back_and_redoing_it_forward_again(wishes):
    with TemporaryDirectory() as folder, opened_history(Path(folder)) as history:
        before = everything(history)
        stack = UndoStack(history.apply)
        for kind, what, value in wishes:
            if kind == "undo":
                stack.undo()
            else:
                stack.do(edit_for(history, kind, what, value))
        done = everything(history)
        undone = 0
        while stack.undo():
            undone += 1
        assert everything(history) == before
        for _ in range(undone):
            stack.redo()
        assert everything(history) == done
