"""Study in D minor: running sixteenths, first in one hand, then in the other, at last in both."""

from __future__ import annotations

from score_writing.piece import Piece, Section, Tempo
from score_writing.pitch import figure, octave, shifted

WAVE = "0 1 2 3 2 1 2 1"  # half a measure of sixteenths through a chord of four notes
ARCH = "0 1 2 3 4 3 2 1"  # the same through five notes


def waves(*chords: str) -> str:
    """Measures of two half-measure waves each; a chord standing alone is played twice."""
    out = []
    for chord in chords:
        first, _, second = chord.partition(",")
        out.append(figure(WAVE, first, second or first))
    return " | ".join(out)


def arches(*chords: str) -> str:
    """Measures of two equal arches each."""
    return " | ".join(figure(ARCH, chord, chord) for chord in chords)


def shared(*measures: str) -> tuple[str, str]:
    """Sixteenths shared between the hands: left plays two, right answers with two.

    A measure is "low high ; a b ; c d ; ..." with a pair for the left hand and one pair for the
    right hand on every beat (the last pair is repeated).
    """
    left, right = [], []
    for measure in measures:
        low, *pairs = [pair.split() for pair in measure.split(";")]
        pairs += [pairs[-1]] * (4 - len(pairs))
        left.append(" ".join(f"{low[0]}/16 {low[1]} r/8" for _ in range(4)))
        right.append(" ".join(f"r/8 {pair[0]}/16 {pair[1]}" for pair in pairs))
    return " | ".join(left), " | ".join(right)


OPENING_RIGHT = """
    d5/16 c#5 d5 e5 f5 e5 f5 d5 a5 f5 d5 a4 f4 a4 d5 f5 |
    e5 d5 e5 f5 g5 f5 g5 e5 c#5 e5 a4 c#5 e4 a4 c#5 e5 |
    f5 e5 f5 g5 a5 g5 a5 f5 d5 f5 a4 d5 f4 a4 d5 f5 |
    g5 f5 e5 d5 c#5 d5 e5 c#5 a4 c#5 e5 g5 a5 g5 f5 e5 |
    d5 c#5 d5 e5 f5 e5 f5 d5 a5 f5 d5 a4 f4 a4 d5 f5 |
    g5 f#5 g5 a5 bb5 a5 bb5 g5 d5 g5 bb4 d5 g4 bb4 d5 g5 |
    e5 d5 e5 f5 g#5 f5 g#5 e5 b4 d5 e5 b4 g#4 b4 d5 e5 |
    a5 g#5 a5 b5 c#6 a5 e5 c#5 a4 c#5 e5 g5 f5 e5 d5 c#5
"""
OPENING_LEFT = """
    d3/4' f3+a3' f3+a3' r | c#3' e3+a3' e3+a3' r | d3' f3+a3' f3+a3' r | e3' g3+bb3' a3' a2' |
    d3' f3+a3' f3+a3' r | bb2' d3+g3' d3+g3' r | b2' d3+g#3' d3+g#3' r | a2' c#3+e3' a3' r
"""
RISING_RIGHT = """
    f#5 e5 f#5 g5 a5 g5 f#5 a5 c6 a5 f#5 d5 c5 d5 f#5 a5 |
    bb5 a5 bb5 g5 d5 g5 bb4 d5 g4 bb4 d5 g5 f5 e5 d5 c5 |
    e5 d5 e5 f5 g5 f5 e5 g5 bb5 g5 e5 c5 bb4 c5 e5 g5 |
    a5 g5 a5 f5 c5 f5 a4 c5 f4 a4 c5 f5 e5 d5 c5 bb4 |
    d5 c5 d5 e5 f5 e5 f5 d5 bb4 d5 f4 bb4 d4 f4 bb4 d5
"""
RISING_LEFT = """
    f#2/4' c3+a3' c3+a3' r | g2' d3+bb3' d3+bb3' r | e2' c3+bb3' c3+bb3' r | f2' c3+a3' c3+a3' r |
    bb2' d3+f3' d3+f3' r
"""
FIRST = Section(
    rehearsal="A",
    tempo=Tempo("Quick and even", "quarter", 100),
    fifths=-1,
    meter=(4, 4),
    music={
        "R": rf"\mf \w:light {OPENING_RIGHT} | \< {RISING_RIGHT} | "
        r"""
        \! \f g5 f5 g5 a5 bb5 a5 g5 e5 c#5 e5 g4 bb4 e4 g4 c#5 e5 |
        \> f5 e5 f5 d5 a4 d5 f4 a4 e5 d5 e5 c#5 a4 c#5 e4 g4 |
        \! \p d5 a4 f4 a4 d5 f5 a5 f5 d5/4 r
        """,
        "L": f"{OPENING_LEFT} | {RISING_LEFT} | "
        """
        g2/4' e3+bb3' e3+bb3' r | a2' d3+f3' a2' c#3+g3' | d3' f3+a3' d2' r
        """,
    },
    right="double",
)

