"""Waltz at the Ferry: slow introduction, D.S. al Coda, changes of meter and tempo."""

from __future__ import annotations

from score_writing.piece import Piece, Section, Tempo


def waltz_bass(*measures: str) -> str:
    """A bass note and its chord twice for each measure, written "f2 a3+c4"."""
    out = []
    for measure in measures:
        bass, chord = measure.split()
        out.append(f"{bass}/4 {chord} {chord}")
    return " | ".join(out)


INTRODUCTION = Section(
    tempo=Tempo("Hesitating", "quarter", 72),
    fifths=-1,
    meter=(4, 4),
    music={
        "R": r"""
        \p a4+c5/2.( g4+bb4/4 | f4+a4/2 f4+d5/2) | f4+c5/2( f4+a4/4 e4+g4) | \> e4+g4+bb4/1@&
        """,
        "L": r"f3/2.( e3/4 | d3/2 bb2) | c3/1 | c2+c3/1@&",
    },
    right="double",
)
FIRST = Section(
    rehearsal="A",
    at_start=("segno",),
    tempo=Tempo("Waltz time", "half", 54, dotted=True),
    meter=(3, 4),
    music={
        "R": r"""
        \! \mp r/4 c5( f5 | a5/2) g5/4( | bb5/2 a5/4 | g5/2.) | r/4 bb4( e5 | g5/2) f5/4( |
        \< a5/2 g5/4 | \! f5/2.) |
        \mf r/4 c5( f5 | a5/2) g5/4( | f5/2 e5/4 | d5/2.) | \> r/4 c5( a5 | g5/2) e5/4( |
        \! \p f5/2.~ | f5/2) r/4
        """,
        "L": waltz_bass(
            "f2 a3+c4",
            "c3 a3+c4",
            "g2 bb3+e4",
            "c3 bb3+e4",
            "c3 g3+bb3",
            "c3 bb3+e4",
            "f2 a3+c4",
            "a2 f3+c4",
            "f2 a3+c4",
            "c#3 g3+a3+e4",
            "d3 f3+a3+d4",
            "bb2 f3+bb3+d4",
            "c3 f3+a3+c4",
            "c3 g3+bb3",
            "f2 a3+c4",
        )
        + " | f3/4 c3 f2",
    },
    right="double",
    at_end=("tocoda",),
)
SECOND = Section(
    rehearsal="B",
    music={
        "R": r"""
        \mf \w:restless
        d5/8( e5 f5/4') a4' | e5/8( f5 g5/4') a4' | f5/8( g5 a5/4') d5' | e5/2( a4/4) |
        \< f#5/8( g5 a5/4') d5' | bb5/2( g5/4) | d5/8( e5 g#5/4') b4' | \! \f a5/2.- |
        bb5/4.( a5/8 g5 f5) | g5/4.( f5/8 e5 d5) | f5/4.( e5/8 d5 c5) | d5/2. |
        \> bb4/4( d5 g5) | e5/4( c#5 a4) | \! \p d5/2.~ | d5/4 r/2
        """,
        "L": waltz_bass(
            "d3 f3+a3",
            "c#3 g3+a3",
            "d3 f3+a3",
            "a2 g3+c#4",
            "f#2 d3+c4",
            "g2 d3+bb3",
            "b2 d3+g#3",
            "a2 c#3+e3",
            "bb2 d3+f3",
            "c3 e3+bb3",
            "d3 f3+a3",
            "bb2 f3+bb3",
            "g2 d3+g3",
            "a2 c#3+g3",
            "d3 f3+a3",
        )
        + " | d3/4 a2 d2",
    },
    right="double",
)
THIRD = Section(
    rehearsal="C",
    tempo=Tempo("A little broader", "half", 48, dotted=True),
    fifths=-2,
    music={
        "R": r"""
        \p \w:warm bb4+d5/2( d5+f5/4) | eb5+g5/2( c5+eb5/4) | c5+eb5/2( a4+c5/4) | bb4+d5/2. |
        bb4+d5/2( d5+f5/4) | \< eb5+g5/2( g5+bb5/4) | e5+bb5/2( e5+g5/4) | \! \mf f5+a5/2. |
        c5+eb5/2( a4+c5/4) | bb4+d5/2( d5+f5/4) | d5+f5/2( b4+d5/4) | c5+eb5/2. |
        \> eb5+gb5/2( c5+eb5/4) | \! \p d5+f5/2( bb4+d5/4) |
        \w:slowing a4+c5/2( a4+eb5/4) | bb4+d5/2@ r/4
        """,
        "L": waltz_bass(
            "bb2 f3+bb3",
            "c3 g3+c4",
            "f2 eb3+a3",
            "bb2 d3+f3",
            "bb2 f3+bb3",
            "g2 eb3+bb3",
            "c3 g3+c4",
            "f2 c3+a3",
            "a2 eb3+f3",
            "bb2 d3+f3",
            "g2 d3+b3",
            "c3 eb3+g3",
            "eb3 gb3+c4",
            "f3 bb3+d4",
            "f2 eb3+c4",
        )
        + " | bb2/4 f3+bb3@ r",
    },
    right="double",
    at_end=("dalsegno",),
)
CODA = Section(
    at_start=("coda",),
    tempo=Tempo("Faster", "half", 63, dotted=True),
    fifths=-1,
    music={
        "R": r"""
        \mf c5/8( f5 e5 f5 a5 f5) | d5( f5 e5 f5 d6 bb5) | \< c5( f5 e5 f5 c6 a5) |
        c5( e5 d5 e5 g5 bb5) | \! \f a5( f5 eb5 f5 c6 a5) | bb5( f5 d5 f5 bb5 d6) |
        \> db6( bb5 f5 bb5 f5 db5) | \! \mf c5( f5 a5 c6 f6 c6) | \> bb5( g5 e5 g5 c5 e5) |
        \! \p f5/4 r/2
        """,
        "L": waltz_bass(
            "f2 a3+c4",
            "bb2 f3+d4",
            "c3 f3+a3",
            "c3 g3+bb3",
            "eb3 a3+c4",
            "d3 f3+bb3",
            "db3 f3+bb3",
            "c3 f3+a3",
            "c3 g3+bb3",
        )
        + " | f3/4 c3 f2",
    },
)
FAREWELL = Section(
    tempo=Tempo("Hesitating", "quarter", 66),
    meter=(4, 4),
    music={
        "R": r"""
        \p a4+c5/2.( g4+bb4/4 | f4+a4/2 f4+d5/2) | \> f4+a4/2( e4+g4/2) | \! \pp f4+a4/1@&
        """,
        "L": r"f3/2.( e3/4 | d3/2 bb2) | c3/1 | f2+c3/1@&",
    },
    right="final",
)


def compose() -> Piece:
    """The whole piece."""
    return Piece(
        title="Waltz at the Ferry",
        file_name="waltz_at_the_ferry",
        sections=[INTRODUCTION, FIRST, SECOND, THIRD, CODA, FAREWELL],
    )
