"""Accidentals, beams and stems as printed."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from score_writing.notation import Event, Sign
from score_writing.piece import Measure
from score_writing.pitch import key_alter

ACCIDENTALS = {0: "natural", 1: "sharp", 2: "double-sharp", -1: "flat", -2: "flat-flat"}
MIDDLE_LINES = {"G2": 4 * 7 + 6, "F4": 3 * 7 + 1}  # B4 and D3, in diatonic steps from C0


def set_accidentals(measures: list[Measure]) -> None:
    """Mark every accidental to print, with courtesy signs after an alteration nearby.

    A sign holds for its staff, line and measure. A courtesy sign stands where the same place was
    altered otherwise in the measure before, or in another octave of this measure.
    """
    before: dict[tuple[int, int], int] = {}
    for measure in measures:
        now: dict[tuple[int, int], int] = {}
        for event in measure.events:
            for one in event.pitches:
                place = (event.staff, one.diatonic)
                expected = now.get(place, key_alter(one.step, measure.fifths))
                if event.tied_from and event.onset == 0 and place not in now:
                    continue
                if one.alter != expected:
                    event.accidentals[one.diatonic] = ACCIDENTALS[one.alter]
                elif place not in now:
                    other_octaves = {
                        alter
                        for (staff, step), alter in now.items()
                        if staff == event.staff and step % 7 == one.diatonic % 7
                    }
                    if before.get(place, one.alter) != one.alter or other_octaves - {one.alter}:
                        event.accidentals[one.diatonic] = ACCIDENTALS[one.alter] + " courtesy"
                now[place] = one.alter
        before = now


def set_beams(measure: Measure, beat: Fraction) -> None:
    """Beam the short notes of each voice beat by beat."""
    for line in measure.voices.values():
        notes = [e for e in line if isinstance(e, Event)]
        graces: list[Event] = []
        group: list[Event] = []
        for event in [*notes, None]:
            if event is not None and event.grace:
                graces.append(event)
                continue
            if len(graces) > 1 and all(grace.value > 4 for grace in graces):
                _beam(graces)
            graces = []
            short = event is not None and bool(event.pitches) and event.value >= 8
            joined = bool(
                group
                and event is not None
                and event.onset // beat == group[-1].onset // beat
                and ";" not in group[-1].signs
            )
            if group and not (short and joined):
                _beam(group)
                group = []
            if short and event is not None:
                group.append(event)


def _beam(group: list[Event]) -> None:
    if len(group) < 2:
        return
    flags = [{8: 1, 16: 2, 32: 3}[event.value] for event in group]
    for place, event in enumerate(group):
        words = []
        for level in range(1, flags[place] + 1):
            left = place > 0 and flags[place - 1] >= level
            right = place + 1 < len(group) and flags[place + 1] >= level
            if left and right:
                words.append("continue")
            elif right:
                words.append("begin")
            elif left:
                words.append("end")
            else:
                words.append("forward hook" if place == 0 else "backward hook")
        event.beams = tuple(words)


def set_stems(measure: Measure, clefs: dict[int, str]) -> None:
    """Stems by voice where a staff has two, else by distance from the middle line."""
    shared = {
        staff: sum(name[0] == hand for name in measure.voices) > 1
        for staff, hand in ((1, "R"), (2, "L"))
    }
    for name, line in measure.voices.items():
        home = 1 if name[0] == "R" else 2
        group: list[tuple[Event, int]] = []
        for item in line:
            if isinstance(item, Sign):
                if item.text.startswith("clef:"):
                    clefs[item.staff] = item.text[5:]
                continue
            if not item.pitches:
                continue
            if item.grace:
                item.stem = "down" if name.endswith("2") else "up"
                continue
            group.append((item, MIDDLE_LINES[clefs[item.staff]]))
            if item.beams and item.beams[0] in ("begin", "continue"):
                continue
            _stem(group, home, name, shared[home])
            group = []


def _stem(group: list[tuple[Event, int]], home: int, name: str, shared: bool) -> None:
    staves = {event.staff for event, _ in group}
    if len(staves) > 1:
        for event, _ in group:
            event.stem = "up" if event.staff == 2 else "down"
        return
    if group[0][0].forced_stem:
        direction = group[0][0].forced_stem
    elif staves != {home}:
        direction = "up" if home == 1 else "down"
    elif shared:
        direction = "down" if name.endswith("2") else "up"
    else:
        away = [one.diatonic - middle for event, middle in group for one in event.pitches]
        direction = "down" if max(away) >= -min(away) else "up"
    for event, _ in group:
        event.stem = direction


def check_beams(measure: Measure) -> None:
    """Every beam that begins also ends, level by level."""
    for line in measure.voices.values():
        notes = [e for e in line if isinstance(e, Event) and e.beams]
        for one, following in pairwise(notes):
            opened = one.beams[0] in ("begin", "continue")
            if opened != (following.beams[0] in ("continue", "end")):
                raise ValueError(f"broken beam in measure {measure.number}")