LOW_RUN_MELODY = r"""
    \mp c5/2( a4/4 bb4) | c5/4.( d5/8 bb4/2) | a4/2( f4/4 g4) | a4/4.( bb4/8 g4/2) |
    c5/2( f5/4 e5) | d5/2.( bb4/4) | bb4/2( g4/4. a4/8) | f4/2. r/4 |
    \mf a4+f5/2( g4+e5/4 f4+d5) | g4+e5/2( e4+c#5/4 a4) | g4+e5/2( f4+d5/4 e4+c5) |
    f4+d5/2( d4+b4/4 g4) |
    \< c5/2( d5/4 f5) | \! \f e5/2-( d5/4- b4-) | \> c5/4( b4 a4/2) | \! \p a4/2. r/4
"""
LOW_RUN = waves(
    "a2 c3 f3 a3",
    "g2 c3 e3 g3",
    "f2 a2 d3 f3",
    "c3 f3 a3 c4,c3 e3 g3 bb3",
    "f2 c3 f3 a3,a2 c3 f3 a3",
    "bb2 d3 f3 bb3",
    "g2 bb2 d3 g3,c3 e3 g3 bb3",
    "f2 c3 f3 a3",
    "d3 f3 a3 d4",
    "c#3 e3 g3 a3",
    "c3 e3 g3 c4",
    "b2 d3 f3 g3",
    "a2 c3 f3 a3,d3 f3 a3 d4",
    "e3 a3 c4 e4,e3 g#3 b3 d4",
    "a2 c3 e3 a3",
    "a2 c#3 e3 g3",
)
SECOND = Section(
    rehearsal="B",
    tempo=Tempo("The same speed, singing", "quarter", 100, printed=False),
    music={"R": LOW_RUN_MELODY, "L": LOW_RUN.replace("a2", "a2/16", 1)},
    right="double",
)

CALM_LEFT, CALM_RIGHT = shared(
    "bb2 f3; f4 bb4",
    "bb2 g3; g4 bb4",
    "a2 eb3; f4 a4",
    "bb2 f3; f4 bb4; f4 bb4; d4 f4",
    "g2 d3; bb4 d5",
    "c3 g3; g4 c5; g4 c5; g4 bb4; eb4 g4",
    "f2 c3; eb4 f4; eb4 f4; eb4 a4; a4 c5",
    "bb2 f3; f4 bb4",
    "f#2 c3; a4 c5",
    "g2 d3; g4 bb4; g4 bb4; g4 bb4; d4 g4",
    "e2 bb2; g4 bb4",
    "f2 c3; f4 a4; f4 a4; f4 a4; c4 f4",
    "bb2 d3; d4 g4; d4 g4; g4 bb4; bb4 d5",
    "g#2 d3; g#4 b4; g#4 b4; g#4 b4; e4 g#4",
    "a2 e3; e4 a4; e4 a4; a4 c#5; c#5 e5",
)
THIRD = Section(
    rehearsal="C",
    tempo=Tempo("A little slower, calm", "quarter", 84),
    fifths=-2,
    music={
        "R": r"""
        \p \w:one_line_in_two_hands
        \up d5/2.( c5/4) | eb5/2( d5/4 c5) | c5/2.( d5/4) | d5/2( bb4/2) |
        \< g5/2.( f5/4) | \! \> eb5/2( d5/4 c5) | \! a4/2( c5/4 eb5) | d5/1 |
        \mp d5/2( eb5/4 d5) | d5/2.( bb4/4) | c5/2( d5/4 c5) | c5/2.( a4/4) |
        \< bb4/2( d5/4 g5) | e5/2( d5/4 b4) | c#5/2( e5/4 g5) \auto |
        \! \f f5/16( e5 d5 c#5 bb4 a4 g4 f4 \w:slowing e4 f4 g4 a4 bb4 c#5 d5 e5)
        """,
        "R2": rf"\down {CALM_RIGHT} \auto",
        "L": f"{CALM_LEFT} | a2/1",
    },
    right="double",
)

FOURTH = Section(
    rehearsal="D",
    tempo=Tempo("At first speed", "quarter", 100),
    fifths=-1,
    music={
        "R": rf"\mf {OPENING_RIGHT} | \< {RISING_RIGHT} | "
        r"""
        \! \f g5 f5 g5 eb5 bb4 eb5 g4 bb4 eb5 d5 eb5 g5 bb5 a5 bb5 g5 |
        f5 e5 f5 d5 a4 d5 f4 a4 e5 d5 e5 c#5 a4 c#5 e5 g5 |
        \< f5 e5 f5 d5 bb4 d5 f4 bb4 d5 f5 bb5 a5 g5 f5 e5 c#5
        """,
        "L": f"{OPENING_LEFT} | {RISING_LEFT} | "
        """
        g2/4' eb3+bb3' eb3+bb3' r | a2' d3+f3' a2' c#3+g3' | bb2' d3+f3' bb2' a2'
        """,
    },
    right="double",
)

