"""Keys against key profiles: probe-tone ratings of Krumhansl and Kessler (1982, Psych. Rev. 89).

The profiles and the worked correlations (a scale of C major with C twice, .901352; the harmonic
minor scale of A, .846552) stand outside this program; the music is demo data.
"""

import numpy as np
import pytest

from companion.analysis.harmony import analyse_harmony
from companion.analysis.spelling import Mode, pitch_class
from companion.score.model import Score
from tests.unit.analysis.typed_music import chordal, transposed

PROFILES = {
    Mode.MAJOR: (6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88),
    Mode.MINOR: (6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17),
}
IN_MAJOR = (
    "C3 G3 E4 C5 | F3 A3 C4 F4 | G2 D4 F4 B4 | C3 G3 E4 C5 | A2 A3 E4 C5 | D3 A3 F4 D5 |"
    "G2 D4 B4 G5 | C3 G3 E4 C5"
)
IN_MINOR = (
    "A2 E4 A4 C5 | D3 D4 F4 A4 | E3 D4 G#4 B4 | A2 C4 E4 A4 | F3 C4 F4 A4 | B2 F4 B4 D5 |"
    "E3 D4 E4 G#4 | A2 C4 E4 A4"
)


def correlations(histogram: list[float]) -> dict[tuple[int, Mode], float]:
    return {
        (tonic, mode): float(np.corrcoef(np.roll(profile, tonic), histogram)[0, 1])
        for mode, profile in PROFILES.items()
        for tonic in range(12)
    }


def by_profile(score: Score) -> tuple[int, Mode]:
    histogram = [0.0] * 12
    for note in score.notes:
        histogram[note.pitch % 12] += float(note.duration_quarters)
    found = correlations(histogram)
    return max(found, key=lambda key: found[key])


def test_the_profiles_are_those_of_the_worked_examples() -> None:
    c_scale = [2, 0, 1, 0, 1, 1, 0, 1, 0, 1, 0, 1]
    a_harmonic = [1, 0, 1, 0, 1, 1, 0, 0, 1, 2, 0, 1]
    assert correlations(c_scale)[0, Mode.MAJOR] == pytest.approx(0.901352, abs=1e-6)
    assert correlations(a_harmonic)[9, Mode.MINOR] == pytest.approx(0.846552, abs=1e-6)


@pytest.mark.parametrize("fifths", [-6, -4, -2, 0, 1, 3, 5])
@pytest.mark.parametrize(("music", "signature"), [(IN_MAJOR, 0), (IN_MINOR, 0)], ids=["C", "a"])
def test_music_that_stays_in_a_key_has_the_key_of_the_profiles(
    music: str, signature: int, fifths: int
) -> None:
    score = transposed(chordal(music, fifths=signature), fifths)
    keys = {(pitch_class(s.key.tonic_fifths), s.key.mode) for s in analyse_harmony(score).spans}
    assert keys == {by_profile(score)}
