"""Which hand plays a note: by the home staff of its voice, or as the pianist says.

Staff is not hand: a beam that crosses the staves belongs to one hand, although its notes are
printed in both staves (MusicXML keeps one voice for them). A voice is at home in the staff where
most of its notes stand; a run of notes that leaves the home of its voice stays with the voice's
hand. Where a voice number is used in both staves alike, each run counts for itself.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING

from companion.score.model import Hand, Score

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from companion.score.reading.written import WrittenMeasure, WrittenNote

HOME_SHARE = 0.9
"""A voice with this share of its notes in one staff is at home there."""


def hands_of(written: Sequence[WrittenMeasure], staves: int) -> dict[str, Hand]:
    """Return the hand of every note by its id, from staves, voices and cross-staff runs."""
    homes = _homes(written)
    hands: dict[str, Hand] = {}
    if staves <= 1 and _is_for_two_hands(written):
        # one staff for both hands, as a MIDI file of one track gives it
        for measure in written:
            for note in measure.notes:
                hands[note.note_id] = _hand_by_octave(note.spelling)
        return hands
    for measure in written:
        runs: dict[tuple[int, int], list[WrittenNote]] = defaultdict(list)
        for note in measure.notes:
            runs[note.stream, note.voice].append(note)
        for (_, voice), notes in runs.items():
            for note, staff in zip(notes, _hand_staves(notes, homes.get(voice)), strict=True):
                hands[note.note_id] = _hand_of_staff(staff, staves, note.spelling)
    return hands


def _homes(written: Sequence[WrittenMeasure]) -> dict[int, int]:
    counts: dict[int, Counter[int]] = defaultdict(Counter)
    for measure in written:
        for note in measure.notes:
            counts[note.voice][note.staff] += 1
    homes = {}
    for voice, staves in counts.items():
        staff, count = staves.most_common(1)[0]
        if count >= HOME_SHARE * staves.total():
            homes[voice] = staff
    return homes


def _hand_staves(notes: Sequence[WrittenNote], home: int | None) -> list[int]:
    """Return, for a run of one voice, the staff whose hand plays each note."""
    printed = [note.staff for note in notes]
    if home is not None:
        return [home] * len(notes)
    if len(set(printed)) == 1:
        return printed
    counts = Counter(printed)
    staff, count = counts.most_common(1)[0]
    if count * 4 >= 3 * len(notes):
        return [staff] * len(notes)
    # evenly shared between the staves: the hands take turns, as the staves say
    return printed


def _hand_of_staff(staff: int, staves: int, spelling: str) -> Hand:
    if staves <= 1 or staff <= 1:
        return Hand.RIGHT
    if staff >= staves:
        return Hand.LEFT
    return _hand_by_octave(spelling)  # a middle staff belongs to neither hand


def _octave(spelling: str) -> int:
    return int(spelling[-1]) if spelling[-1:].isdecimal() else 4


def _hand_by_octave(spelling: str) -> Hand:
    """Middle C and above to the right, the rest to the left: a first guess only."""
    return Hand.RIGHT if _octave(spelling) >= 4 else Hand.LEFT


def _is_for_two_hands(written: Sequence[WrittenMeasure]) -> bool:
    octaves = [_octave(note.spelling) for measure in written for note in measure.notes]
    return bool(octaves) and min(octaves) <= 2 and max(octaves) >= 5


def assign_hands(score: Score, overrides: Mapping[str, Hand]) -> Score:
    """Return the score with the pianist's own choice of hands.

    Parameters
    ----------
    score
        The score as read.
    overrides
        Note ids with the hand that plays them; ids of tied noteheads count for their first one,
        unknown ids are left out (the score may have been edited).
    """
    if not overrides:
        return score
    notes = []
    for note in score.notes:
        chosen = next(
            (overrides[key] for key in (note.note_id, *note.tied_ids) if key in overrides), None
        )
        notes.append(note if chosen is None else replace(note, hand=chosen))
    return replace(score, notes=tuple(notes))
