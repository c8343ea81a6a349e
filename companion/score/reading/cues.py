"""Printed signs that may begin a section, each at the place where what follows it begins."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from companion.score.model import CueKind, Measure, Position, PrintedCue, TempoMark

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from companion.score.reading.written import WrittenMeasure

_HEADING = re.compile(
    r"^\W*(trio|min[uo]e[ct]t?o?|menuett?o?|menuet|scherz(o|ando)|var(iation|iatio|iazione|\.)?\W*"
    r"[ivxlc\d]+|variation|tema|thema|theme|minore|maggiore|mineur|majeur|alternativo|finale?|"
    r"coda|codetta|introdu(ction|zione|ktion)|intro|fug[ae]|fugue|fughetta|pr[ae]lud(e|ium|io)|"
    r"prelude|toccata|aria|cadenza|kadenz|rondo|refrain|couplet|episode|exposition|development|"
    r"durchf[üu]hrung|reprise|recapitulation|trio (i|ii)|[ivx]{1,4}\.?|no\. ?\d+|nr\. ?\d+)\W*$",
    re.IGNORECASE,
)
_ENDS_MUSIC = ("light-heavy", "heavy-light", "heavy-heavy", "heavy")
_KEY_WORDS = {0: "no sharps or flats", 1: "1 sharp", -1: "1 flat"}


def is_heading(words: str, *, large: bool = False) -> bool:
    """Tell whether printed words name a part of the piece ("Trio", "Var. 3", "Coda")."""
    return bool(_HEADING.match(words)) or (large and 2 < len(words) <= 60)


def read_cues(
    written: Sequence[WrittenMeasure],
    measures: Sequence[Measure],
    tempo_marks: Sequence[TempoMark],
    fermatas: Iterable[Position],
) -> tuple[PrintedCue, ...]:
    """Collect all cues of a score in order, each kind once at each place.

    Nothing is said about the beginning of the piece, where everything begins anyway, apart from
    headings, rehearsal marks and repeats; nor about its end.
    """
    cues: list[PrintedCue] = []
    for measure in written:
        cues.extend(_barline_cues(measure, measures))
        cues.extend(_direction_cues(measure, measures))
    cues.extend(_key_cues(written))
    cues.extend(_meter_cues(written))
    cues.extend(
        PrintedCue(kind=CueKind.TEMPO_CHANGE, position=mark.position, text=mark.text)
        for mark in tempo_marks
        if mark.text and mark.position > Position(0)
    )
    cues.extend(PrintedCue(kind=CueKind.FERMATA, position=place) for place in fermatas)
    end = Position(len(measures))
    unique = {
        (cue.position, cue.kind): cue for cue in reversed(cues) if cue.position < end
    }  # reversed, so that the first text of a kind and place stays
    return tuple(unique[key] for key in sorted(unique, key=lambda key: (key[0], key[1].value)))


def normalised(position: Position, measures: Sequence[Measure]) -> Position:
    """Turn a place at the end of a measure into the beginning of the next one."""
    index = position.measure_index
    if index < len(measures) and position.offset_quarters >= measures[index].duration_quarters:
        return Position(index + 1)
    return position


def _barline_cues(measure: WrittenMeasure, measures: Sequence[Measure]) -> Iterator[PrintedCue]:
    here, behind = Position(measure.index), Position(measure.index + 1)
    for line in measure.barlines:
        border = here if line.left else behind
        if line.repeat == "forward":
            yield PrintedCue(kind=CueKind.REPEAT_START, position=here)
        elif line.repeat == "backward":
            yield PrintedCue(kind=CueKind.REPEAT_END, position=behind)
        elif line.style == "light-light" or line.style in _ENDS_MUSIC:
            yield PrintedCue(kind=CueKind.DOUBLE_BAR, position=border)
        if line.ending_type == "start":
            yield PrintedCue(kind=CueKind.ENDING, position=here, text=line.ending_text)
        if line.segno:
            yield PrintedCue(kind=CueKind.SEGNO, position=border)
        if line.coda:
            yield PrintedCue(kind=CueKind.CODA, position=border)


_FINE = re.compile(r"^\W*fine\W*$", re.IGNORECASE)


def _direction_cues(measure: WrittenMeasure, measures: Sequence[Measure]) -> Iterator[PrintedCue]:
    for direction in measure.directions:
        place = normalised(Position(measure.index, direction.offset_quarters), measures)
        if direction.rehearsal:
            yield PrintedCue(kind=CueKind.REHEARSAL_MARK, position=place, text=direction.rehearsal)
        if direction.segno:
            yield PrintedCue(kind=CueKind.SEGNO, position=place)
        if direction.coda:
            yield PrintedCue(kind=CueKind.CODA, position=place)
        words = direction.words if direction.printed else ""
        if direction.sound.fine or _FINE.match(words):
            # the music ends with the measure that says Fine
            yield PrintedCue(kind=CueKind.FINE, position=Position(measure.index + 1), text=words)
        elif words and is_heading(words, large=direction.large and direction.metronome is None):
            yield PrintedCue(kind=CueKind.HEADING, position=place, text=words)


def _key_cues(written: Sequence[WrittenMeasure]) -> Iterator[PrintedCue]:
    fifths: int | None = None
    for measure in written:
        for key in measure.keys:
            if fifths is not None and key.fifths != fifths:
                yield PrintedCue(
                    kind=CueKind.KEY_CHANGE,
                    position=Position(measure.index, key.offset_quarters),
                    text=key_signature_text(key.fifths),
                )
            fifths = key.fifths


def key_signature_text(fifths: int) -> str:
    """Return a key signature in words: "3 flats"."""
    return _KEY_WORDS.get(fifths) or f"{abs(fifths)} {'sharps' if fifths > 0 else 'flats'}"


def _meter_cues(written: Sequence[WrittenMeasure]) -> Iterator[PrintedCue]:
    current: tuple[int, int] | None = None
    for measure in written:
        for meter in measure.meters:
            new = (meter.beats, meter.beat_type)
            if current is not None and new != current and meter.beats:
                yield PrintedCue(
                    kind=CueKind.METER_CHANGE,
                    position=Position(measure.index, meter.offset_quarters),
                    text=f"{meter.beats}/{meter.beat_type}",
                )
            current = new
