from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from companion.demo.pianist import raw_events
from companion.errors import Cancelled
from companion.history.edits import MoveTake
from companion.history.model import Take
from companion.listening.notes import HeardNote
from companion.listening.recognition.piece_index import ShelfIndex, build_index
from companion.practice.kept import LOADED_SCORE, LoadedScore, score_key
from companion.practice.opening import ReadScore
from companion.practice.shelf_listening import (
    FilingReason,
    StandWatch,
    file_waiting_takes,
    filing_edit,
    listening_shelf,
    same_music_on_shelf,
    who_is_it,
    with_piece,
    without_piece,
)
from companion.score.cache import ScoreCache
from companion.score.model import Hand, Measure, Score
from companion.score.sections.section_map import SectionMap
from companion.storage.pieces import ScoreFile
from tests.unit.listening.invented_pieces import invented_piece, play
from tests.unit.storage.history_examples import a_piece, a_take

SEEDS = {"piece": 1, "second": 2, "third": 3}


@pytest.fixture(scope="module")
def index() -> ShelfIndex:
    return build_index({key: invented_piece(seed) for key, seed in SEEDS.items()})


def take_of(heard: list[HeardNote], take_id: str = "take", piece_id: str | None = "piece") -> Take:
    return a_take(take_id, piece_id=piece_id, events=raw_events(heard), note_count=len(heard))


def tune(key: str, **how: object) -> list[HeardNote]:
    return play(invented_piece(SEEDS[key]), **how)  # type: ignore[arg-type]


def a_scale(notes: int = 60) -> list[HeardNote]:
    steps = (0, 2, 4, 5, 7, 9, 11)
    up = [48 + 12 * octave + step for octave in range(3) for step in steps]
    keys = ([*up, *reversed(up[1:])] * 3)[:notes]
    return [HeardNote(0.2 * k, 0.15, key, 64) for k, key in enumerate(keys)]


def score_of(seed: int) -> Score:
    return Score(
        title="Made up",
        composer="",
        measures=tuple(
            Measure(
                index=k,
                number=str(k + 1),
                start_quarters=Fraction(4 * k),
                duration_quarters=Fraction(4),
            )
            for k in range(40)
        ),
        notes=tuple(invented_piece(seed)),
    )


def keep_as_read(folder, piece, seed: int) -> None:
    """As reading the score of a piece leaves it in the cache."""
    read = ReadScore(
        path="",
        part=piece.part,
        score_hash=piece.score_hash,
        score_file=ScoreFile("made up.musicxml", b""),
        score=score_of(seed),
    )
    loaded = LoadedScore(read=read, proposal=SectionMap(sections=()))
    ScoreCache(folder).put(score_key(piece.score_hash, None), LOADED_SCORE, loaded)


# where a take belongs


def test_a_take_of_the_piece_on_the_stand_stays_with_it(index):
    filing = who_is_it(index, take_of(tune("piece", from_quarters=40, count=60)))
    assert filing.reason is FilingReason.OWN_PIECE
    assert filing.piece_id == "piece"
    assert filing.share > 0.8
    assert not filing.moves
    assert filing_edit(filing) is None


def test_a_take_of_another_piece_is_filed_there_and_can_be_moved_back(index):
    filing = who_is_it(index, take_of(tune("second", from_quarters=40, count=60)))
    assert filing.reason is FilingReason.OTHER_PIECE
    assert filing.piece_id == "second"
    edit = filing_edit(filing)
    assert edit == MoveTake("take", before_piece_id="piece", after_piece_id="second")
    assert edit.inverse() == MoveTake("take", before_piece_id="second", after_piece_id="piece")


def test_a_warm_up_is_kept_as_not_filed_yet(index):
    filing = who_is_it(index, take_of(a_scale()))
    assert filing.reason is FilingReason.NOT_ON_SHELF
    assert filing.piece_id is None
    assert filing_edit(filing) == MoveTake("take", "piece", None)


