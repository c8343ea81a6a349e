r"""The text notation of one voice.

A voice is tokens separated by blanks, measures separated by ``|``:

- ``c#5/8.`` a note: letter, alteration, octave, written value; the value holds until the next one.
  ``c4+e4+g4/2`` a chord, ``r/4`` a rest, ``R`` a whole measure of rest.
- Signs behind a note: ``~`` tie to the next note, ``(`` ``)`` slur, ``'`` staccato, ``-`` tenuto,
  ``>`` accent, ``@`` fermata, ``&`` arpeggio, ``;`` no beam across the end of this note,
  ``:tr`` ``:mo`` ``:im`` ``:tu`` trill, mordent, inverted mordent, turn,
  ``=13`` fingers from the lowest note, ``%2`` written in the other staff.
- ``^d5`` acciaccatura, ``^^d5/8`` appoggiatura before the next note.
- ``3{ ... }`` triplet (also ``6{``), ``3h{`` the same without its number printed.
- ``\p`` dynamics, ``\<`` ``\>`` ``\!`` hairpins, ``\w:molto_legato`` words below the staff, ``\W:``
  above it, ``\ped`` ``\*`` pedal down and up, ``\clef:F4`` a new clef,
  ``\up`` / ``\down`` force stems until ``\auto``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction

from score_writing.pitch import Pitch, pitch

TYPES = {1: "whole", 2: "half", 4: "quarter", 8: "eighth", 16: "16th", 32: "32nd"}
ORNAMENTS = {"tr": "trill-mark", "mo": "mordent", "im": "inverted-mordent", "tu": "turn"}
ARTICULATIONS = {"'": "staccato", "-": "tenuto", ">": "accent"}
NOTE = re.compile(
    r"(?P<grace>\^\^|\^|)(?P<what>r|R|[a-g][#b]*\d(?:\+[a-g][#b]*\d)*)(?:/(?P<value>\d+)(?P<dots>\.*))?"
    r"(?P<signs>(?:[~()'>@&;-]|:tr|:mo|:im|:tu|=\d+|%\d)*)"
)
SIGN = re.compile(r"[~()'>@&;-]|:[a-z]+|=\d+|%\d")


@dataclass(slots=True)
class Event:
    """A note, chord or rest at ``onset`` quarters in its measure."""

    onset: Fraction
    duration: Fraction
    pitches: tuple[Pitch, ...]
    value: int
    dots: int
    voice: int
    staff: int
    grace: str = ""
    whole_measure: bool = False
    signs: tuple[str, ...] = ()
    tuplet: tuple[int, int] | None = None
    tuplet_start: bool = False
    tuplet_stop: bool = False
    tuplet_number: bool = True
    fingers: str = ""
    tied_from: bool = False
    forced_stem: str = ""
    stem: str = ""
    beams: tuple[str, ...] = ()
    accidentals: dict[int, str] = field(default_factory=dict)

    @property
    def type(self) -> str:
        """Written value by its MusicXML name."""
        return TYPES[self.value]


@dataclass(slots=True)
class Sign:
    """A direction or clef at ``onset`` quarters in its measure: its token without the slash."""

    onset: Fraction
    text: str
    staff: int


Line = list[Event | Sign]


class VoiceReader:
    """Reads the text of a voice measure by measure, keeping what holds on (value, stems, ties)."""

    def __init__(self, voice: int, staff: int) -> None:
        self.voice = voice
        self.staff = staff
        self.value, self.dots = 4, 0
        self.stem = ""
        self.tied: set[Pitch] = set()

    def measures(self, text: str, length: Fraction) -> list[Line]:
        """All measures of the text; ``length`` in quarters serves whole-measure rests."""
        return [self._measure(part.split(), length) for part in text.split("|")]

    def _measure(self, tokens: list[str], length: Fraction) -> Line:
        line: Line = []
        now = Fraction(0)
        tuplet: tuple[int, int] | None = None
        opening, number = False, True
        for token in tokens:
            if token in ("\\up", "\\down", "\\auto"):
                self.stem = "" if token == "\\auto" else token[1:]
            elif token.startswith("\\"):
                line.append(Sign(now, token[1:], self.staff))
            elif token.endswith("{"):
                count = int(token.rstrip("h{"))
                tuplet, opening = (count, {3: 2, 6: 4}[count]), True
                number = "h" not in token
            elif token == "}":
                last = next(e for e in reversed(line) if isinstance(e, Event))
                last.tuplet_stop = True
                tuplet = None
            else:
                event = self._note(token, now, tuplet, length)
                event.tuplet_start, opening = (
                    opening and not event.grace,
                    opening and bool(event.grace),
                )
                event.tuplet_number = number
                line.append(event)
                now += event.duration
        return line

    def _note(
        self, token: str, now: Fraction, tuplet: tuple[int, int] | None, length: Fraction
    ) -> Event:
        found = NOTE.fullmatch(token)
        if found is None:
            raise ValueError(f"cannot read {token!r}")
        grace = found["grace"]
        value, dots = self.value, self.dots
        if found["value"]:
            value, dots = int(found["value"]), len(found["dots"])
        elif grace:
            value, dots = 8, 0
        if not grace:
            self.value, self.dots = value, dots
        duration = Fraction(4, value) * (2 - Fraction(1, 2**dots))
        if tuplet:
            duration = duration * tuplet[1] / tuplet[0]
        rest = found["what"] in "rR"
        whole = found["what"] == "R"
        pitches = (
            ()
            if rest
            else tuple(
                sorted((pitch(name) for name in found["what"].split("+")), key=lambda one: one.midi)
            )
        )
        signs = SIGN.findall(found["signs"])
        fingers = "".join(sign[1:] for sign in signs if sign[0] == "=")
        staff = next((int(sign[1]) for sign in signs if sign[0] == "%"), self.staff)
        event = Event(
            onset=now,
            duration=Fraction(0) if grace else length if whole else duration,
            pitches=pitches,
            value=value,
            dots=dots,
            voice=self.voice,
            staff=staff,
            grace={"^": "slashed", "^^": "long", "": ""}[grace],
            whole_measure=whole,
            signs=tuple(sign for sign in signs if sign[0] not in "=%"),
            tuplet=None if grace else tuplet,
            fingers=fingers,
            forced_stem=self.stem,
        )
        if not grace:
            event.tied_from = bool(self.tied) and set(pitches) <= self.tied
            if self.tied and not event.tied_from:
                raise ValueError(f"the tie before {token!r} leads to another note")
            self.tied = set(pitches) if "~" in signs else set()
        return event
