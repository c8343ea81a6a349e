"""Which piece is being played, and roughly where: from the heard notes alone.

Every written key press of every piece on the shelf is kept by its pitch
(:mod:`companion.listening.recognition.piece_index`). A heard note looks up the places where its key
is written, and at each of them the best explanation of the playing so far is carried on
(:mod:`companion.listening.recognition.explanations`), weighed against no piece at all
(:mod:`companion.listening.recognition.any_music`). Nothing else is searched, so a note takes a
fraction of a millisecond.

Recognising symbolic music by an index that does not mind the tempo follows Arzt, Boeck & Widmer
2012 (ISMIR, "Fast identification of piece and score position via symbolic fingerprinting", from
memory); they look up triples of notes and vote, here single notes are looked up and the order is
checked while listening.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from companion.listening.notes import Hands
from companion.listening.recognition.any_music import AnyMusic
from companion.listening.recognition.explanations import Explanations
from companion.listening.recognition.heard_times import HeardTimes
from companion.listening.recognition.likely_places import LikelyPlaces
from companion.listening.recognition.naming import Naming
from companion.listening.recognition.piece_index import READINGS

if TYPE_CHECKING:
    from companion.listening.notes import HeardNote
    from companion.listening.recognition.naming import Named
    from companion.listening.recognition.piece_index import ShelfIndex


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceGuess:
    """Which piece is being played.

    Parameters
    ----------
    piece_key
        The key it has in the index.
    onset_quarters
        Written onset of the last note that fitted, as printed: roughly where.
    confidence
        0 to 1: this piece against all others and against none.
    notes_heard
        How many notes were heard since the last :meth:`Recogniser.forget`.
    hands
        The hands that seem to be playing.
    same_music
        Keys of other pieces of the shelf that are the same music: another edition, a copy.
    """

    piece_key: str
    onset_quarters: float
    confidence: float
    notes_heard: int
    hands: Hands = Hands.BOTH
    same_music: tuple[str, ...] = ()


class Recogniser:
    """Listens, and knows which piece of a shelf is played as soon as the notes tell.

    Parameters
    ----------
    index
        The shelf.
    at_hand
        The piece on the stand: of several editions of the same music this one is meant as long as
        it fits nearly as well as the others. Without it the edition that fits best is named, the
        first of the shelf where all fit alike.
    """

    def __init__(self, index: ShelfIndex, at_hand: str | None = None) -> None:
        self._arrays = index.arrays
        keys = self._arrays.keys_of
        self._any_music = AnyMusic()
        self._times = HeardTimes()
        self._likely_places = LikelyPlaces(self._arrays)
        self._explanations = Explanations(self._arrays)
        self._naming = Naming(self._arrays.music, keys.index(at_hand) if at_hand in keys else None)

    def forget(self) -> None:
        """Begin a new take: nothing is known."""
        self._any_music.forget()
        self._times.forget()
        self._likely_places.forget()
        self._explanations.forget()
        self._naming.forget()

    def hear(self, note: HeardNote) -> PieceGuess | None:
        """Take one more note, in order of time.

        Returns
        -------
        PieceGuess or None
            None while the notes do not tell.
        """
        if not self._arrays.keys_of:
            return None
        surprise = -self._any_music.hear(note.pitch, note.onset_seconds)
        self._times.hear(note.onset_seconds)
        entries = self._likely_places.hear(note.pitch)
        explanations = self._explanations
        explanations.hear(entries, surprise, self._times)
        named = self._naming.name(explanations.levels, explanations.evidence, self._times.count)
        return self._guess(named) if named is not None else None

    def _guess(self, named: Named) -> PieceGuess:
        arrays = self._arrays
        state = self._explanations.state_in(named.piece)
        return PieceGuess(
            piece_key=arrays.keys_of[named.piece],
            onset_quarters=float(arrays.quarters[state]),
            confidence=named.confidence,
            notes_heard=self._times.count,
            hands=READINGS[int(arrays.reading[state])],
            same_music=tuple(arrays.keys_of[k] for k in named.same_music),
        )
