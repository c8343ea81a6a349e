"""Takes that follow each other quickly, and a score that is opened while one is played."""

from __future__ import annotations

from companion.resources import sample_scores_folder

LONG_MS = 120_000


def play(companion, count=12, first=0):
    for note in companion.stand.score.notes[first : first + count]:
        companion.window.keyboard.played.emit(bytes((0x90, note.pitch, 70)))
        companion.window.keyboard.played.emit(bytes((0x80, note.pitch, 64)))


def end_take(companion):
    companion.window.actions_by_id["end_take"].trigger()


def test_two_takes_in_a_row_are_both_kept_and_no_page_is_turned_to(companion, qtbot):
    companion.window.show_page("page_days")
    ended = []
    companion.piano.take_finished.connect(ended.append)
    for first in (0, 12):
        play(companion, first=first)
        end_take(companion)
    basis = companion.stand.open_piece.basis
    qtbot.waitUntil(
        lambda: all(companion.history.match_of(take.take_id, basis) for take in ended),
        timeout=LONG_MS,
    )
    assert len(ended) == 2
    assert companion.window.page == "page_days"
    assert companion.takes.passages._worked.take_id == ended[1].take_id


def test_marks_of_a_take_go_when_it_is_thrown_away(companion, qtbot):
    play(companion)
    with qtbot.waitSignal(companion.piano.take_finished) as finished:
        end_take(companion)
    take_id = finished.args[0].take_id
    qtbot.waitUntil(lambda: companion.takes.passages.take_id == take_id, timeout=LONG_MS)
    qtbot.waitUntil(lambda: companion.history.take(take_id) is not None, timeout=LONG_MS)
    companion.takes._delete([take_id])
    assert companion.takes.passages.take_id is None
    assert companion.window.passage_row.isHidden()


def test_marks_of_the_take_before_stay_away_while_the_next_is_played(companion, qtbot):
    play(companion)
    with qtbot.waitSignal(companion.piano.take_finished) as finished:
        end_take(companion)
    play(companion)
    basis = companion.stand.open_piece.basis
    qtbot.waitUntil(
        lambda: companion.history.match_of(finished.args[0].take_id, basis) is not None,
        timeout=LONG_MS,
    )
    assert companion.takes.passages._worked is None
    end_take(companion)


def test_take_that_ends_because_another_score_is_opened_is_compared_with_its_own(
    companion, qtbot, own_score
):
    first = companion.stand.open_piece
    play(companion)
    with qtbot.waitSignal(companion.piano.take_finished, timeout=LONG_MS) as finished:
        companion.shelf.open_path(str(sample_scores_folder() / "study_in_d_minor.musicxml"))
    take = finished.args[0]
    qtbot.waitUntil(lambda: not companion.opening.loading, timeout=LONG_MS)
    assert take.piece_id == first.piece.piece_id
    assert companion.stand.piece.piece_id != first.piece.piece_id
    assert not companion.takes._just_played
    companion.shelf.open_path(str(own_score))
    qtbot.waitUntil(
        lambda: companion.history.match_of(take.take_id, first.basis) is not None, timeout=LONG_MS
    )
