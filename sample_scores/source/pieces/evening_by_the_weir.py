"""Evening by the Weir: a song without words in G major, its middle part in E flat.

Upbeat, eighths against triplets, pedal, every common ornament, arpeggios, a passage whose upper
voice rises out of the lower staff.
"""

from __future__ import annotations

from score_writing.piece import Piece, Section, Tempo
from score_writing.pitch import figure

RIPPLE = "0 1 2 3 2 1 2 3 2"
SWELL = "0 1 2 3 4 5 6 5 4 3 2 1"
FIRST_KEY_OF_UPPER_STAFF = "c4"


def ripples(*chords: str, numbers: bool = False) -> str:
    """One measure of three triplets for each chord of four notes, the pedal changed on each.

    Only the first measure prints its triplet numbers: the reader knows by then.
    """
    out = []
    for place, chord in enumerate(chords):
        notes = figure(RIPPLE, chord).split()
        opening = "3{" if numbers and place == 0 else "3h{"
        groups = [f"{opening} {' '.join(notes[at : at + 3])} }}" for at in (0, 3, 6)]
        out.append(" ".join(groups).replace(notes[0], f"{notes[0]}/8", 1))
    return " | ".join(out)


def pedalled(text: str) -> str:
    """Press the pedal at the start of every measure and lift it at the end."""
    return " | ".join(rf"\ped {one} \*" for one in text.split("|"))


def swells(*chords: str) -> str:
    """One measure of sixteenths up and down each chord of seven notes, over both staves."""
    out = []
    for chord in chords:
        notes = [
            f"{note}%2" if int(note[-1]) < int(FIRST_KEY_OF_UPPER_STAFF[-1]) else note
            for note in figure(SWELL, chord).split()
        ]
        notes[0] = notes[0].replace("%2", "/16%2(")
        notes[-1] += ")"
        out.append(" ".join(notes))
    return " | ".join(out)


