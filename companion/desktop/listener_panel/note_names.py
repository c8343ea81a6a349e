"""Names of played keys for the eye: "E♭4", spelled as the key signature or the score suggests."""

from __future__ import annotations

from collections.abc import Iterable

from companion.score.model import ScoreNote

_LETTERS_BY_FIFTHS = "FCGDAEB"
_PITCH_CLASS_OF_LETTER = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_SIGNS = {"##": "𝄪", "bb": "𝄫", "#": "♯", "b": "♭"}

# Twelve neighbours on the line of fifths, from three below the tonic of the major key up to eight
# above it: flat third to sharp fifth, so that leading notes of major and minor come out sharp
# (own choice after common practice; C major: E♭ B♭ F C G D A E B F♯ C♯ G♯).
_BELOW_TONIC = 3
_LETTERS_FROM_C = 1  # C stands second in the row above


def key_name(pitch: int, key_fifths: int = 0) -> str:
    """Name of a key with its octave; 60 is C4.

    Parameters
    ----------
    pitch
        MIDI note number.
    key_fifths
        Sharps (positive) or flats (negative) of the key signature at the place.
    """
    lowest = key_fifths - _BELOW_TONIC
    for fifths in range(lowest, lowest + 12):
        if (fifths * 7) % 12 == pitch % 12:
            return _spelled(fifths, pitch)
    raise AssertionError("twelve fifths reach every key")


def _spelled(fifths: int, pitch: int) -> str:
    alterations, place = divmod(fifths + _LETTERS_FROM_C, 7)
    letter = _LETTERS_BY_FIFTHS[place]
    sign = "♯" * alterations if alterations >= 0 else "♭" * -alterations
    sign = {"♯♯": "𝄪", "♭♭": "𝄫"}.get(sign, sign)
    octave = (pitch - _PITCH_CLASS_OF_LETTER[letter] - alterations) // 12 - 1
    return f"{letter}{sign}{octave}"


def written_name(spelling: str) -> str:
    """Written name for the eye: "Bb3" becomes "B♭3", "F##5" becomes "F𝄪5"."""
    for written, sign in _SIGNS.items():
        if spelling[1:].startswith(written):
            return spelling[0] + sign + spelling[1 + len(written) :]
    return spelling


def names_of(pitches: Iterable[int], nearby: Iterable[ScoreNote], key_fifths: int) -> list[str]:
    """Names of keys as the notes nearby are written, else as the key signature suggests."""
    written = {note.pitch: note.spelling for note in nearby if note.spelling}
    return [
        written_name(written[pitch]) if pitch in written else key_name(pitch, key_fifths)
        for pitch in pitches
    ]
