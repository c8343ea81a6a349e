"""Suggestions of fingers for a hand: the door to the model.

Conventions
-----------
- Fingers are 1 (thumb) to 5; they are kept by note id.
- Everything is computed within the pianist's groups: a thumb passing or a change of position
  inside a group counts four points more than between groups (our own choice, half of what separates
  the best fingerings of a scale), so that the hand moves where the music does.
- Without groups, chords and rests the totals are those of the published model.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from companion.analysis.fingering.chords import Fingers, Step, options
from companion.analysis.fingering.path import Way, cheapest, points_by_step
from companion.analysis.fingering.rules import (
    FingeredHand,
    Points,
    Rule,
)
from companion.analysis.fingering.steps import steps_of_hand
from companion.analysis.grouping.model import Group, Grouping
from companion.progress import Progress, Report, no_report
from companion.score.model import Hand, Score, ScoreNote

HOW_MANY = 4
LONGEST_WITH_ALL_WAYS = 9
STEPS_AT_ONCE = 512
_DOING = "Looking for fingers"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """Points given by one rule: how many, and at how many notes."""

    rule: Rule
    points: int
    times: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Suggestion:
    """One way to finger some notes of a hand.

    Parameters
    ----------
    fingers
        Note ids and fingers, in order of time, chords from below.
    total
        Points of the model: the fewer, the easier it says it is.
    reasons
        What the points are for, the most first.
    points_of_note
        Points by note id, for showing where the awkward places are; points of two or three notes
        stand at the last of them.
    """

    fingers: tuple[tuple[str, int], ...]
    total: int
    reasons: tuple[Reason, ...] = ()
    points_of_note: tuple[tuple[str, int], ...] = field(default=(), repr=False)

    @property
    def in_figures(self) -> str:
        """The fingers in the order of time, chords from below: "1 2 3 1"."""
        return " ".join(str(finger) for _, finger in self.fingers)

    @property
    def in_words(self) -> str:
        """The points and what they are for, in one sentence."""
        if not self.reasons:
            return "0 points: nothing about it is awkward."
        told = ", ".join(f"{reason.rule.value} {reason.points}" for reason in self.reasons)
        return f"{self.total} {'point' if self.total == 1 else 'points'}: {told}."


def suggest_fingers(
    notes: Sequence[ScoreNote],
    hand: Hand,
    *,
    asked: FingeredHand | None = None,
    chosen: Mapping[str, int] | None = None,
    groups: Sequence[Group] = (),
    count: int = HOW_MANY,
) -> tuple[Suggestion, ...]:
    """Suggest several ways to finger a passage of one hand.

    Parameters
    ----------
    notes
        The notes of the passage; those of the other hand are passed over.
    asked
        Spans of the hand and form of the model; the published table when left out.
    chosen
        Fingers that the pianist has set, by note id: they are never changed.
    groups
        The pianist's groups; notes outside of them belong to no group.

    Returns
    -------
    tuple of Suggestion
        Cheapest first, at most ``count``; empty where the hand has no notes. Of a passage of up to
        :data:`LONGEST_WITH_ALL_WAYS` steps the cheapest of all; those of a longer one would differ
        in a note or two somewhere, so there the cheapest for each finger to begin with is given.
    """
    asked = asked or FingeredHand()
    steps = steps_of_hand(notes, hand, asked, chosen or {}, groups)
    ways = cheapest(asked, steps, count)
    if len(steps) > LONGEST_WITH_ALL_WAYS and count > 1:
        ways = _one_for_each_beginning(asked, steps)[:count]
    return tuple(_suggestion(asked, hand, steps, way.fingers) for way in ways)


def _one_for_each_beginning(asked: FingeredHand, steps: Sequence[Step]) -> tuple[Way, ...]:
    """The cheapest way from each finger to begin with; cheapest first."""
    first, *rest = steps
    ways = [
        cheapest(asked, (replace(first, locked=fingers), *rest))[0]
        for fingers in options(asked, first)
    ]
    return tuple(sorted(ways, key=lambda way: way.total))


def suggest_for_group(
    score: Score,
    group: Group,
    *,
    asked: FingeredHand | None = None,
    chosen: Mapping[str, int] | None = None,
    grouping: Grouping | None = None,
    count: int = HOW_MANY,
) -> tuple[Suggestion, ...]:
    """Suggest several ways to finger one group and the goal behind it.

    Where ``grouping`` is given and the finger before the group is set, the way from there counts
    too.
    """
    before = _set_before(group, grouping, chosen or {})
    wanted = {*before, *group.note_ids, *group.goal_ids}
    notes = [note for note in score.notes if note.note_id in wanted]
    if not notes:
        return ()
    groups = grouping.run(group.run_id).groups if grouping else (group,)
    found = suggest_fingers(
        notes,
        notes[0].playing_hand,
        asked=asked,
        chosen=chosen,
        groups=groups,
        count=count,
    )
    return tuple(_without(suggestion, before) for suggestion in found)


def _set_before(
    group: Group, grouping: Grouping | None, chosen: Mapping[str, int]
) -> tuple[str, ...]:
    """The notes just before a group, where all of them have fingers that were set."""
    if grouping is None or group.first_step == 0:
        return ()
    step = grouping.run(group.run_id).run.steps[group.first_step - 1]
    return step if all(note_id in chosen for note_id in step) else ()


def _without(suggestion: Suggestion, note_ids: Sequence[str]) -> Suggestion:
    if not note_ids:
        return suggestion
    return replace(
        suggestion,
        fingers=tuple(one for one in suggestion.fingers if one[0] not in note_ids),
        points_of_note=tuple(one for one in suggestion.points_of_note if one[0] not in note_ids),
    )


def finger_score(
    score: Score,
    *,
    right: FingeredHand | None = None,
    left: FingeredHand | None = None,
    chosen: Mapping[str, int] | None = None,
    grouping: Grouping | None = None,
    report: Report = no_report,
) -> tuple[Suggestion, ...]:
    """Finger a whole score: the cheapest way for the right hand and for the left.

    Long rows of steps are cut at rests where there are some, else after
    :data:`STEPS_AT_ONCE` steps, which keeps memory small and lets the work be stopped.
    """
    groups = grouping.groups if grouping else ()
    asked = {Hand.RIGHT: right or FingeredHand(), Hand.LEFT: left or FingeredHand()}
    rows = {
        hand: steps_of_hand(score.notes, hand, asked[hand], chosen or {}, groups) for hand in Hand
    }
    total = sum(len(steps) for steps in rows.values())
    done = 0
    found: list[Suggestion] = []
    for hand, steps in rows.items():
        fingers: list[Fingers] = []
        for part in _parts(steps):
            report(Progress(done=done, total=total, doing=_DOING))
            fingers.extend(cheapest(asked[hand], part)[0].fingers)
            done += len(part)
        found.append(_suggestion(asked[hand], hand, steps, fingers))
    report(Progress(done=total, total=total, doing=_DOING))
    return tuple(found)


def check_fingers(
    notes: Sequence[ScoreNote],
    hand: Hand,
    fingers: Mapping[str, int],
    *,
    asked: FingeredHand | None = None,
    groups: Sequence[Group] = (),
) -> Suggestion:
    """Say what the model says of a fingering that is there already, a printed one for instance.

    Parameters
    ----------
    fingers
        A finger for every note of the hand.
    """
    asked = asked or FingeredHand()
    steps = steps_of_hand(notes, hand, asked, {}, groups)
    played = tuple(tuple(fingers[note_id] for note_id in step.note_ids) for step in steps)
    return _suggestion(asked, hand, steps, played)


def _parts(steps: Sequence[Step]) -> list[Sequence[Step]]:
    parts, begin = [], 0
    for at in range(1, len(steps)):
        long = at - begin
        at_rest = steps[at].after_rest and long >= STEPS_AT_ONCE // 4
        if at_rest or long >= STEPS_AT_ONCE:
            parts.append(steps[begin:at])
            begin = at
    if begin < len(steps):
        parts.append(steps[begin:])
    return parts


def _suggestion(
    asked: FingeredHand, hand: Hand, steps: Sequence[Step], fingers: Sequence[Fingers]
) -> Suggestion:
    told = points_by_step(asked, steps, fingers)
    given: list[tuple[str, int]] = []
    points: list[tuple[str, int]] = []
    for step, played, step_points in zip(steps, fingers, told, strict=True):
        new = [
            (note_id, finger)
            for note_id, finger, held in zip(step.note_ids, played, step.held, strict=True)
            if not held
        ]
        given.extend(reversed(new) if hand is Hand.LEFT else new)
        given.extend((note_id, played[number]) for note_id, number in step.doubled)
        points.append((new[0][0], sum(value for _, value in step_points)))
    return Suggestion(
        fingers=tuple(given),
        total=sum(value for _, value in points),
        reasons=_reasons(told),
        points_of_note=tuple(points),
    )


def _reasons(told: Sequence[Points]) -> tuple[Reason, ...]:
    sums: dict[Rule, list[int]] = {}
    for points in told:
        for rule, value in points:
            sums.setdefault(rule, []).append(value)
    reasons = [
        Reason(rule=rule, points=sum(values), times=len(values)) for rule, values in sums.items()
    ]
    return tuple(sorted(reasons, key=lambda reason: -reason.points))
