"""What the measures of the days mean agrees with the rules that judge them."""

import pytest

from companion.history.definitions import DEFINITIONS, definition
from companion.history.knowing.clean import Thresholds


def test_the_limits_that_are_told_are_the_usual_ones():
    usual = Thresholds()
    clean, known, lapsed = (definition(name).sentence for name in ("clean", "known", "lapsed"))
    assert f"at most {usual.errors_per_100:g} errors in 100 notes" in clean
    assert f"{usual.tempo_share:.0%}".replace("%", " %") in clean
    assert f"after {usual.days_to_know} clean cold takes" in known
    assert f"{usual.lapse_misses} of the last {usual.lapse_of} cold takes" in lapsed


def test_every_definition_is_a_sentence_with_a_name_of_its_own():
    assert len({each.name for each in DEFINITIONS}) == len(DEFINITIONS)
    assert all(each.sentence.endswith(".") for each in DEFINITIONS)


def test_an_unknown_name_is_no_definition():
    with pytest.raises(KeyError):
        definition("mood")
