"""The written music of the practice bench: keyboard pieces of music21's corpus, read by our reader.

Sources: the files that music21 carries in ``music21/corpus`` (encodings with the licences named in
its ``license.txt``); they stay where they are. The piano parts of songs and chamber music count as
keyboard pieces, too. The tempi are chosen for the simulation, not an editor's.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from itertools import groupby
from typing import TYPE_CHECKING

from music21 import corpus

from companion.score.reading.reader import read_score

if TYPE_CHECKING:
    from companion.score.model import Score, ScoreNote

KEYBOARD_PIECES = {
    "bach/bwv846": 66.0,
    "joplin/maple_leaf_rag": 84.0,
    "schumann_clara/polonaise_op1n1": 92.0,
    "schumann_clara/polonaise_op1n2": 88.0,
    "schumann_clara/polonaise_op1n3": 90.0,
    "schumann_clara/polonaise_op1n4": 96.0,
    "schumann_clara/opus17/movement3": 60.0,
    "schoenberg/opus19/movement2": 44.0,
    "mozart/k545/movement1_exposition": 132.0,
    "weber/concertino_clarinet": 104.0,
    "handel/rinaldo/Lascia_chio_pianga": 70.0,
    "schumann_robert/opus48no2": 56.0,
    "beach/prayer_of_a_tired_child": 62.0,
}
"""Corpus names and a running tempo in quarters per minute."""

REALISED = ("trill", "mordent", "inverted mordent", "turn", "inverted turn")
"""Ornament signs that the simulated player realises; others are played as plain notes."""


@dataclass(frozen=True)
class Written:
    """A piece as the simulation sees it: its notes by onset, then pitch, as printed or unfolded."""

    name: str
    quarters_per_minute: float
    notes: tuple[ScoreNote, ...]
    onsets: tuple[float, ...]

    @cached_property
    def at(self) -> list[list[int]]:
        """Per onset the notes that begin there."""
        places = {round(onset, 4): place for place, onset in enumerate(self.onsets)}
        found: list[list[int]] = [[] for _ in self.onsets]
        for index, note in enumerate(self.notes):
            found[places[round(float(note.onset_quarters), 4)]].append(index)
        return found

    @cached_property
    def measure_starts(self) -> list[int]:
        """The first onset of each measure."""
        measures = [(self.notes[those[0]].measure_index, k) for k, those in enumerate(self.at)]
        return [next(iter(group))[1] for _, group in groupby(measures, key=lambda pair: pair[0])]

    def columns(self) -> dict[str, list[object]]:
        """The columns of a case of the bench."""
        return {
            "id": [f"s{k}" for k in range(len(self.notes))],
            "onset_q": [round(float(n.onset_quarters), 4) for n in self.notes],
            "dur_q": [round(float(n.duration_quarters), 4) for n in self.notes],
            "pitch": [n.pitch for n in self.notes],
            "staff": [n.staff for n in self.notes],
            "voice": [n.voice for n in self.notes],
            "measure": [n.measure_index + 1 for n in self.notes],
            "measure_offset_q": [round(float(n.measure_offset_quarters), 4) for n in self.notes],
            "grace": [int(n.grace) for n in self.notes],
            "ornament": [int(n.ornament in REALISED) for n in self.notes],
        }


def as_printed(name: str, score: Score) -> Written:
    """The piece in the order of the page."""
    pairs = [(note, float(note.onset_quarters)) for note in score.notes if note.expected]
    return _written(name, pairs)


def unfolded(name: str, score: Score) -> Written:
    """The piece as played, repeats taken; a key that two voices share is written once."""
    in_measure: dict[int, list[ScoreNote]] = {}
    for note in score.notes:
        if note.expected:
            in_measure.setdefault(note.measure_index, []).append(note)
    pairs, start = [], 0.0
    for index in score.playing_order or range(len(score.measures)):
        measure = score.measures[index]
        shift = start - float(measure.start_quarters)
        pairs += [(note, float(note.onset_quarters) + shift) for note in in_measure.get(index, ())]
        start += float(measure.duration_quarters)
    one_key = {(round(onset, 4), note.pitch): (note, onset) for note, onset in reversed(pairs)}
    return _written(name, list(one_key.values()))


def _written(name: str, pairs: list[tuple[ScoreNote, float]]) -> Written:
    notes = sorted(
        (replace(note, onset_quarters=round(onset, 4)) for note, onset in pairs),
        key=lambda note: (note.onset_quarters, note.pitch),
    )
    onsets = tuple(sorted({float(note.onset_quarters) for note in notes}))
    return Written(name, KEYBOARD_PIECES[name], tuple(notes), onsets)


def read_piece(name: str) -> Score:
    """One of the keyboard pieces, by its corpus name."""
    return read_score(str(corpus.getWork(name)))
