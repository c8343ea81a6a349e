"""Which piece of the shelf a take belongs to, and where it is filed.

A take begins with the piece on the stand. When it is over, :func:`who_is_it` says whether it stays
there, belongs to another piece of the shelf, or is kept as *not filed yet* (``piece_id`` None)
because nothing on the shelf fits. The stand has the benefit of the doubt: a take is moved only when
its own piece has almost no part in it. Nothing is lost by moving: :func:`filing_edit` is an edit of
the history like any other, and is undone like any other.

Conventions
-----------
- Pieces are named by their ``piece_id``, which is also their key in the index.
- The functions here take values and give values; they may run in any thread or process.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path

from companion.history.edits import MoveTake
from companion.history.model import Piece, Take
from companion.listening.heard import heard_from
from companion.listening.notes import HeardNote
from companion.listening.recognition.piece_index import (
    INDEX_VERSION,
    PieceIndex,
    ShelfIndex,
    index_piece,
)
from companion.listening.recognition.recognise import PieceGuess, Recogniser
from companion.listening.recognition.whole_takes import PlayedStretch, stretches_of_take
from companion.practice.kept import kept_score
from companion.progress import Progress, Report, no_report
from companion.score.cache import ScoreCache
from companion.score.model import Hand, Score
from companion.score.reading.hands import assign_hands
from companion.storage.history_file import HistoryFile

LEAST_NOTES = 12
"""A shorter take says too little and stays where it is."""

OWN_SHARE = 0.15
"""With this share of its notes in the piece on the stand, a take stays there."""

LEAST_NOTES_TO_MOVE = 20
SHARE_TO_MOVE = 0.6
CONFIDENCE_TO_MOVE = 0.9
"""To be filed with another piece, so many of a take's notes, and this share of all its notes, must
belong to that piece, which must have been recognised with this confidence."""

LITTLE_SHARE = 0.25
"""Other pieces with less than this share of a take may be chance: they do not keep it in doubt."""

LEAST_NOTES_TO_SET_ASIDE = 24
"""A shorter take that fits nothing stays with the piece on the stand."""

NOTES_TO_SUGGEST = 8
"""While playing, another piece is suggested after so many notes in a row that are its own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ListeningShelf:
    """The shelf as the recogniser knows it.

    Parameters
    ----------
    index
        The pieces by their ids.
    made_of
        Per piece the name of what its index was made from: score, part and hands.
    unread
        Pieces whose scores were not read yet on this computer; they are recognised once they were.
    """

    index: ShelfIndex = field(default_factory=ShelfIndex, repr=False)
    made_of: Mapping[str, str] = field(default_factory=dict)
    unread: tuple[Piece, ...] = ()


class FilingReason(StrEnum):
    """Why a take is filed where it is."""

    TOO_SHORT = "too short to tell"
    OWN_PIECE = "fits the piece on the stand"
    OTHER_PIECE = "fits another piece"
    IN_DOUBT = "fits several pieces or none for certain"
    NOT_ON_SHELF = "fits nothing on the shelf"


@dataclass(frozen=True, slots=True, kw_only=True)
class Filing:
    """Where a take belongs.

    Parameters
    ----------
    take_id
        The take.
    before_piece_id, piece_id
        Where it is filed and where it belongs; None for "not filed yet".
    reason
        Why.
    share
        Share of the take's notes that belong to ``piece_id``, 0 where that is None.
    confidence
        Best confidence with which ``piece_id`` was recognised, 0 where that is None.
    others
        Other pieces that were recognised in the take, the one with most notes first.
    same_music
        Where the take moves: other pieces of the shelf that hold the same music as ``piece_id``.
        Nobody can tell from the keys alone which edition was played.
    """

    take_id: str
    before_piece_id: str | None
    piece_id: str | None
    reason: FilingReason
    share: float = 0.0
    confidence: float = 0.0
    others: tuple[str, ...] = ()
    same_music: tuple[str, ...] = ()

    @property
    def moves(self) -> bool:
        """Whether the take has to be filed elsewhere."""
        return self.piece_id != self.before_piece_id


# The index of the shelf


