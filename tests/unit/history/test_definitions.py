"""What the measures of the days mean agrees with the rules that judge them."""

import pytest

from companion.history.definitions import DEFINITIONS, READINESS, definition
from companion.history.knowing.clean import Thresholds
from companion.history.readiness.estimate import SURE


def test_the_limits_that_are_told_are_the_usual_ones():
    usual = Thresholds()
    clean, known, lapsed = (definition(name).sentence for name in ("clean", "known", "lapsed"))
    assert f"at most {usual.errors_per_100:g} errors in 100 notes" in clean
    assert f"{usual.tempo_share:.0%}".replace("%", " %") in clean
    assert f"after {usual.days_to_know} clean cold takes" in known
    assert f"{usual.lapse_misses} of the last {usual.lapse_of} cold takes" in lapsed


def test_every_definition_is_a_sentence_with_a_name_of_its_own():
    every = (*DEFINITIONS, *READINESS)
    assert len({each.name for each in every}) == len(every)
    assert all(each.sentence.endswith(".") for each in every)


def test_how_sure_a_section_would_have_to_be_is_told_as_it_is_reckoned():
    assert f"in {round(100 * SURE)} of 100 first tries" in definition("would_help").sentence


def test_an_unknown_name_is_no_definition():
    with pytest.raises(KeyError):
        definition("mood")
