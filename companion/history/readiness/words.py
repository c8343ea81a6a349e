"""The readiness of a piece in plain words: counts and intervals in every sentence, no grades."""

from __future__ import annotations

from collections.abc import Iterable

from companion.history.readiness.estimate import READY, SURE, Readiness, SectionReadiness

_FEW_TAKES_A_SECTION = 3
_WORTH_NAMING = 0.02


def no_stop_in_words(found: Readiness) -> str:
    """How likely a run without a stop is: so many of ten, between which counts, from how much."""
    estimate = found.no_stop
    if not estimate.count:
        return "Nothing has been played cold yet, so nothing can be told."
    low, high = _of_ten(estimate.low), _of_ten(estimate.high)
    takes = "first take" if estimate.count == 1 else "first takes"
    about = _of_ten(estimate.probability)
    between = f"between {low} and {high}; " if low != high else ""
    return (
        f"About {about} of 10 runs would go without a stop "
        f"({between}from {estimate.count} {takes} of the day)."
    )


def slips_in_words(found: Readiness) -> str:
    """How many slips a run will have, and between which counts."""
    mean, low, high = (
        round(each) for each in (found.slips.mean, found.slips.low, found.slips.high)
    )
    slips = "slip" if mean == 1 else "slips"
    return f"About {mean} {slips} in a run (between {low} and {high})."


def weakest_in_words(found: Readiness) -> str:
    """Which section is most likely to stop a run, and how surely that is known."""
    weakest = found.weakest
    if weakest is None:
        return ""
    if not weakest.no_stop.count:
        return f"{weakest.name} was never played cold: that is the first thing to find out."
    return (
        f"Most likely to stop a run: {weakest.name}, without a stop in about "
        f"{_of_ten(weakest.no_stop.probability)} of 10 first tries."
    )


def help_in_words(found: Readiness, named: int = 2) -> tuple[str, ...]:
    """What would raise the probability most, a sentence each, the most first."""
    said: list[str] = []
    for section in found.would_help_most:
        gain = section.run_if_sure - found.no_stop.probability
        if gain < _WORTH_NAMING or len(said) == named:
            break
        said.append(_help(section, found))
    if not said and found.no_stop.count:
        if found.no_stop.probability >= READY:
            return ("No section stands out: keep what you have, with rest in between.",)
        return ("One section made sure would not be enough: run-throughs of the whole help most.",)
    return tuple(said)


def _help(section: SectionReadiness, found: Readiness) -> str:
    before, after = _of_ten(found.no_stop.probability), _of_ten(section.run_if_sure)
    count = section.no_stop.count
    if count < _FEW_TAKES_A_SECTION:
        times = "never" if not count else "once" if count == 1 else "twice"
        return f"{section.name} was played cold {times}: play it first thing on some days."
    rise = (
        f"from about {before} to about {after} of 10 runs"
        if after > before
        else f"a little, by {round(100 * (section.run_if_sure - found.no_stop.probability))} of 100"
    )
    return (
        f"If {section.name} held in {round(100 * SURE)} of 100 first tries, runs without a stop "
        f"would rise {rise}."
    )


def memory_in_words(by_heart: bool, tried: Iterable[int]) -> tuple[str, ...]:
    """Say what the estimate does not know of a piece that is to be played from memory.

    Parameters
    ----------
    by_heart
        Whether it will be played from memory.
    tried
        On how many days each section was tried from memory.
    """
    if not by_heart or any(tried):
        return ()
    told = (
        "It will be played from memory, and no section was tried so: the estimate knows only "
        "takes with the score."
    )
    return (told,)


def run_throughs_in_words(found: Readiness) -> str:
    """What whole runs came to, beside the estimate."""
    runs = found.run_throughs
    if not runs.count:
        return "There was no run through the whole piece yet."
    whole = "run" if runs.count == 1 else "runs"
    low, high = runs.interval
    return (
        f"{runs.without_stop} of {runs.count} cold {whole} went without a stop "
        f"(the share may be {round(100 * low)} to {round(100 * high)} %)."
    )


def _of_ten(probability: float) -> int:
    return round(10 * probability)
