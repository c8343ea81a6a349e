"""Printed tempi: metronome marks, the tempo of the sound, and words.

A metronome mark counts its own unit ("dotted quarter = 60" is 90 quarters a minute); the tempo of
a ``<sound>`` is in quarters a minute whatever is printed (W3C MusicXML 4.0). Words alone say no
number: they are kept as words, and :func:`usual_quarters_per_minute` gives a starting point that
must be shown as a guess.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from companion.score.model import Position, TempoMark

if TYPE_CHECKING:
    from collections.abc import Iterable

    from companion.score.reading.directions import Direction
    from companion.score.reading.written import WrittenMeasure

_USUAL_BEATS_PER_MINUTE = {
    # defaults of music21 10.5 (music21.tempo.defaultTempoValues); sources disagree, so these are
    # a starting point and never a target by themselves
    "grave": 40,
    "largo": 46,
    "lento": 52,
    "adagio": 56,
    "larghetto": 60,
    "andante": 72,
    "andantino": 80,
    "moderato": 92,
    "allegretto": 108,
    "allegro": 132,
    "vivace": 160,
    "presto": 184,
    "prestissimo": 208,
}

_STEADY_WORD = re.compile(
    r"\b(grave|largo|larghetto|lento|lent|adagio|adagietto|andante|andantino|moderato|mod[ée]r[ée]|"
    r"allegretto|allegro|allegrissimo|vivace|vivo|vivacissimo|presto|prestissimo|maestoso|"
    r"sostenuto|tranquillo|tempo (giusto|ordinario|di \w+)|langsam|m[äa](ß|ss)ig|lebhaft|schnell|"
    r"rasch|bewegt|geschwind|ruhig|gehend|vite|vif|anim[ée]|calme|slow(ly)?|fast|moderately|"
    r"lively|doppio movimento|pi[ùu] (mosso|lento|vivo|allegro|presto|animato|tranquillo)|"
    r"meno mosso|poco (pi[ùu]|meno) mosso)\b",
    re.IGNORECASE,
)
_RETURN_WORD = re.compile(r"\b(a tempo|in tempo|im tempo|au mouvement)\b", re.IGNORECASE)
_FIRST_TEMPO_WORD = re.compile(
    r"\btempo (i|1|1o|1\.|primo|prima)\b|\b(1er|erstes) (tempo|zeitma(ß|ss))\b|\bl'istesso tempo\b",
    re.IGNORECASE,
)
_PASSING_WORD = re.compile(
    r"\b(rit|ritard|ritardando|ritenuto|riten|rall|rallentando|accel|accelerando|string|stringendo|"
    r"allarg|allargando|calando|smorz|smorzando|morendo|slentando|rubato|stretto|stretta)\b",
    re.IGNORECASE,
)


_EQUATION = re.compile(
    r"([a-z]+-?dotted |dotted )?(maxima|long|breve|whole|half|quarter|eighth|\d+(nd|th)) = .+"
)


def is_tempo_text(words: str) -> bool:
    """Tell whether printed words set a tempo that holds from there on."""
    if not words or len(words) > 80:
        return False
    steady = (_STEADY_WORD, _RETURN_WORD, _FIRST_TEMPO_WORD)
    return any(pattern.search(words) for pattern in steady) and not _begins_passing(words)


def _begins_passing(words: str) -> bool:
    plain = words.lower().lstrip("( ").removeprefix("poco ").removeprefix("molto ")
    return _PASSING_WORD.match(plain) is not None


def usual_quarters_per_minute(text: str) -> float | None:
    """Return a usual tempo for the first tempo word in a text, None where there is none.

    The table is that of music21; printed metronome bands for the same words differ widely, so
    show the number as a guess. The beat is taken to be a quarter.
    """
    for word in re.findall(r"[a-z]+", text.lower()):
        if word in _USUAL_BEATS_PER_MINUTE:
            return float(_USUAL_BEATS_PER_MINUTE[word])
    return None


def read_tempo_marks(written: Iterable[WrittenMeasure]) -> tuple[TempoMark, ...]:
    """Return every tempo that holds from a place on, in order.

    Tempi that only the sound knows have an empty text. "A tempo" brings back the last steady
    tempo that was printed, "Tempo I" the first one.
    """
    marks: list[TempoMark] = []
    printed: list[TempoMark] = []
    for measure in written:
        for direction in sorted(measure.directions, key=lambda item: item.offset_quarters):
            position = Position(measure.index, direction.offset_quarters)
            mark = _mark(direction, position, printed)
            if mark is None:
                continue
            if marks and _says_nothing_new(marks[-1], mark):
                continue
            if marks and _belong_together(marks[-1], mark):
                mark = _combined(marks.pop(), mark)
            marks.append(mark)
            if mark.text and not _begins_passing(mark.text):
                printed.append(mark)
    return tuple(marks)


def _mark(direction: Direction, position: Position, printed: list[TempoMark]) -> TempoMark | None:
    words = direction.words if direction.printed else ""
    tempo = direction.sound.tempo
    metronome = direction.metronome
    if metronome is not None:
        quarters = metronome.per_minute * float(metronome.unit_quarters)
        equation = f"{metronome.unit_name} = {metronome.per_minute_text}"
        text = f"{words} ({equation})" if words else equation
        return _at(position, text if direction.printed else "", quarters)
    if tempo is not None:
        return _at(position, words if _sets_tempo(words) else "", tempo)
    if not is_tempo_text(words):
        return None
    if _FIRST_TEMPO_WORD.search(words) and printed:
        return _at(position, words, printed[0].quarters_per_minute)
    if _RETURN_WORD.search(words) and printed:
        return _at(position, words, printed[-1].quarters_per_minute)
    return _at(position, words, None)


def _at(position: Position, text: str, quarters_per_minute: float | None) -> TempoMark:
    return TempoMark(position=position, text=text, quarters_per_minute=quarters_per_minute)


def _sets_tempo(words: str) -> bool:
    return is_tempo_text(words) or _PASSING_WORD.search(words) is not None


def _says_nothing_new(earlier: TempoMark, later: TempoMark) -> bool:
    """Tell whether a mark only repeats the one before it: silently, or for the other staff."""
    if earlier.quarters_per_minute != later.quarters_per_minute:
        return False
    same_measure = earlier.position.measure_index == later.position.measure_index
    return not later.text or (same_measure and later.text in earlier.text)


def _belong_together(earlier: TempoMark, later: TempoMark) -> bool:
    """Tell whether two marks say one thing: at one place, or words with an equation after them."""
    if earlier.position == later.position:
        return True
    same_measure = earlier.position.measure_index == later.position.measure_index
    words_first = bool(earlier.text) and not _EQUATION.search(earlier.text)
    return same_measure and words_first and _EQUATION.fullmatch(later.text) is not None


def _combined(earlier: TempoMark, later: TempoMark) -> TempoMark:
    """Make one mark of words, equation and sound that belong together."""
    later_counts = later.quarters_per_minute is not None and (
        bool(later.text) or earlier.quarters_per_minute is None
    )
    # an equation is printed, a tempo beside mere words is that of the playback
    if _EQUATION.search(earlier.text) and not _EQUATION.search(later.text):
        later_counts = False
    quarters = later.quarters_per_minute if later_counts else earlier.quarters_per_minute
    return _at(earlier.position, _joined_texts(earlier.text, later.text), quarters)


def _joined_texts(first: str, second: str) -> str:
    if not first or not second or second in first or first in second:
        return max(first, second, key=len)
    words, equation = (second, first) if _EQUATION.fullmatch(first) else (first, second)
    return f"{words} ({equation})" if _EQUATION.fullmatch(equation) else f"{words} {equation}"
