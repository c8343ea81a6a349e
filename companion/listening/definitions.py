"""What each measure means, in one sentence: shared by tooltips, help page and command line.

The order is that of the help page. ``name`` is the key in code, ``title`` what is printed.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Definition:
    """One measure: its key, its title on screen, its unit (empty for counts) and its meaning."""

    name: str
    title: str
    unit: str
    sentence: str


DEFINITIONS: tuple[Definition, ...] = (
    Definition(
        name="expected",
        title="Expected",
        unit="notes",
        sentence="The notes that the score asks for in what was played: each passage counts its "
        "own, and only those of the hand that was played when hands are practised separately.",
    ),
    Definition(
        name="right",
        title="Right",
        unit="notes",
        sentence="Written notes that were played; an ornament counts as one note.",
    ),
    Definition(
        name="wrong",
        title="Wrong",
        unit="notes",
        sentence="Written notes for which another key was struck.",
    ),
    Definition(
        name="missed",
        title="Missed",
        unit="notes",
        sentence="Written notes for which nothing was played.",
    ),
    Definition(
        name="added",
        title="Added",
        unit="notes",
        sentence="Played notes that stand for nothing written.",
    ),
    Definition(
        name="ornament",
        title="Ornament",
        unit="notes",
        sentence="Played notes that belong to a written ornament; they count neither for nor "
        "against you.",
    ),
    Definition(
        name="precision",
        title="Precision",
        unit="share",
        sentence="Right notes as a share of all played notes, ornaments left out.",
    ),
    Definition(
        name="recall",
        title="Recall",
        unit="share",
        sentence="Right notes as a share of all expected notes.",
    ),
    Definition(
        name="accuracy",
        title="Accuracy",
        unit="share",
        sentence="Twice the right notes as a share of the played and the expected notes together "
        "(the F measure): it falls with wrong, missed and added notes alike.",
    ),
    Definition(
        name="errors_per_100",
        title="Errors per 100 notes",
        unit="notes",
        sentence="Wrong, missed and added notes for every 100 expected ones; a wrong key counts "
        "once.",
    ),
    Definition(
        name="running_tempo_quarters_per_minute",
        title="Running tempo",
        unit="quarter notes per minute",
        sentence="The median of the tempo from beat to beat, which a stop does not pull down.",
    ),
    Definition(
        name="through_tempo_quarters_per_minute",
        title="Through tempo",
        unit="quarter notes per minute",
        sentence="Music played divided by the time it took, stops and restarts included.",
    ),
    Definition(
        name="steadiness",
        title="Steadiness",
        unit="share of a beat",
        sentence="How much the beats differ in length once the slow drift of the tempo is taken "
        "out (coefficient of variation): 0 is a metronome, and stops are left out.",
    ),
    Definition(
        name="evenness_sd_ms",
        title="Evenness",
        unit="ms",
        sentence="Standard deviation of the time from note to note inside runs of equal written "
        "notes: the smaller, the more even; stops are left out.",
    ),
    Definition(
        name="evenness_cv",
        title="Evenness, relative",
        unit="share",
        sentence="The evenness of runs as a share of the time from note to note (coefficient of "
        "variation), to compare different tempi.",
    ),
    Definition(
        name="hesitations",
        title="Hesitations",
        unit="",
        sentence="Places where the music waited more than twice as long as the notes before let "
        "expect, and at least 0.3 seconds longer; fermatas and the first four onsets are left out.",
    ),
    Definition(
        name="stops",
        title="Stops",
        unit="",
        sentence="Hesitations longer than a beat and a half and at least half a second longer "
        "than expected.",
    ),
    Definition(
        name="restarts",
        title="Restarts",
        unit="",
        sentence="Places where the playing went back to an earlier note; a written repeat is none.",
    ),
    Definition(
        name="jumps",
        title="Jumps",
        unit="",
        sentence="Places where the playing went on somewhere further ahead.",
    ),
    Definition(
        name="chord_spread_ms",
        title="Chord spread",
        unit="ms",
        sentence="Time from the first to the last key of notes written together, the median over "
        "all chords; arpeggios are left out.",
    ),
    Definition(
        name="melody_lead_ms",
        title="Melody lead",
        unit="ms",
        sentence="How far the top note of a chord comes before the mean of the others, on average.",
    ),
    Definition(
        name="left_right_offset_ms",
        title="Left after right",
        unit="ms",
        sentence="How far the left hand comes after the right where both are written together, on "
        "average; negative when the left hand leads.",
    ),
    Definition(
        name="velocity_p5",
        title="Softest",
        unit="MIDI velocity",
        sentence="The key velocity that one note in twenty stays below.",
    ),
    Definition(
        name="velocity_p95",
        title="Loudest",
        unit="MIDI velocity",
        sentence="The key velocity that one note in twenty goes beyond.",
    ),
    Definition(
        name="hand_balance",
        title="Balance of the hands",
        unit="MIDI velocity",
        sentence="Mean velocity of the right hand less that of the left.",
    ),
    Definition(
        name="damper_share",
        title="Pedal",
        unit="share",
        sentence="The share of the time during which the damper pedal was down.",
    ),
    Definition(
        name="coverage",
        title="Covered",
        unit="share",
        sentence="How much of the section was played at least once, counted in written notes.",
    ),
    Definition(
        name="edge_errors",
        title="Errors at the edges",
        unit="notes",
        sentence="Wrong or missed melody or bass notes where the section begins or ends.",
    ),
)
"""Measures of a take in a section; each is a field of ``SectionMeasures``."""

DRILL_DEFINITIONS: tuple[Definition, ...] = (
    Definition(
        name="complete",
        title="Tries",
        unit="",
        sentence="How often a drill was played from end to end; at least four fifths of its notes, "
        "with its beginning and its end.",
    ),
    Definition(
        name="clean",
        title="Clean",
        unit="",
        sentence="Tries in which every note of the drill was right and no other note was struck.",
    ),
    Definition(
        name="evenness_sd_ms",
        title="Evenness inside the groups",
        unit="ms",
        sentence="Standard deviation of what each interval inside a group is too long or too "
        "short, against the rhythm of the drill at your own tempo; the borders between the groups "
        "and the notes on which it rests are left out.",
    ),
    Definition(
        name="evenness_cv",
        title="Evenness inside the groups, relative",
        unit="share",
        sentence="The same as a share of the time from note to note, to compare different tempi.",
    ),
    Definition(
        name="border_delay_ms",
        title="Delay at the borders",
        unit="ms",
        sentence="How much longer than the rhythm asks the wait is before the first note of a "
        "group, the median over the borders; negative where you hurry on.",
    ),
)
"""Measures of a drill; each is a field or property of ``DrillTry``."""

TASK = Definition(
    name="task",
    title="Task",
    unit="",
    sentence="A few measures inside a section that ask for something of their own, such as a run, "
    "leaps or two rhythms; accuracy, tempo and takes are counted in them as in a section.",
)

_BY_NAME = {definition.name: definition for definition in DEFINITIONS}
_OF_DRILLS = {definition.name: definition for definition in DRILL_DEFINITIONS}


def definition(name: str) -> Definition:
    """Return the definition of a measure; raises ``KeyError`` for an unknown name."""
    return _BY_NAME[name]


def drill_definition(name: str) -> Definition:
    """Return the definition of a measure of a drill; raises ``KeyError`` for an unknown name."""
    return _OF_DRILLS[name]