STORM = (
    "d6 c#6 d6 a5 f5 e5 f5 d5 a5 g#5 a5 f5 d5 c#5 d5 a4",
    "bb5 a5 bb5 g5 d5 c#5 d5 bb4 g5 f#5 g5 d5 bb4 a4 bb4 g4",
    "e5 d#5 e5 g5 bb5 a5 bb5 g5 e5 d#5 e5 c#5 a4 g#4 a4 e5",
    "f5 e5 f5 a5 d6 c#6 d6 a5 f5 e5 f5 d5 a4 g#4 a4 d5",
)
PLUNGE_RIGHT = "f5 e5 d5 c5 bb4 c5 d5 e5 f5 d5 f5 bb5 d6 bb5 f5 d5"
PLUNGE_LEFT = "bb2 c3 d3 e3 f3 e3 d3 c3 bb2 f2 bb2 d3 f3 d3 bb2 f2"
SCALE_UP = "d4 e4 f4 g4 a4 bb4 c#5 d5 e5 f5 g5 a5 bb5 c#6 d6 e6"
SCALE_DOWN = "f6 e6 d6 c#6 bb5 a5 g5 f5 e5 d5 c#5 bb4 a4 g4 f4 e4"
CODA = Section(
    rehearsal="Coda",
    tempo=Tempo("Faster, stormy", "quarter", 116),
    music={
        "R": rf"\! \ff {' | '.join(STORM)} | ".replace("d6", "d6/16", 1)
        + rf"{PLUNGE_RIGHT} | {shifted(PLUNGE_RIGHT, -2, -1)} | "
        + r"""
        bb4 c#5 e5 g5 bb5 g5 e5 c#5 a4 c#5 e5 g5 a5 g5 e5 c#5 |
        a5> e5 c#5 e5 g5> e5 c#5 e5 bb5> e5 c#5 e5 a5> e5 c#5 e5 |
        """
        + "\\mf "
        + arches("d5 f5 a5 d6 f6", "d5 g5 bb5 d6 g6", "e5 g5 a5 c#6 e6", "f5 a5 d6 f6 a6").replace(
            "d5", r"d5 \<", 1
        )
        + r""" |
        \! \ff eb6 d6 eb6 bb5 g5 f5 g5 eb5 bb5 a5 bb5 g5 eb5 d5 eb5 bb4 |
        a5 f5 d5 f5 a5 d6 f6 d6 a5 f5 d5 a4 f5 d5 a4 f4 |
        g5 e5 c#5 e5 g5 bb5 c#6 bb5 g5 e5 c#5 g4 e5 c#5 bb4 g4 |
        """
        + f"{SCALE_UP} | {SCALE_DOWN} | "
        + r"""
        f5+a5+d6+f6/8> r d4+f4+a4+d5> r f5+a5+d6+f6> r d4+f4+a4+d5> r |
        e5+g5+a5+e6> r c#4+e4+g4+a4> r e5+g5+a5+e6> r \w:holding_back c#4+e4+g4+a4/4- |
        d4+f4+a4+d5/1@
        """,
        "L": arches(
            "d2 a2 d3 f3 a3", "bb1 g2 bb2 d3 g3", "a1 e2 a2 c#3 e3", "d2 a2 d3 f3 a3"
        ).replace("d2", "d2/16", 1)
        + f" | {PLUNGE_LEFT} | {shifted(PLUNGE_LEFT, -2, -1)} | "
        + """
        g2 e2 g2 bb2 c#3 bb2 g2 e2 a2 e2 a2 c#3 e3 c#3 a2 e2 |
        a1/8' a2' c#3' a2' bb1' bb2' a1' a2' |
        """
        + octave(" | ".join(STORM), -2).replace("d4", "d4/16", 1)
        + " | "
        + arches("g2 bb2 eb3 g3 bb3", "a1 a2 d3 f3 a3", "a1 a2 c#3 e3 g3")
        + f" | {octave(SCALE_UP, -2)} | {octave(SCALE_DOWN, -2)} | "
        + """
        d2+d3/8> r a2+d3+f3> r d2+d3> r a2+d3+f3> r |
        c#3+e3+a3> r a1+a2> r c#3+e3+a3> r a1+a2/4- | d2+a2+d3/1@
        """,
    },
    right="final",
)


def compose() -> Piece:
    """The whole piece."""
    return Piece(
        title="Study in D minor",
        file_name="study_in_d_minor",
        sections=[FIRST, SECOND, THIRD, FOURTH, CODA],
    )
