"""Pieces, made of sections, made of measures."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from score_writing.notation import Event, Line, VoiceReader

VOICES = {"R": (1, 1), "R2": (2, 1), "L": (5, 2), "L2": (6, 2)}
LOWEST_PIANO_KEY, HIGHEST_PIANO_KEY = 21, 108
WIDEST_STRETCH_SEMITONES = 14  # a major ninth


@dataclass(frozen=True, slots=True)
class Tempo:
    """Words, metronome mark (beat unit name, per minute) over the measure."""

    words: str
    unit: str
    per_minute: int
    dotted: bool = False
    printed: bool = True

    @property
    def quarters_per_minute(self) -> Fraction:
        """The same in quarters per minute."""
        quarters = {"eighth": Fraction(1, 2), "quarter": Fraction(1), "half": Fraction(2)}[
            self.unit
        ]
        return self.per_minute * quarters * (Fraction(3, 2) if self.dotted else 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A run of measures: ``music`` maps a voice name (R, R2, L, L2) to its text.

    ``right`` is the barline at its end ("double", "repeat", "final"), ``left`` may be "repeat".
    ``at_start`` and ``at_end`` are navigation signs: segno, coda, fine, dacapo, dalsegno, tocoda.
    """

    music: dict[str, str]
    rehearsal: str = ""
    tempo: Tempo | None = None
    fifths: int | None = None
    meter: tuple[int, int] | None = None
    pickup: bool = False
    left: str = ""
    right: str = ""
    ending: str = ""
    at_start: tuple[str, ...] = ()
    at_end: tuple[str, ...] = ()


@dataclass(slots=True, kw_only=True)
class Measure:
    """One measure ready for engraving; ``voices`` hold notes and signs in time order."""

    number: int
    meter: tuple[int, int]
    fifths: int
    length: Fraction
    voices: dict[str, Line]
    starts: Section | None = None
    ends: Section | None = None
    new_meter: bool = False
    new_key: bool = False

    @property
    def events(self) -> list[Event]:
        """All notes and rests, by onset."""
        found = [e for line in self.voices.values() for e in line if isinstance(e, Event)]
        return sorted(found, key=lambda event: event.onset)


@dataclass(slots=True, kw_only=True)
class Piece:
    """A whole piece: what the title page says and its sections."""

    title: str
    file_name: str
    sections: list[Section]
    beam_quarters: dict[tuple[int, int], Fraction] = field(default_factory=dict)

    def measures(self) -> list[Measure]:
        """All measures, checked: every voice fills its measure, hands can reach, keys exist."""
        out: list[Measure] = []
        readers = {name: VoiceReader(*VOICES[name]) for name in VOICES}
        meter, fifths = (4, 4), 0
        number = 0 if self.sections[0].pickup else 1
        for section in self.sections:
            new_meter = section.meter is not None or not out
            new_key = section.fifths is not None or not out
            meter = section.meter or meter
            fifths = fifths if section.fifths is None else section.fifths
            length = Fraction(4 * meter[0], meter[1])
            read = {
                name: readers[name].measures(text, length) for name, text in section.music.items()
            }
            count = max(len(lines) for lines in read.values())
            for place in range(count):
                voices = {name: lines[place] for name, lines in read.items() if place < len(lines)}
                voices = {name: line for name, line in voices.items() if line}
                measure = Measure(
                    number=number,
                    meter=meter,
                    fifths=fifths,
                    length=length,
                    voices=voices,
                    starts=section if place == 0 else None,
                    ends=section if place == count - 1 else None,
                    new_meter=new_meter and place == 0,
                    new_key=new_key and place == 0,
                )
                if section.pickup:
                    measure.length = self._filled(measure, "R")
                self._check(measure)
                out.append(measure)
                number += 1
        return out

    def _filled(self, measure: Measure, name: str) -> Fraction:
        line = measure.voices[name]
        return sum((e.duration for e in line if isinstance(e, Event)), Fraction(0))

    def _check(self, measure: Measure) -> None:
        where = f"{self.title}, measure {measure.number}"
        for needed in ("R", "L"):
            if needed not in measure.voices:
                raise ValueError(f"{where}: voice {needed} is empty")
        for name in measure.voices:
            filled = self._filled(measure, name)
            if filled != measure.length:
                raise ValueError(f"{where}: voice {name} has {filled} of {measure.length} quarters")
        for event in measure.events:
            for one in event.pitches:
                if not LOWEST_PIANO_KEY <= one.midi <= HIGHEST_PIANO_KEY:
                    raise ValueError(f"{where}: {one.text} is not on the piano")
        for voices in ((1, 2), (5, 6)):
            hand = [e for e in measure.events if e.voice in voices and e.pitches and not e.grace]
            for event in hand:
                sounding = [
                    other
                    for other in hand
                    if other.onset <= event.onset < other.onset + other.duration
                ]
                keys = [one.midi for other in sounding for one in other.pitches]
                if any("&" in other.signs for other in sounding):
                    continue
                if max(keys) - min(keys) > WIDEST_STRETCH_SEMITONES:
                    raise ValueError(f"{where}: stretch of {max(keys) - min(keys)} semitones")
