"""What the page says about the order of playing: bar lines, sounds, signs and words.

``<sound>`` attributes are believed before words; words and signs count where a score has no
attributes of that kind. What the signs mean for the player is decided in ``repeats``.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from companion.score.reading.repeats import Signs

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from companion.score.reading.written import WrittenMeasure

_LONGEST_WORDS = 60  # longer texts are remarks to the reader

_DA_CAPO = re.compile(r"\bd\.? ?c\.?(?=\W|$)|\bda capo\b", re.IGNORECASE)
_DAL_SEGNO = re.compile(r"\bd\.? ?s\.?(?=\W|$)|\bdal segno\b", re.IGNORECASE)
_TO_CODA = re.compile(r"^\W*(to|al|alla) (the )?coda\W*$", re.IGNORECASE)
_FINE = re.compile(r"^\W*fine\W*$", re.IGNORECASE)
_CODA = re.compile(r"^\W*coda\W*$", re.IGNORECASE)
_TRIO = re.compile(r"^\W*(trio|alternativo|musette)\b", re.IGNORECASE)
_SEGNO = re.compile(r"^\W*segno\W*$", re.IGNORECASE)


def is_jump_text(words: str) -> bool:
    """Tell whether printed words send the player somewhere else or end the piece."""
    jumps = (_DA_CAPO, _DAL_SEGNO, _TO_CODA, _FINE, _CODA, _SEGNO)
    return 0 < len(words) <= _LONGEST_WORDS and _says([words], *jumps)


def read_signs(written: Sequence[WrittenMeasure]) -> tuple[Signs, ...]:
    """Collect what bar lines, sounds and words say about the order of playing."""
    plain = [_plain_signs(measure) for measure in written]
    return tuple(_with_endings(written, _with_words(written, plain)))


def _plain_signs(measure: WrittenMeasure) -> Signs:
    """Read bar lines and <sound> attributes."""
    sounds = [direction.sound for direction in measure.directions]
    backward = next((line for line in measure.barlines if line.repeat == "backward"), None)
    return Signs(
        starts_repeat=any(line.repeat == "forward" for line in measure.barlines)
        or any(sound.forward_repeat for sound in sounds),
        ends_repeat=backward is not None,
        times=2 if backward is None else backward.times,
        after_jump=backward is not None and backward.after_jump,
        segno=_first(sound.segno for sound in sounds),
        coda=_first(sound.coda for sound in sounds),
        da_capo=any(sound.dacapo for sound in sounds),
        dal_segno=_first(sound.dalsegno for sound in sounds),
        to_coda=_first(sound.tocoda for sound in sounds),
        fine=any(sound.fine for sound in sounds),
    )


def _first(labels: Iterable[str | None]) -> str | None:
    return next((label for label in labels if label is not None), None)


def _with_words(written: Sequence[WrittenMeasure], plain: Sequence[Signs]) -> list[Signs]:
    """Add what printed words and signs say, for each kind that no <sound> speaks of."""
    signs = list(plain)
    has_jump = any(sign.da_capo or sign.dal_segno is not None for sign in signs)
    has_fine = any(sign.fine for sign in signs)
    has_segno = any(sign.segno is not None for sign in signs)
    has_coda = any(sign.coda is not None for sign in signs)
    has_to_coda = any(sign.to_coda is not None for sign in signs)
    for place, measure in enumerate(written):
        words = [item.words for item in measure.directions if 0 < len(item.words) <= _LONGEST_WORDS]
        sign = signs[place]
        to_coda = _says(words, _TO_CODA)
        if not has_jump:
            da_capo, dal_segno = _says(words, _DA_CAPO), _says(words, _DAL_SEGNO)
            sign = replace(sign, da_capo=da_capo, dal_segno="" if dal_segno else None)
        if not has_fine:
            sign = replace(sign, fine=_says(words, _FINE))
        if not has_segno and (_segno_sign(measure) or _says(words, _SEGNO)):
            sign = replace(sign, segno="")
        if not has_to_coda and to_coda:
            sign = replace(sign, to_coda="")
        if not has_coda and not to_coda and (_coda_sign(measure) or _says(words, _CODA)):
            sign = replace(sign, coda="")
        signs[place] = sign
    return _fine_before_trio(_first_coda_sign_leaves(signs), written)


def _fine_before_trio(signs: list[Signs], written: Sequence[WrittenMeasure]) -> list[Signs]:
    """Let a da capo without Fine end before the Trio, as players do."""
    trios = [
        place
        for place, measure in enumerate(written)
        if place and _says([item.words for item in measure.directions], _TRIO)
    ]
    jumps = [place for place, sign in enumerate(signs) if sign.da_capo]
    has_end = any(sign.fine or sign.to_coda is not None for sign in signs)
    if trios and jumps and not has_end and trios[0] <= jumps[-1]:
        signs[trios[0] - 1] = replace(signs[trios[0] - 1], fine=True)
    return signs


def _says(words: Sequence[str], *patterns: re.Pattern[str]) -> bool:
    return any(pattern.search(text) for text in words for pattern in patterns)


def _segno_sign(measure: WrittenMeasure) -> bool:
    return any(item.segno for item in measure.directions) or any(
        line.segno for line in measure.barlines
    )


def _coda_sign(measure: WrittenMeasure) -> bool:
    return any(item.coda for item in measure.directions) or any(
        line.coda for line in measure.barlines
    )


def _first_coda_sign_leaves(signs: list[Signs]) -> list[Signs]:
    """Where two coda signs stand and no "to coda", the first says where to leave."""
    places = [place for place, sign in enumerate(signs) if sign.coda is not None]
    if len(places) >= 2 and all(sign.to_coda is None for sign in signs):
        first = places[0]
        signs[first] = replace(signs[first], coda=None, to_coda=signs[first].coda)
    return signs


def _with_endings(written: Sequence[WrittenMeasure], signs: list[Signs]) -> list[Signs]:
    """Spread the numbers of each ending over the measures under its bracket."""
    open_from: int | None = None
    numbers: tuple[int, ...] = ()
    for place, measure in enumerate(written):
        for line in measure.barlines:
            if line.ending_type == "start":
                open_from, numbers = place, line.ending_numbers or (1,)
        closes = any(
            line.ending_type in ("stop", "discontinue") or line.repeat == "backward"
            for line in measure.barlines
        )
        if open_from is None and any(line.ending_type == "stop" for line in measure.barlines):
            open_from, numbers = place, (1,)  # its beginning was forgotten
        if open_from is not None and closes:
            for inside in range(open_from, place + 1):
                signs[inside] = replace(signs[inside], ending=numbers)
            open_from = None
    if open_from is not None:  # a bracket that is never closed covers its first measure
        signs[open_from] = replace(signs[open_from], ending=numbers)
    return signs
