"""Key and chord chosen from lists: whatever can be chosen is an answer that is understood."""

import pytest

from companion.analysis.recitation import Key, read_answer
from companion.desktop.harmony.chord_chooser import (
    ALTERED,
    FIGURES,
    MODES,
    NUMERALS,
    TARGETS,
    TONICS,
    ChordChooser,
)

C_MAJOR = Key.from_name("C")


@pytest.fixture
def chooser(qtbot):
    chooser = ChordChooser()
    qtbot.addWidget(chooser)
    return chooser


def test_every_choice_is_understood(chooser):
    for mode in MODES:
        for numeral in (*NUMERALS[mode], *ALTERED):
            for figures in FIGURES:
                for target in TARGETS[mode]:
                    chooser.choose("E♭", mode, numeral, figures, target)
                    answer = read_answer(chooser.answer, C_MAJOR)
                    assert answer is not None, chooser.answer
                    assert answer.chord is not None, chooser.answer
    for tonic in TONICS:
        for mode in MODES:
            chooser.choose(tonic, mode, "V", "7")
            assert read_answer(chooser.answer, C_MAJOR).key is not None, chooser.answer


def test_what_is_chosen_is_what_a_theorist_would_write(chooser):
    # figured bass: V4/3 is the second inversion, with the fifth in the bass
    chooser.choose("E♭", "major", "V", "43")
    assert chooser.answer == "E♭ major: V43"
    answer = read_answer(chooser.answer, C_MAJOR)
    assert (answer.key.name, answer.chord.degree, answer.inversion) == ("Eb", "V", 2)


def test_a_chord_that_has_its_position_in_its_name_needs_no_figures(chooser):
    chooser.choose("C", "minor", "Ger65", "7", "V")
    assert chooser.answer == "C minor: Ger65"
    assert not chooser._figures.isEnabled()


def test_the_key_stays_for_the_next_place(chooser):
    chooser.choose("G", "minor", "iv", "6")
    chooser.start_anew()
    assert chooser.answer == "G minor"