def test_a_warm_up_before_the_piece_on_the_stand_does_not_take_it_away(index):
    scale = a_scale(80)
    piece = tune("piece", count=40, start_seconds=scale[-1].onset_seconds + 2)
    filing = who_is_it(index, take_of(scale + piece))
    assert filing.reason is FilingReason.OWN_PIECE
    assert not filing.moves


def test_a_take_of_two_pieces_stays_where_it_is_and_names_the_other(index):
    first = tune("piece", count=60)
    second = tune("third", count=60, start_seconds=first[-1].onset_seconds + 2)
    filing = who_is_it(index, take_of(first + second))
    assert not filing.moves
    assert filing.others == ("third",)


def test_a_take_half_of_which_is_another_piece_is_left_in_doubt(index):
    scale = a_scale(70)
    other = tune("second", count=50, start_seconds=scale[-1].onset_seconds + 2)
    filing = who_is_it(index, take_of(scale + other))
    assert filing.reason is FilingReason.IN_DOUBT
    assert not filing.moves
    assert filing.others == ("second",)


@pytest.mark.parametrize("notes", [0, 1, 5, 11])
def test_a_few_notes_never_move_a_take(index, notes):
    filing = who_is_it(index, take_of(tune("second", count=notes)))
    assert filing.reason is FilingReason.TOO_SHORT
    assert not filing.moves


def test_a_short_take_that_fits_nothing_stays_on_the_stand(index):
    filing = who_is_it(index, take_of(a_scale(20)))
    assert filing.reason is FilingReason.TOO_SHORT
    assert not filing.moves


def test_a_take_is_not_set_aside_when_the_score_of_its_piece_is_not_known_here(index):
    filing = who_is_it(index.without("piece"), take_of(a_scale()))
    assert filing.reason is FilingReason.IN_DOUBT
    assert not filing.moves


def test_a_piece_that_is_on_the_shelf_twice_keeps_its_takes(index):
    twice = index.with_piece("copy", index.pieces["piece"])
    filing = who_is_it(twice, take_of(tune("piece", count=80)))
    assert filing.reason is FilingReason.OWN_PIECE
    assert not filing.moves


def test_a_take_that_two_editions_explain_names_both(index):
    twice = index.with_piece("copy", index.pieces["third"])
    filing = who_is_it(twice, take_of(tune("third", count=60), piece_id=None))
    assert {filing.piece_id, *filing.same_music} == {"third", "copy"}
    assert same_music_on_shelf(twice, "third") == ("copy",)
    assert same_music_on_shelf(twice, "piece") == ()
    assert same_music_on_shelf(twice, "nowhere") == ()


def test_an_unfiled_take_of_known_music_is_filed(index):
    filing = who_is_it(index, take_of(tune("third", count=60), piece_id=None))
    assert (filing.before_piece_id, filing.piece_id) == (None, "third")


def test_an_unfiled_take_of_unknown_music_stays_unfiled(index):
    filing = who_is_it(index, take_of(a_scale(), piece_id=None))
    assert filing.piece_id is None
    assert not filing.moves


def test_filing_is_carried_out_and_undone_in_the_history(history, index):
    history.save_piece(a_piece("second"))
    history.save_take(take_of(tune("second", count=60)))
    edit = filing_edit(who_is_it(index, history.take("take")))
    history.apply(edit)
    assert [take.take_id for take in history.takes_of("second")] == ["take"]
    history.apply(edit.inverse())
    assert [take.take_id for take in history.takes_of("piece")] == ["take"]


def test_takes_that_wait_are_found_when_their_piece_comes_on_the_shelf(history, index):
    history.save_take(take_of(tune("third", count=60), "of third", None))
    history.save_take(take_of(a_scale(), "scale", None))
    assert file_waiting_takes(history, index.without("third")) == ()
    filings = file_waiting_takes(history, index)
    assert [(f.take_id, f.piece_id) for f in filings] == [("of third", "third")]
    assert history.take("of third").piece_id is None  # nothing is moved by asking