def listening_shelf(
    history: HistoryFile,
    cache_folder: Path,
    known: ListeningShelf | None = None,
    report: Report = no_report,
) -> ListeningShelf:
    """Bring the index of the shelf up to date: new pieces in, removed ones out, changed ones anew.

    Quick where little has changed; a piece that was read but never indexed costs some hundredths of
    a second. Scores that were not read on this computer are not read here.

    Parameters
    ----------
    cache_folder
        Where scores are kept, see :mod:`companion.practice.loading`.
    known
        What this function gave before.
    """
    known = ListeningShelf() if known is None else known
    cache = ScoreCache(cache_folder)
    pieces: dict[str, PieceIndex] = {}
    made_of: dict[str, str] = {}
    unread: list[Piece] = []
    shelf = history.shelf()
    for done, piece in enumerate(shelf):
        report(Progress(done=done, total=len(shelf), doing="Learning the pieces on the shelf"))
        hands = history.hands(piece.piece_id)
        name = _made_of(piece.score_hash, piece.part, hands)
        if known.made_of.get(piece.piece_id) == name:
            found: PieceIndex | None = known.index.pieces[piece.piece_id]
        else:
            found = _kept_or_made(piece, hands, name, cache, cache_folder)
        if found is None:
            unread.append(piece)
        else:
            pieces[piece.piece_id] = found
            made_of[piece.piece_id] = name
    if made_of == dict(known.made_of):
        # The arrays laid out over all pieces are kept with the index.
        return ListeningShelf(index=known.index, made_of=made_of, unread=tuple(unread))
    return ListeningShelf(index=ShelfIndex(pieces), made_of=made_of, unread=tuple(unread))


def with_piece(
    shelf: ListeningShelf, piece: Piece, score: Score, hands: Mapping[str, Hand]
) -> ListeningShelf:
    """Return the shelf with a piece that was just opened, or whose hands were changed.

    Parameters
    ----------
    score
        With the pianist's own choice of hands, as in ``OpenPiece``.
    """
    name = _made_of(piece.score_hash, piece.part, hands)
    if shelf.made_of.get(piece.piece_id) == name:
        return shelf
    return ListeningShelf(
        index=shelf.index.with_piece(piece.piece_id, index_piece(score.notes)),
        made_of={**shelf.made_of, piece.piece_id: name},
        unread=tuple(one for one in shelf.unread if one.piece_id != piece.piece_id),
    )


def without_piece(shelf: ListeningShelf, piece_id: str) -> ListeningShelf:
    """Return the shelf without a piece that was taken off it."""
    return ListeningShelf(
        index=shelf.index.without(piece_id),
        made_of={key: name for key, name in shelf.made_of.items() if key != piece_id},
        unread=tuple(one for one in shelf.unread if one.piece_id != piece_id),
    )


def _made_of(score_hash: str, part: str, hands: Mapping[str, Hand]) -> str:
    digest = hashlib.sha256(f"{INDEX_VERSION}\0{score_hash}\0{part}".encode())
    for note_id, hand in sorted(hands.items()):
        digest.update(f"\0{note_id}={hand.value}".encode())
    return digest.hexdigest()


def _kept_or_made(
    piece: Piece, hands: Mapping[str, Hand], name: str, cache: ScoreCache, cache_folder: Path
) -> PieceIndex | None:
    kept = cache.get(name, _CACHE_KEY)
    if isinstance(kept, PieceIndex):
        return kept
    loaded = kept_score(cache_folder, piece.score_hash, piece.part or None)
    if loaded is None:
        return None
    made = index_piece(assign_hands(loaded.read.score, hands).notes)
    cache.put(name, _CACHE_KEY, made)
    return made


_CACHE_KEY = "recognition"

# Filing a take


def who_is_it(index: ShelfIndex, take: Take) -> Filing:
    """Say which piece a finished take belongs to.

    Parameters
    ----------
    index
        The shelf; see :func:`listening_shelf`.
    take
        With its events. Its ``piece_id`` is the piece that was on the stand; None for a take that
        is not filed yet.
    """
    notes = heard_from(take.events).notes
    own = take.piece_id
    if len(notes) < LEAST_NOTES:
        return _stays(take, FilingReason.TOO_SHORT)
    stretches = stretches_of_take(index, notes, at_hand=own)
    belongs = _counted(stretches)
    others = tuple(sorted((k for k in belongs if k != own), key=lambda k: -belongs[k]))
    own_share = belongs.get(own, 0) / len(notes) if own is not None else 0.0
    if own is not None and own_share < OWN_SHARE:
        # Much that is not sure among all pieces is sure enough for the one that lay there.
        own_share = max(own_share, _share_of(index, own, notes))
    if own is not None and own_share >= OWN_SHARE:
        return _stays(
            take,
            FilingReason.OWN_PIECE,
            share=own_share,
            confidence=_confidence(stretches, own),
            others=others,
        )
    if others:
        best = others[0]
        share, confidence = belongs[best] / len(notes), _confidence(stretches, best)
        if (
            belongs[best] >= LEAST_NOTES_TO_MOVE
            and share >= SHARE_TO_MOVE
            and confidence >= CONFIDENCE_TO_MOVE
        ):
            return Filing(
                take_id=take.take_id,
                before_piece_id=own,
                piece_id=best,
                reason=FilingReason.OTHER_PIECE,
                share=share,
                confidence=confidence,
                others=others[1:],
                same_music=same_music_on_shelf(index, best),
            )
        if sum(belongs[k] for k in others) >= LITTLE_SHARE * len(notes):
            return _stays(take, FilingReason.IN_DOUBT, share=own_share, others=others)
    if own is not None and own not in index:
        # Its score is not known here.
        return _stays(take, FilingReason.IN_DOUBT, others=others)
    if len(notes) < LEAST_NOTES_TO_SET_ASIDE:
        return _stays(take, FilingReason.TOO_SHORT, share=own_share, others=others)
    return Filing(
        take_id=take.take_id,
        before_piece_id=own,
        piece_id=None,
        reason=FilingReason.NOT_ON_SHELF,
        others=others,
    )


