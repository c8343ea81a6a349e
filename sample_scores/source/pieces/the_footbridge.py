"""The Footbridge: an easy piece in C major, each hand in one five-finger position at a time."""

from __future__ import annotations

from score_writing.piece import Piece, Section, Tempo

# Right hand thumb on C, left hand little finger on C.
FIRST = Section(
    rehearsal="A",
    tempo=Tempo("At a walking pace", "quarter", 108),
    fifths=0,
    meter=(4, 4),
    music={
        "R": r"""
        \mf c4/4=1( e4 g4 e4) | f4( d4 e4/2) | d4/4( f4 e4 d4) | e4( c4 d4/2) |
        c4/4( e4 g4 e4) | f4( g4 e4/2) | d4/4( e4 f4 d4) | c4/2. r/4 |
        \p g4/4=5( f4 e4 f4) | g4( e4 c4/2) | f4/4( e4 d4 e4) | f4( d4 g4/2) |
        \mf c4/4( e4 g4 e4) | f4( g4 e4/2) | \> d4/4( e4 f4 d4) | \! c4/2. r/4
        """,
        "L": r"""
        c3/1=5 | g3/2( c3) | f3( g3) | c3( g3) |
        c3/1 | d3/2( c3) | f3( g3) | c3/2. r/4 |
        c3/1 | c3/2( e3) | d3/1 | d3/2( e3) |
        e3/2( c3) | d3( c3) | f3( g3) | c3/2. r/4
        """,
    },
    right="double",
)

# Both hands move to A: right thumb on A, left little finger on A.
SECOND = Section(
    rehearsal="B",
    music={
        "R": r"""
        \p a4/4=1' b4' c5( b4) | a4/4' c5' e5/2 | d5/4( c5 b4 d5) | c5( a4 b4/2) |
        a4/4' b4' c5( b4) | a4/4' c5' e5/2 | d5/4( b4 c5 d5) | a4/2. r/4 |
        \mp r/4 e5=5 d5( c5) | b4/2 d5 | r/4 d5 c5( b4) | a4/2 c5 |
        \< b4/4( c5 d5 c5) | d5( e5 c5/2) | \! \f b4/4- b4- d5( b4) | c5/2.- r/4
        """,
        "L": r"""
        a2/1=5 | c3/1 | b2/2( e3) | a2( e3) |
        a2/1 | c3/1 | b2/2( e3) | a2/4( e3 a2) r |
        c3/2.=3 r/4 | d3/2( b2) | b2/2. r/4 | c3/2( a2) |
        d3/1 | d3/2( c3) | d3/1 | e3/4( d3 c3) r
        """,
    },
    right="double",
)

# Back home; the last phrase is passed from hand to hand.
THIRD = Section(
    rehearsal="C",
    tempo=Tempo("As at first", "quarter", 108, printed=False),
    music={
        "R": r"""
        \mf c4/4=1( e4 g4 e4) | f4( d4 e4/2) | d4/4( f4 e4 d4) | e4( c4 d4/2) |
        c4/4( e4 g4 e4) | f4( g4 e4/2) | d4/4( e4 f4 d4) | c4/2. r/4 |
        R | e4/4=3( f4 g4/2) | R | d4/4( e4 f4/2) |
        \< e4/4( g4 f4 e4) | \! \f d4( f4 e4 d4) | \w:slowing e4/2-( d4-) | c4/1@
        """,
        "L": r"""
        c3/1=5 | g3/2( c3) | f3( g3) | c3( g3) |
        e3/2( c3) | d3( c3) | f3( g3) | c3/4( e3 c3) r |
        c3/4=5( d3 e3 f3) | g3/2( e3) | f3/4=2( e3 d3 c3) | f3/2( d3) |
        c3/1 | f3/2( g3) | g3/1 | c3+e3/1@
        """,
    },
    right="final",
)


def compose() -> Piece:
    """The whole piece."""
    return Piece(
        title="The Footbridge", file_name="the_footbridge", sections=[FIRST, SECOND, THIRD]
    )
