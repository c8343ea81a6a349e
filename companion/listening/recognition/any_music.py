"""How likely a next key is in any music at all: what the recogniser weighs a piece against.

A note speaks for a piece only as far as it would surprise somebody who does not know the piece. A
step on in a scale, a figure that comes again or a trill surprises nobody, so scales and exercises
speak for no piece, while the turn of a melody does.

Several guessers foresee the next key; each is trusted as far as it was right lately (a Bayesian
mixture with a fixed share for all, Herbster & Warmuth 1998, from memory). The first is a small
network that has learnt what comes next in much music
(:mod:`companion.listening.recognition.next_key`), the others know what this player does: goes up a
scale, repeats a figure, trills.
"""

from __future__ import annotations

import math
from collections import deque
from itertools import pairwise

from companion.listening.recognition.next_key import NextKey

REMEMBERED_NOTES = 24
"""How far back the range of the playing is judged by."""

SHARED_TRUST = 0.04
"""Share of the trust that is dealt out anew with each note."""

TRUST_AT_FIRST = (0.03, 0.65, 0.04, 0.09, 0.07, 0.06, 0.03, 0.03)
"""In the order of the guessers; a warm-up is foreseen soon when scales have a good part of it."""

FORESEEN = 0.85
"""How sure a guesser is that names one key."""

SCALE_NOTES = 16
CHORD_NOTES = 5
FIGURE_STEPS = 4

_EVERY_KEY = 1.0 / 88.0


def _degrees(semitones: int) -> int:
    """An interval counted in steps of a scale, so that a figure may move through a key."""
    size = abs(semitones)
    octaves, rest = divmod(size, 12)
    steps = 7 * octaves + (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)[rest]
    return steps if semitones >= 0 else -steps


class AnyMusic:
    """Foresees each next key from the ones before."""

    def __init__(self) -> None:
        self._next_key = NextKey()
        self.forget()

    def forget(self) -> None:
        """Nothing was heard yet."""
        self._next_key.forget()
        self._recent: deque[int] = deque(maxlen=REMEMBERED_NOTES)
        self._figures: dict[tuple[int, ...], int] = {}
        self._trust = list(TRUST_AT_FIRST)

    def hear(self, pitch: int, seconds: float) -> float:
        """Take the next key, struck at ``seconds``; how likely it was, as a natural logarithm."""
        guesses = self._guesses(pitch, self._next_key.hear(pitch, seconds))
        likelihood = sum(t * g for t, g in zip(self._trust, guesses, strict=True))
        fresh = SHARED_TRUST / len(guesses)
        self._trust = [
            fresh + (1.0 - SHARED_TRUST) * t * g / likelihood
            for t, g in zip(self._trust, guesses, strict=True)
        ]
        self._recent.append(pitch)
        return math.log(likelihood)

    def _guesses(self, pitch: int, near: float) -> tuple[float, ...]:
        """How likely each guesser holds a key to be; those without an opinion say ``near``."""
        recent = tuple(self._recent)
        if not recent:
            return (_EVERY_KEY,) * 8
        centre = sum(recent) / len(recent)
        bell = math.exp(-0.5 * ((pitch - centre) / 11.0) ** 2) / (11.0 * math.sqrt(2 * math.pi))
        in_range = 0.4 * _EVERY_KEY + 0.6 * bell
        return (
            in_range,
            near,
            self._same_again(recent, pitch, near),
            *(
                guess
                for lag in (1, 2)  # one voice, or two in turn: hands in octaves
                for guess in (
                    _onward(recent, lag, SCALE_NOTES, pitch, near),
                    _onward(recent, lag, CHORD_NOTES, pitch, near),
                )
            ),
            self._figure(recent, pitch, near),
        )

    def _same_again(self, recent: tuple[int, ...], pitch: int, near: float) -> float:
        """The keys that came after the last three keys when they came before: trills, loops."""
        if len(recent) < 4:
            return near
        for back in range(len(recent) - 3, 2, -1):
            if recent[back - 3 : back] == recent[-3:]:
                return FORESEEN if recent[back] == pitch else (1.0 - FORESEEN) * near
        two_before = recent[-2]
        return 0.5 * (recent[-4] == two_before == pitch) + 0.5 * near

    def _figure(self, recent: tuple[int, ...], pitch: int, near: float) -> float:
        """A figure moved along the scale: the step that came after the last four steps before."""
        if len(recent) < FIGURE_STEPS + 2:
            return near
        foreseen = None
        for lag in (2, 1):
            voice = recent[-lag::-lag][: FIGURE_STEPS + 1]  # latest first
            if len(voice) <= FIGURE_STEPS:
                continue
            steps = (_degrees(later - earlier) for later, earlier in pairwise(voice))
            key = (lag, *steps)
            now = _degrees(pitch - voice[0])
            if foreseen is None and key in self._figures:
                foreseen = self._figures[key] == now
            self._figures[key] = now
        if foreseen is None:
            return near
        return 0.5 * FORESEEN if foreseen else (1.0 - FORESEEN) * near


def _onward(recent: tuple[int, ...], lag: int, remembered: int, pitch: int, near: float) -> float:
    """The next key of a scale or a broken chord, up or down as before.

    That is the next one whose name (C, D ...) is among the keys remembered; before these fill an
    octave, any step of a tone or semitone.
    """
    if len(recent) <= lag:
        return near
    last = recent[-lag]
    came = last - recent[-2 * lag] if len(recent) >= 2 * lag else 0
    if came == 0:
        return near
    way = 1 if came > 0 else -1
    names = {key % 12 for key in recent[-remembered:]}
    if remembered == SCALE_NOTES and len(names) < 7:
        return 0.5 * FORESEEN if 1 <= (pitch - last) * way <= 2 else (1.0 - FORESEEN) * near
    if remembered == CHORD_NOTES and len(recent) < 4 * lag and 3 <= abs(came) <= 5:
        # A chord that has not come round to its octave yet: another third or fourth.
        return 0.25 if 3 <= (pitch - last) * way <= 5 else (1.0 - FORESEEN) * near
    for step in range(1, 13):
        if (last + way * step) % 12 in names:
            return FORESEEN if pitch == last + way * step else (1.0 - FORESEEN) * near
    return near
