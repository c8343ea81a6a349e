"""Minuet and trio in D major: repeats, two endings, a minor trio, D.C. al Fine."""

from __future__ import annotations

from score_writing.piece import Piece, Section, Tempo
from score_writing.pitch import figure

ROCKING = "0 2 1 2 1 2"  # bass note, top, middle, top, middle, top: a measure of eighths


def rocking(*chords: str) -> str:
    """One measure of rocking eighths for each chord of three notes."""
    return " | ".join(figure(ROCKING, chord) for chord in chords)


MINUET_FIRST = Section(
    rehearsal="Minuet",
    tempo=Tempo("Gracefully", "quarter", 126),
    fifths=2,
    meter=(3, 4),
    left="repeat",
    music={
        "R": r"""
        \mf a4/4' d5' f#5' | e5/8( f#5 g5 f#5 e5/4) | f#5/8( g5 a5/4') d5' |
        c#5/8( d5 e5/4) a4 | d5/4' f#5' b5' | a5/8( g5 f#5 e5 d5/4) | e5/4.( d5/8 c#5 b4)
        """,
        "L": r"""
        d3/2 d3/4 | c#3/2 a2/4 | d3/4 f#3 d3 | a2/4' a3'( g3) |
        f#3/2 g3/4 | f#3/4( d3) b2 | g3/2( g#3/4)
        """,
    },
)
ENDING_1 = Section(
    ending="1",
    right="repeat",
    music={"R": r"a4/4 e5/8( d5 c#5 b4)", "L": "a3/4 e3 a2"},
)
ENDING_2 = Section(ending="2", music={"R": "a4/2 r/4", "L": "a3/4 e3 a2"})
MINUET_SECOND = Section(
    left="repeat",
    music={
        "R": r"""
        \p r/4 e5/8( f#5 g5 e5) | f#5/4' d5' a4' | r/4 c#5/8( d5 e5 c#5) | d5/4' b4' f#4' |
        \mf b4/8( d5 g5/4-) d5 | \< e5/4 g#5/8( f#5 e5/4) | \! \f a5/4> e5/8( d5 c#5 b4) |
        \> a4/4 c#5/8( e5 g5 e5) |
        \! \mf a4/4' d5' f#5' | e5/8( f#5 g5 f#5 e5/4) | f#5/8( g5 a5/4') d5' |
        g5/4 b5/8( a5 g5 f#5) | e5/4 a5/8( g5 f#5 e5) | f#5/4' d5' g5' |
        \up f#5/8( g5 e5/4:tr c#5) | d5/2. \auto
        """,
        "R2": r"""
        | | | | | | | | | | | | | | \down d5/4 c#5 g4 | f#4/2.
        """,
        "L": r"""
        c#3/4' a2' c#3' | d3/4' f#3' d3' | a#2/4' f#2' a#2' | b2/4' d3' b2' |
        g2/4 b2 g2 | g#2/4 b2 d3 | c#3/4 a2 a3 | a2/2 r/4 |
        d3/2 d3/4 | c#3/2 a2/4 | d3/4 f#3 d3 |
        b2/4 g2 b2 | c#3/4 a2 c#3 | d3/4' f#3' b2' | a2/4 a3 a2 | d3/4 a2 d2
        """,
    },
    right="repeat",
    at_end=("fine",),
)
TRIO_FIRST = Section(
    rehearsal="Trio",
    tempo=Tempo("A little calmer", "quarter", 112),
    fifths=-1,
    left="repeat",
    right="repeat",
    music={
        "R": r"""
        \p a4/4( d5 f5) | f5( e5/2) | g4/4( c#5 e5) | e5( d5/2) |
        \< f5/4( e5 d5) | bb4( d5 \! c5) | \> bb4( a4 g4) | \! a4/2 r/4
        """,
        "L": rocking(
            "d3 f3 a3", "c#3 e3 a3", "e3 g3 a3", "f3 a3 d4", "bb2 d3 f3", "g2 bb2 d3", "c3 e3 g3"
        ).replace("d3", "d3/8", 1)
        + " | f2/8 c3 a2 c3 f2/4",
    },
)
TRIO_SECOND = Section(
    left="repeat",
    right="repeat",
    at_end=("dacapo",),
    music={
        "R": r"""
        \mp a4/4( c5 eb5) | eb5( d5/2) | g4/4( bb4 d5) | d5( c5/2) |
        \< d5/4( bb4 f5) | d5( g5 f5) | \! \mf f5( e5 \> d5) | e5/2. |
        \! \p a4/4( d5 f5) | f5( e5/2) | g4/4( c#5 e5) | e5( d5/2) |
        \mf g5/4( f5 d5) | eb5( d5 bb4) | \> a4( d5 c#5) | \! \p d5/2.
        """,
        "L": rocking(
            "f#2 a2 d3",
            "g2 bb2 d3",
            "e2 g2 c3",
            "f2 a2 c3",
            "bb2 d3 f3",
            "g2 bb2 e3",
            "a2 d3 f3",
            "a2 c#3 e3",
            "d3 f3 a3",
            "c#3 e3 a3",
            "e3 g3 a3",
            "f3 a3 d4",
            "bb2 d3 g3",
            "g2 bb2 eb3",
        ).replace("f#2", "f#2/8", 1)
        + " | a2 f3 d3 f3 a2 g3 | d3/8 a2 f2 a2 d2/4",
    },
)


def compose() -> Piece:
    """The whole piece."""
    return Piece(
        title="Minuet and Trio in D major",
        file_name="minuet_and_trio_in_d_major",
        sections=[MINUET_FIRST, ENDING_1, ENDING_2, MINUET_SECOND, TRIO_FIRST, TRIO_SECOND],
    )
