"""Names of played keys for the eye: "E♭4", spelled as the key signature suggests."""

from __future__ import annotations

_SHARP_NAMES = ("C", "C♯", "D", "D♯", "E", "F", "F♯", "G", "G♯", "A", "A♯", "B")
_FLAT_NAMES = ("C", "D♭", "D", "E♭", "E", "F", "G♭", "G", "A♭", "A", "B♭", "B")
# Without a signature these are the usual spellings of the five black keys (common practice).
_PLAIN_NAMES = ("C", "C♯", "D", "E♭", "E", "F", "F♯", "G", "A♭", "A", "B♭", "B")


def key_name(pitch: int, key_fifths: int = 0) -> str:
    """Name of a key with its octave; 60 is C4.

    Parameters
    ----------
    pitch
        MIDI note number.
    key_fifths
        Sharps (positive) or flats (negative) of the key signature at the place.
    """
    names = _PLAIN_NAMES
    if key_fifths > 2:
        names = _SHARP_NAMES
    elif key_fifths < 0:
        names = _FLAT_NAMES
    return f"{names[pitch % 12]}{pitch // 12 - 1}"


def written_name(spelling: str) -> str:
    """Written name for the eye: "Bb3" becomes "B♭3", "F##5" becomes "F𝄪5"."""
    if not spelling:
        return ""
    letter, rest = spelling[0], spelling[1:]
    signs = {"##": "𝄪", "bb": "𝄫", "#": "♯", "b": "♭"}
    for written, sign in signs.items():
        if rest.startswith(written):
            return letter + sign + rest[len(written) :]
    return spelling
