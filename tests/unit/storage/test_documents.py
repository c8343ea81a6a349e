from datetime import timedelta

from companion.history.edits import ChangeDocument
from tests.unit.storage.history_examples import MOMENT, a_piece, an_entry


def test_a_document_is_kept_per_piece_and_kind(history):
    history.save_piece(a_piece("another"))
    history.save_document("piece", "grouping", "one")
    history.save_document("piece", "fingers", "two")
    history.save_document("another", "grouping", "three")
    history.save_document("piece", "grouping", "four")
    assert history.document("piece", "grouping") == "four"
    assert history.document("piece", "fingers") == "two"
    assert history.document("another", "grouping") == "three"


def test_a_document_that_was_never_written_or_was_emptied_is_empty(history):
    assert history.document("piece", "grouping") == ""
    history.save_document("piece", "grouping", "one")
    history.save_document("piece", "grouping", "")
    assert history.document("piece", "grouping") == ""


def test_a_change_of_a_document_can_be_undone(history):
    edit = ChangeDocument("piece", "harmony", before="", after="V", doing="Correct chord")
    history.apply(edit)
    assert history.document("piece", "harmony") == "V"
    history.apply(edit.inverse())
    assert history.document("piece", "harmony") == ""
    assert edit.text == edit.inverse().text == "Correct chord"


def test_entries_come_back_in_the_order_in_which_they_happened(history):
    late = an_entry("late", happened_at=MOMENT + timedelta(hours=1))
    early = an_entry("early")
    other = an_entry("other", kind="drilled")
    history.add_entries([late, other, early])
    assert history.entries_of("piece", "recited") == (early, late)
    assert history.entries_of(None, "recited") == ()


def test_adding_an_entry_twice_keeps_the_first(history):
    history.add_entries([an_entry(content="first")])
    history.add_entries([an_entry(content="second"), an_entry("new")])
    assert [entry.content for entry in history.entries_of("piece", "recited")] == ["first", "{}"]


def test_an_entry_need_not_belong_to_a_piece(history):
    history.add_entries([an_entry(piece_id=None, kind="discomfort")])
    assert len(history.entries_of(None, "discomfort")) == 1
