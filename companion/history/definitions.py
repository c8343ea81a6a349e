"""What the measures of the days mean, in one sentence each: for tooltips, the help and reports.

As :mod:`companion.listening.definitions` says it of the measures of a take.
"""

from __future__ import annotations

from companion.listening.definitions import Definition

DEFINITIONS: tuple[Definition, ...] = (
    Definition(
        name="practice_day",
        title="Practice day",
        unit="",
        sentence="A calendar day where you are, from the hour in the settings (4 in the morning, "
        "unless changed) to the same hour on the next day.",
    ),
    Definition(
        name="cold_take",
        title="Cold take",
        unit="",
        sentence="The first take of a section on a practice day, with both hands and with nothing "
        "of the section played before on that day; only cold takes say what is known.",
    ),
    Definition(
        name="clean",
        title="Clean",
        unit="",
        sentence="The whole section without a stop or a restart, with at most 2 errors in 100 "
        "notes (a wrong key counts once), none on melody or bass where it begins or ends, at 95 % "
        "of the target tempo of today or faster; the limits belong to the piece.",
    ),
    Definition(
        name="known",
        title="Known, known since",
        unit="",
        sentence="Known after 3 clean cold takes on 3 days, since the third of these days, until "
        "it lapses.",
    ),
    Definition(
        name="lapsed",
        title="Lapsed",
        unit="",
        sentence="Known no longer, because 2 of the last 3 cold takes were not clean; it is known "
        "again after 3 clean ones.",
    ),
    Definition(
        name="retention",
        title="Retention",
        unit="share",
        sentence="How likely a cold take today comes out clean, from the cold takes so far; one "
        "that is a week old counts half. The interval holds the true value in 95 of 100 cases.",
    ),
    Definition(
        name="return",
        title="Next return",
        unit="",
        sentence="The day on which to play a section cold again, by an open algorithm for spaced "
        "repetition; with a performance ahead never more than a week after the last time. It is a "
        "schedule, no probability.",
    ),
    Definition(
        name="from_memory",
        title="From memory",
        unit="",
        sentence="How many cold takes were played with the score covered from the first key to the "
        "last, or were noted so afterwards, and how many of them were clean.",
    ),
    Definition(
        name="known_longest",
        title="Known longest",
        unit="",
        sentence="The section with the earliest day since which it is known. Whether the hardest "
        "are known longest is told by a rank correlation (tau-b, \N{MINUS SIGN}1 to 1), with the "
        "share of all orders that would do as well by chance.",
    ),
)

READINESS: tuple[Definition, ...] = (
    Definition(
        name="no_stop",
        title="Without a stop",
        unit="",
        sentence="How likely the piece, or a section, goes cold from its first note to its last "
        "without a stop or a return, as at home; told from cold takes, with an interval that holds "
        "the true value in 95 of 100 cases, and with their count.",
    ),
    Definition(
        name="slips",
        title="Slips in a run",
        unit="",
        sentence="Wrong, missed and added notes to be expected once through, a wrong key counted "
        "once, from the same cold takes.",
    ),
    Definition(
        name="weakest",
        title="Weakest link",
        unit="",
        sentence="The section that is most likely to stop a run.",
    ),
    Definition(
        name="would_help",
        title="What would help most",
        unit="",
        sentence="How much likelier a run without a stop would be, were this one section sure in "
        "98 of 100 first tries.",
    ),
)
"""Of the piece as a whole, on one day."""

_BY_NAME = {each.name: each for each in (*DEFINITIONS, *READINESS)}


def definition(name: str) -> Definition:
    """Return the definition of a measure of the days; raises ``KeyError`` for an unknown name."""
    return _BY_NAME[name]