UPBEAT = Section(
    pickup=True,
    tempo=Tempo("Gently flowing", "quarter", 66),
    fifths=1,
    meter=(3, 4),
    music={"R": r"\p \w:singing d5/4(", "L": "r/4"},
)
SONG_LEFT = (
    "g2 d3 g3 b3",
    "f#2 d3 f#3 a3",
    "e2 b2 e3 g3",
    "a2 e3 g3 c4",
    "g2 d3 g3 b3",
    "c3 e3 g3 c4",
    "a2 e3 g3 c4",
    "g2 d3 g3 b3",
)
FIRST = Section(
    rehearsal="A",
    music={
        "R": r"""
        b4/4. c5/8 d5 e5) | f#5/4.( e5/8 d5 a4) | \< b4/4( e5/8 f#5 g5 b5) |
        \! a5/4.( g5/8 \> e5 c5) | \! d5/4.( e5/8 d5 b4) | c5/4( e5 g5:im) |
        \> ^^f#5/8 e5/4( d5/8 c5 b4 a4 | \! g4/2) d5/4( |
        \mp b4/4.:tu c5/8 d5 e5) | f#5/4.( e5/8 d5 f#5) | \< g5/4( b5/8 a5 g5 e5) |
        \! \mf ^g5 f#5/4.( e5/8 d5 c#5) | b4/4( d5/8 f#5 b5 a5) | g5/4( f#5 e5) |
        \> d5/4( c#5/2:tr) | \! d5/2.
        """,
        "L": pedalled(
            ripples(
                *SONG_LEFT,
                *SONG_LEFT[:2],
                "e2 b2 e3 g3",
                "d3 f#3 a3 d4",
                "b2 d3 f#3 b3",
                "e2 b2 e3 g3",
                "a2 e3 g3 c#4",
                numbers=True,
            )
        )
        + r" | \ped 3h{ d2/8 a2 d3 } 3h{ f#3 d3 a2 } \* d3/4",
    },
    right="double",
)
SECOND = Section(
    rehearsal="B",
    tempo=Tempo("A little more moving", "quarter", 76),
    fifths=-3,
    music={
        "R": swells(
            "eb3 g3 bb3 eb4 g4 bb4 eb5",
            "eb3 g3 c4 eb4 g4 c5 eb5",
            "eb3 ab3 c4 eb4 ab4 c5 eb5",
            "d3 f3 ab3 d4 f4 bb4 d5",
            "eb3 g3 bb3 eb4 g4 bb4 eb5",
            "f3 ab3 c4 eb4 ab4 c5 f5",
            "f3 ab3 bb3 d4 f4 bb4 d5",
            "g3 bb3 eb4 g4 bb4 eb5 g5",
        )
        + r""" |
        \p g4/4( bb4 eb5) | f5/4.( eb5/8 d5 bb4) | eb5/4( g5/8 f5 eb5 d5) |
        d5/4:mo( b4/2) | \< c5/4( eb5 ab5) | \! \mf g5/4.:im( f5/8 eb5 bb4) |
        \> ab4/4( c5/8 eb5 d5 c5) | \! \p g4/4( bb4 c#5)
        """,
        "L": pedalled(r"""
        \down \pp eb2/2. | c2/2.- | ab2/2.- | bb2/2.- | g2/2.- | f2/2.- | bb2/2.- | eb2/2.- \auto
        """)
        + " | "
        + pedalled(
            ripples(
                "eb3 g3 bb3 eb4",
                "d3 f3 bb3 d4",
                "c3 eb3 g3 c4",
                "b2 d3 g3 b3",
                "ab2 c3 eb3 ab3",
                "bb2 eb3 g3 bb3",
                "f2 c3 f3 ab3",
                "eb2 bb2 eb3 g3",
            )
        ),
    },
    right="double",
)
BRIDGE = Section(
    rehearsal="C",
    tempo=Tempo("Freely", "quarter", 60),
    fifths=1,
    music={
        "R": r"""
        \p d4+f#4+a4+d5/2.& | r/4 a4/8( b4 c5 a4) | \mp d4+g4+bb4+d5/2.& |
        r/4 bb4/8( c5 d5 bb4) | \mf e4+g4+a4+c#5/2.& | r/4 \> e5/8( d5 c#5 g4) |
        \! \p \w:slowing 3{ f#4/8( a4 c5 } 3{ e5 d5 c5 } 3{ b4 a4 f#4) } | f#4+a4+c5/2@& d5/4(
        """,
        "L": r"""
        \ped d2+a2+d3/2.& | R \* | \ped d2+bb2+d3/2.& | R \* | \ped d2+a2+d3/2.& | R \* |
        \ped d2+c3/2. | d2+c3/2@& \* r/4
        """,
    },
    right="double",
)
THIRD = Section(
    rehearsal="D",
    tempo=Tempo("As at first", "quarter", 66),
    music={
        "R": r"""
        \p b4/4.:tu c5/8 d5 e5) | f#5/4.( e5/8 d5 a4) | \< b4/4( e5/8 f#5 g5 b5) |
        \! a5/4.( g5/8 \> e5 c5) | \! d5/4.( e5/8 d5 b4) | c5/4( e5 g5:im) |
        ^^f#5/8 e5/4( d5/8 c5 b4 f#4) | g4/2( b4/8 d5) |
        \mp \< g5/4( f#5/8 g5 a5 b5) | c6/4.( b5/8 a5 e5) | \! \f b5/4.( a5/8 g5 d5) |
        \> a5/4( g5 e5) | \! \mp ^e5 d5/4.( c5/8 b4 g4) | c5/4( b4/8 c5 e5 g5) |
        \> b4/4( a4/2:tr) | \! g4/2.
        """,
        "L": pedalled(
            ripples(
                *SONG_LEFT,
                "g2 d3 g3 b3",
                "a2 e3 a3 c4",
                "g2 d3 g3 b3",
                "c3 e3 g3 c4",
                "b2 d3 g3 b3",
                "a2 e3 g3 c4",
                "d2 a2 d3 f#3",
                "g2 d3 f3 b3",
            )
        ),
    },
    right="double",
)
CLOSE = Section(
    rehearsal="E",
    tempo=Tempo("Calming", "quarter", 60),
    music={
        "R": r"""
        \p \w:from_afar e5/4.( d5/8 c5 g4) | eb5/4.( d5/8 c5 g4) | d5/4.( c5/8 b4 g4) |
        \> c5/4( a4 f#4) | \! \pp g4/2( b4/8 d5) | \w:slower_and_slower g5/4( f#5 d5) |
        g4+b4+d5+g5/2.& | b4+d5+g5+b5/2.@&
        """,
        "L": pedalled(
            ripples(
                "c3 e3 g3 c4",
                "c3 eb3 g3 c4",
                "b2 d3 g3 b3",
                "d3 f#3 a3 c4",
                "g2 d3 g3 b3",
                "d2 a2 c3 f#3",
            )
        )
        + r" | \ped g2+d3+g3/2.& | g2+d3+b3/2.@& \*",
    },
    right="final",
)


def compose() -> Piece:
    """The whole piece."""
    return Piece(
        title="Evening by the Weir",
        file_name="evening_by_the_weir",
        sections=[UPBEAT, FIRST, SECOND, BRIDGE, THIRD, CLOSE],
    )