# while playing


def test_another_piece_is_suggested_once_while_playing(index):
    watch = StandWatch(index, "piece")
    heard = tune("second", count=80)
    told = [guess for note in heard if (guess := watch.hear(note))]
    assert [guess.piece_key for guess in told] == ["second"]
    watch.forget()
    assert any(watch.hear(note) for note in heard)


def test_the_piece_on_the_stand_is_never_suggested(index):
    watch = StandWatch(index, "piece")
    assert not any(watch.hear(note) for note in tune("piece", count=120))


# the index of the shelf


def test_the_index_holds_what_was_read_and_names_what_was_not(history, tmp_path):
    second = a_piece("second")
    history.save_piece(second)
    keep_as_read(tmp_path, second, SEEDS["second"])
    shelf = listening_shelf(history, tmp_path)
    assert set(shelf.index.pieces) == {"second"}
    assert [piece.piece_id for piece in shelf.unread] == ["piece"]
    take = take_of(tune("second", count=60), piece_id=None)
    assert who_is_it(shelf.index, take).piece_id == "second"


def test_an_unchanged_shelf_keeps_its_index(history, tmp_path):
    keep_as_read(tmp_path, a_piece(), SEEDS["piece"])
    shelf = listening_shelf(history, tmp_path)
    assert listening_shelf(history, tmp_path, shelf).index is shelf.index


def test_a_piece_taken_off_the_shelf_leaves_the_index(history, tmp_path):
    keep_as_read(tmp_path, a_piece(), SEEDS["piece"])
    shelf = listening_shelf(history, tmp_path)
    history.take_off_shelf("piece")
    assert len(listening_shelf(history, tmp_path, shelf).index) == 0
    assert len(without_piece(shelf, "piece").index) == 0
    assert without_piece(shelf, "piece").made_of == {}


def test_an_index_once_made_is_kept_although_the_score_is_gone_from_the_cache(history, tmp_path):
    piece = a_piece()
    keep_as_read(tmp_path, piece, SEEDS["piece"])
    made = listening_shelf(history, tmp_path)
    ScoreCache(tmp_path)._path(score_key(piece.score_hash, None), LOADED_SCORE).unlink()
    again = listening_shelf(history, tmp_path)
    assert again.made_of == made.made_of
    assert again.unread == ()


def test_other_hands_make_another_index(history, tmp_path):
    keep_as_read(tmp_path, a_piece(), SEEDS["piece"])
    shelf = listening_shelf(history, tmp_path)
    history.set_hands("piece", {"n0": Hand.LEFT})
    changed = listening_shelf(history, tmp_path, shelf)
    assert changed.made_of != shelf.made_of
    assert changed.index is not shelf.index


def test_a_piece_just_opened_is_added_without_the_cache(history, tmp_path):
    shelf = listening_shelf(history, tmp_path)
    piece = a_piece()
    opened = with_piece(shelf, piece, score_of(SEEDS["piece"]), {})
    assert "piece" in opened.index
    assert opened.unread == ()
    assert with_piece(opened, piece, score_of(SEEDS["piece"]), {}) is opened
    assert listening_shelf(history, tmp_path, opened).index is opened.index


def test_learning_the_shelf_tells_how_far_it_is_and_can_be_stopped(history, tmp_path):
    told = []
    listening_shelf(history, tmp_path, report=told.append)
    assert [(one.done, one.total) for one in told] == [(0, 1)]

    def stop(_progress):
        raise Cancelled

    with pytest.raises(Cancelled):
        listening_shelf(history, tmp_path, report=stop)


def test_what_is_worked_out_of_a_take_does_not_depend_on_its_events_order_of_release(index):
    heard = tune("second", count=60)
    longer = [replace(note, duration_seconds=2.0) for note in heard]
    assert who_is_it(index, take_of(longer)).piece_id == "second"
