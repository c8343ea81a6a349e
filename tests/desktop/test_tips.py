"""Tooltips are broken into lines that can be read at a glance."""

import pytest

from companion.desktop.tips import LETTERS_A_LINE, in_lines
from companion.listening.definitions import DEFINITIONS


@pytest.mark.parametrize("definition", DEFINITIONS, ids=lambda definition: definition.name)
def test_definitions_are_shown_in_short_lines_and_whole(definition):
    shown = in_lines(definition.sentence)
    assert max(map(len, shown.splitlines())) <= LETTERS_A_LINE
    assert shown.split() == definition.sentence.split()


def test_breaks_that_are_there_stay():
    assert in_lines("A, measures 1-8.\nProposed because of: double bar") == (
        "A, measures 1-8.\nProposed because of: double bar"
    )
