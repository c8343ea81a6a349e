"""What the page of the readiness shows, as plain values."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadySection:
    """A section as a line of the table, every figure in words with its count and interval.

    ``named`` is how many chords were named all right away from the keyboard, ``from_memory`` what
    the first tries of a day from memory came to, and ``last_from_memory`` when the last one was.
    """

    section_id: str
    name: str
    without_stop: str
    slips: str
    tempo: str
    known: str
    checked: str
    named: str = ""
    from_memory: str = ""
    last_from_memory: str = ""
    weakest: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PastCheck:
    """An earlier check as a line."""

    when: str
    without_stop: str
    starts: str
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadinessContent:
    """What is shown beside a check.

    Parameters
    ----------
    sentences
        The answers in plain words, the most important first.
    """

    sentences: tuple[str, ...] = ()
    sections: tuple[ReadySection, ...] = ()
    checks: tuple[PastCheck, ...] = ()
    waiting: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class StepShown:
    """The open step of a check.

    Parameters
    ----------
    number, count
        "3 of 14".
    answer_wanted
        Whether key and chord are to be named.
    before
        What the step before came to; empty for the first.
    """

    number: int
    count: int
    says: str
    answer_wanted: bool = False
    before: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckOver:
    """A check that has ended: one sentence, and a line for each step."""

    says: str
    lines: tuple[str, ...] = ()
