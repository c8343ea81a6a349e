"""What one hand does, moment by moment, as the finger model sees it: chords, held keys, rests."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from itertools import groupby

from companion.analysis.fingering.chords import Step
from companion.analysis.fingering.rules import FingeredHand, distance, mirrored
from companion.analysis.grouping.model import Group
from companion.score.model import Hand, ScoreNote


def steps_of_hand(
    notes: Sequence[ScoreNote],
    hand: Hand,
    asked: FingeredHand,
    chosen: Mapping[str, int],
    groups: Sequence[Group],
) -> tuple[Step, ...]:
    """What a hand does, moment by moment, as the right hand sees it."""
    begins = {group.note_ids[0] for group in groups}
    inside = {note_id for group in groups for note_id in group.note_ids}
    seen: Callable[[int], int] = mirrored if hand is Hand.LEFT else int
    mine = sorted(
        (note for note in notes if note.playing_hand is hand and note.expected),
        key=lambda note: (note.onset_quarters, not note.grace),
    )
    steps: list[Step] = []
    down: list[tuple[Fraction, int, str]] = []  # end, key and id of what is down
    reached = Fraction(0)
    for onset, grace, together in _moments(mine):
        down = [one for one in down if one[0] > onset]
        keys = {seen(note.pitch): note.note_id for note in together}
        held = _can_be_held(keys, down, asked)
        rising = sorted({**held, **keys}.items())
        ids = tuple(note_id for _, note_id in rising)
        place = {key: number for number, (key, _) in enumerate(rising)}
        doubled = tuple(
            (note.note_id, place[seen(note.pitch)])
            for note in together
            if keys[seen(note.pitch)] != note.note_id
        )
        set_fingers = [chosen.get(note_id, 0) for note_id in ids]
        for note_id, number in doubled:
            set_fingers[number] = set_fingers[number] or chosen.get(note_id, 0)
        first_id = together[0].note_id
        steps.append(
            Step(
                keys=tuple(key for key, _ in rising),
                held=tuple(key not in keys for key, _ in rising),
                locked=tuple(set_fingers),
                after_rest=bool(steps) and not grace and onset > reached,
                new_group=first_id in begins or first_id not in inside,
                note_ids=ids,
                doubled=doubled,
            )
        )
        for note in together:
            end = onset + Fraction(note.duration_quarters)
            reached = max(reached, end)
            if not grace:
                down.append((end, seen(note.pitch), note.note_id))
    return tuple(steps)


def _moments(
    notes: Sequence[ScoreNote],
) -> list[tuple[Fraction, bool, list[ScoreNote]]]:
    found: list[tuple[Fraction, bool, list[ScoreNote]]] = []
    for (onset, grace), together in groupby(notes, key=lambda n: (n.onset_quarters, n.grace)):
        if grace:
            found.extend((Fraction(onset), True, [note]) for note in together)
        else:
            found.append((Fraction(onset), False, list(together)))
    return found


def _can_be_held(
    keys: Mapping[int, str], down: Sequence[tuple[Fraction, int, str]], asked: FingeredHand
) -> dict[int, str]:
    """The keys that stay down under one hand with the new ones; a wider chord is the pedal's."""
    held = {key: note_id for _, key, note_id in down if key not in keys}
    if not held or len(held) + len(keys) > 5:
        return {}
    everything = (*held, *keys)
    wide = distance(min(everything), max(everything), asked.model)
    return held if wide <= asked.spans.span(1, 5).max_practical else {}
