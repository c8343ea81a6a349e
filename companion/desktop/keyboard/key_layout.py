"""Where the keys of a piano lie, and which letter of the computer keyboard plays which."""

from __future__ import annotations

from dataclasses import dataclass

LOWEST_PITCH = 21  # A0: 88 keys (MIDI numbers of a piano)
HIGHEST_PITCH = 108  # C8
_BLACK = frozenset({1, 3, 6, 8, 10})
_BLACK_WIDTH = 0.58  # of a white key: 13.7 to 23.5 mm (common practice)
_BLACK_HEIGHT = 0.63

# Two rows of white keys with their black ones in the row above each, as the keys lie under the
# fingers. Places, not characters: X11 scan codes are the same on every national keyboard.
_LOWER_LETTERS = "ZSXDCVGBHNJM,L.;/"
_UPPER_LETTERS = "Q2W3ER5T6Y7UI9O0P"
_LOWER_SCAN_CODES = (52, 39, 53, 40, 54, 55, 42, 56, 43, 57, 44, 58, 59, 46, 60, 47, 61)
_UPPER_SCAN_CODES = (24, 11, 25, 12, 26, 27, 14, 28, 15, 29, 16, 30, 31, 18, 32, 19, 33)
_LOWER_STARTS_AT = -12  # semitones from the C on which the upper row starts
_BASE_PITCH = 60


@dataclass(frozen=True, slots=True)
class KeyRect:
    """A key in a keyboard of width and height 1."""

    pitch: int
    x: float
    width: float
    height: float
    black: bool

    def contains(self, x: float, y: float) -> bool:
        """Whether a point lies on the key (a white key under a black one does not know that)."""
        return self.x <= x < self.x + self.width and 0 <= y < self.height


def is_black(pitch: int) -> bool:
    """Whether a key is one of the short ones."""
    return pitch % 12 in _BLACK


def white_range(lowest: int, highest: int) -> tuple[int, int]:
    """Widen a range of pitches so that it begins with a C and ends with a B, within 88 keys."""
    low = max(LOWEST_PITCH, lowest - lowest % 12)
    high = min(HIGHEST_PITCH, highest + 11 - highest % 12)
    return low, high


def keys(lowest: int = LOWEST_PITCH, highest: int = HIGHEST_PITCH) -> tuple[KeyRect, ...]:
    """Keys from lowest to highest (both white), white ones first so that black lie on top."""
    white = [pitch for pitch in range(lowest, highest + 1) if not is_black(pitch)]
    width = 1 / len(white)
    rects = [KeyRect(pitch, i * width, width, 1.0, black=False) for i, pitch in enumerate(white)]
    for index, pitch in enumerate(white[:-1]):
        if white[index + 1] - pitch == 2:
            centre = (index + 1) * width
            narrow = width * _BLACK_WIDTH
            left = centre - narrow / 2
            rects.append(KeyRect(pitch + 1, left, narrow, _BLACK_HEIGHT, black=True))
    return tuple(rects)


def pitch_of_letter(letter: str, octave_shift: int = 0) -> int | None:
    """Pitch that a letter plays; the row that begins with Q starts on middle C."""
    upper = letter.upper()
    for letters, start in ((_UPPER_LETTERS, 0), (_LOWER_LETTERS, _LOWER_STARTS_AT)):
        if upper and upper in letters:
            return _within_piano(_BASE_PITCH + start + letters.index(upper) + 12 * octave_shift)
    return None


def pitch_of_scan_code(scan_code: int, octave_shift: int = 0) -> int | None:
    """Pitch that the key at a place of the computer keyboard plays (X11 scan codes)."""
    for codes, start in ((_UPPER_SCAN_CODES, 0), (_LOWER_SCAN_CODES, _LOWER_STARTS_AT)):
        if scan_code in codes:
            return _within_piano(_BASE_PITCH + start + codes.index(scan_code) + 12 * octave_shift)
    return None


def letter_of_pitch(pitch: int, octave_shift: int = 0) -> str:
    """Letter that plays a pitch, to be printed on the key; empty for none."""
    step = pitch - _BASE_PITCH - 12 * octave_shift
    if 0 <= step < len(_UPPER_LETTERS):
        return _UPPER_LETTERS[step]
    lower = step - _LOWER_STARTS_AT
    return _LOWER_LETTERS[lower] if 0 <= lower < len(_LOWER_LETTERS) else ""


def _within_piano(pitch: int) -> int | None:
    return pitch if LOWEST_PITCH <= pitch <= HIGHEST_PITCH else None