def same_music_on_shelf(index: ShelfIndex, piece_id: str) -> tuple[str, ...]:
    """Other pieces of the shelf that hold the same music: editions, copies, the whole work."""
    if piece_id not in index:
        return ()
    arrays = index.arrays
    number = arrays.music[arrays.keys_of.index(piece_id)]
    return tuple(
        key
        for key, music in zip(arrays.keys_of, arrays.music.tolist(), strict=True)
        if music == number and key != piece_id
    )


def filing_edit(filing: Filing) -> MoveTake | None:
    """The edit that files the take where it belongs; None where it is there already."""
    if not filing.moves:
        return None
    return MoveTake(
        filing.take_id,
        before_piece_id=filing.before_piece_id,
        after_piece_id=filing.piece_id,
    )


def file_waiting_takes(
    history: HistoryFile, index: ShelfIndex, report: Report = no_report
) -> tuple[Filing, ...]:
    """Say where the takes that are not filed yet belong, as far as that can be told now.

    To be asked when a piece came on the shelf. Nothing is moved here.
    """
    waiting = history.takes_of(None)
    filings = []
    for done, listed in enumerate(waiting):
        report(Progress(done=done, total=len(waiting), doing="Looking through unfiled takes"))
        take = history.take(listed.take_id)
        if take is not None and (filing := who_is_it(index, take)).moves:
            filings.append(filing)
    return tuple(filings)


class StandWatch:
    """Notices, while somebody plays, that it is not the piece on the stand.

    Parameters
    ----------
    index
        The shelf.
    piece_id
        The piece on the stand; None when it is empty.
    """

    def __init__(self, index: ShelfIndex, piece_id: str | None) -> None:
        self._recogniser = Recogniser(index, at_hand=piece_id)
        self._piece_id = piece_id
        self._run: tuple[str, int] = ("", 0)
        self._told: set[str] = set()

    def forget(self) -> None:
        """Begin a new take."""
        self._recogniser.forget()
        self._run = ("", 0)
        self._told.clear()

    def hear(self, note: HeardNote) -> PieceGuess | None:
        """Take one more note; a guess when another piece is played, once per piece and take."""
        guess = self._recogniser.hear(note)
        if guess is None:
            self._run = ("", 0)
            return None
        key, count = self._run
        self._run = (guess.piece_key, count + 1 if key == guess.piece_key else 1)
        if (
            guess.piece_key == self._piece_id
            or guess.piece_key in self._told
            or self._run[1] < NOTES_TO_SUGGEST
        ):
            return None
        self._told.add(guess.piece_key)
        return guess


def _stays(
    take: Take,
    reason: FilingReason,
    *,
    share: float = 0.0,
    confidence: float = 0.0,
    others: tuple[str, ...] = (),
) -> Filing:
    return Filing(
        take_id=take.take_id,
        before_piece_id=take.piece_id,
        piece_id=take.piece_id,
        reason=reason,
        share=share,
        confidence=confidence,
        others=others,
    )


def _counted(stretches: Iterable[PlayedStretch]) -> dict[str, int]:
    counts: dict[str, int] = {}
    for stretch in stretches:
        if stretch.piece_key is not None:
            counts[stretch.piece_key] = counts.get(stretch.piece_key, 0) + stretch.note_count
    return counts


def _confidence(stretches: Iterable[PlayedStretch], piece_id: str) -> float:
    return max((s.confidence for s in stretches if s.piece_key == piece_id), default=0.0)


def _share_of(index: ShelfIndex, piece_id: str, notes: tuple[HeardNote, ...]) -> float:
    """Share of the notes that belong to a piece when only that piece or none can be meant."""
    piece = index.pieces.get(piece_id)
    if piece is None:
        return 0.0
    alone = stretches_of_take(ShelfIndex({piece_id: piece}), notes)
    return _counted(alone).get(piece_id, 0) / len(notes)
