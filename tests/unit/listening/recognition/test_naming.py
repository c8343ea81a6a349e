from __future__ import annotations

import numpy as np
import pytest

from companion.listening.recognition.naming import EDITIONS_ALIKE, Naming

MUCH, LITTLE = 20.0, 3.0


def levels(*values: float):
    return np.array(values, np.float32)


def naming(music: tuple[int, ...] = (0, 1, 2), at_hand: int | None = None) -> Naming:
    return Naming(np.array(music), at_hand)


def test_the_piece_far_above_the_others_is_named():
    named = naming().name(levels(0.0, 9.0, 1.0), MUCH, 16)
    assert named is not None
    assert named.piece == 1
    assert named.confidence > 0.99


def test_two_pieces_that_fit_alike_are_not_told_apart():
    assert naming().name(levels(9.0, 9.0, 0.0), MUCH, 16) is None


def test_little_evidence_names_no_piece_but_keeps_the_one_that_was_named():
    anew, before = naming(), naming()
    before.name(levels(0.0, 30.0, 0.0), MUCH, 15)
    assert anew.name(levels(0.0, 30.0, 0.0), LITTLE, 16) is None
    kept = before.name(levels(0.0, 30.0, 0.0), LITTLE, 16)
    assert kept is not None
    assert kept.piece == 1


def test_what_was_named_is_forgotten_with_the_take():
    one = naming()
    one.name(levels(0.0, 30.0, 0.0), MUCH, 15)
    one.forget()
    assert one.name(levels(0.0, 30.0, 0.0), LITTLE, 16) is None


@pytest.mark.parametrize(
    ("less", "meant"),
    [(EDITIONS_ALIKE - 1, 2), (EDITIONS_ALIKE + 1, 0)],
    ids=["fits nearly as well", "fits much worse"],
)
def test_the_edition_on_the_stand_is_meant_as_long_as_it_fits_nearly_as_well(less, meant):
    named = naming((0, 1, 0), at_hand=2).name(levels(30.0, 0.0, 30.0 - less), MUCH, 16)
    assert named is not None
    assert (named.piece, *named.same_music) == (meant, 2 - meant)
