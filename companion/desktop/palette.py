"""The colours of the printed page, in the light of day and at night.

Conventions
-----------
- ``paper`` is what everything lies on, ``sheet`` a leaf on top of it, ``hairline`` every rule,
  ``desk`` what shows around the sheets of a score: darker than they are, by day and at night.
- ``shading`` is soft pencil behind print: what has been played.
- An accent never stands alone: each meaning also has a shape, a word or a pattern.
    - *place* (indigo): where the player is, what is selected, what has the focus
    - *attention* (ochre): look here
    - *wrong* (brick)

  What stands well is drawn in graphite, as print is: a page on which all is well is calm.
- ``..._text`` variants are dark (or light) enough to be read as text: contrast of at least 4.5 to
  the paper and the sheet (WCAG 2.1, success criterion 1.4.3), checked by a test together with the
  distance of the accents under simulated red-green blindness.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Palette:
    """Colours as ``#rrggbb``."""

    dark: bool
    paper: str
    sheet: str
    well_of_sheet: str
    desk: str
    ink: str
    graphite: str
    hairline: str
    shading: str
    place: str
    place_wash: str
    attention: str
    attention_text: str
    attention_wash: str
    wrong: str
    wrong_text: str


DAY = Palette(
    dark=False,
    paper="#FBF8F1",
    sheet="#FFFDF8",
    well_of_sheet="#F3EEE2",
    desk="#F3EEE2",
    ink="#23211E",
    graphite="#5B5750",
    hairline="#D9D2C3",
    shading="#CDC5B4",
    place="#2F4B7C",
    place_wash="#E4E8F0",
    attention="#B8791A",
    attention_text="#855400",
    attention_wash="#F6EBD3",
    wrong="#A23B2A",
    wrong_text="#A23B2A",
)

NIGHT = Palette(
    dark=True,
    paper="#1A1815",
    sheet="#22201C",
    well_of_sheet="#2A2722",
    desk="#12110F",
    ink="#EFE7D6",
    graphite="#B4AA97",
    hairline="#423D35",
    shading="#57503F",
    place="#9DB8E8",
    place_wash="#2B3344",
    attention="#DDA645",
    attention_text="#E6B566",
    attention_wash="#3A301D",
    wrong="#DC745F",
    wrong_text="#EB9583",
)
