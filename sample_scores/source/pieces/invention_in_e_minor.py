"""Invention in E minor: two voices in imitation, after the manner of the keyboard invention.

The subject is built of a head in eighths and a tail in sixteenths; the counter-subject runs where
the subject walks and walks where it runs. Both meet in thirds and sixths only, so that either can
lie above the other.
"""

from __future__ import annotations

from score_writing.piece import Piece, Section, Tempo
from score_writing.pitch import in_major, octave, transposed

SUBJECT = """e5/8 g5 f#5 e5 d#5/16 e5 f#5 d#5 b4/8 a5 |
    g5/16 f#5 e5 g5 f#5 e5 d#5 f#5 e5/8 b4 g4 e4"""
COUNTER = """r/16 g3 e3 f#3 a3 b3 g3 a3 b3/8 a3 g3 f#3 |
    e3/8 g3 a3 b3 g3/16 f#3 g3 a3 b3 a3 g3 f#3"""
HEAD = "e5/8 g5 f#5 e5"
COUNTER_HEAD = "r/16 g3 e3 f#3 a3 b3 g3 a3"

# Where a counter-subject enters out of a cadence, the note of arrival fills its first rest.
ARRIVAL = "r/16"

# Hands exchange a falling-fifth sequence: D, G, C, F, B diminished, E and a cadence in A minor.
SEQUENCE_UPPER = """d5/8 f#5/4 a5/8 g5 d5 b4 d5 | c5 e5/4 g5/8 f5 c5 a4 c5 |
    b4 d5/4 f5/8 e5 b4 g#4 b4 | a4 c5 f5 d5 c5 a4 b4 g#4"""
SEQUENCE_LOWER = """f#3/16 e3 d3 f#3 a3 b3 c4 a3 b3 a3 g3 b3 d3 e3 f#3 d3 |
    e3 d3 c3 e3 g3 a3 b3 g3 a3 g3 f3 a3 c3 d3 e3 c3 |
    d3 c3 b2 d3 f3 g3 a3 f3 g#3 f#3 e3 g#3 b2 c3 d3 b2 |
    c3 b2 a2 c3 d3 e3 f3 d3 e3/8 c3 d3 e3"""


def to_a_minor(text: str) -> str:
    """From E minor a fourth up."""
    return transposed(text, 3, 5)


def to_b_minor(text: str) -> str:
    """From E minor a fifth up."""
    return transposed(text, 4, 7)


def to_g_major(text: str) -> str:
    """From E minor a third up, in major."""
    return in_major(transposed(text, 2, 3), "g")


def to_d_major(text: str) -> str:
    """From E minor a seventh up, in major."""
    return in_major(transposed(text, 6, 10), "d")


def to_c_major(text: str) -> str:
    """From E minor a sixth up, in major."""
    return in_major(transposed(text, 5, 8), "c")


EXPOSITION = Section(
    rehearsal="A",
    tempo=Tempo("Flowing", "quarter", 84),
    fifths=1,
    meter=(4, 4),
    music={
        "R": rf"\mf \w:eighths_detached {SUBJECT} | {octave(to_b_minor(COUNTER), 1)}",
        "L": f"R | R | {octave(to_b_minor(SUBJECT), -2)}",
    },
)
FIRST_EPISODE = Section(
    music={
        "R": """
        g5/16 f#5 e5 g5 b4 c5 d5 b4 c5 b4 a4 c5 e5 d5 c5 e5 |
        f#5 e5 d5 f#5 a4 b4 c5 a4 b4 a4 g4 b4 d5 c5 b4 d5 |
        e5 d5 c5 e5 g4 a4 b4 g4 a4 g4 f#4 a4 c5 b4 a4 c5 |
        b4 a4 g4 b4 c5 b4 a4 c5 b4/8 g4 a4 f#4
        """,
        "L": """
        e3/8 g3 e3 b2 a2 c3 a2 e3 | d3 f#3 d3 a2 g2 b2 g2 d3 |
        c3 e3 c3 g2 f#3 d3 f#3 d3 | g3 e3 e3 c3 d3 e3 d3 d2
        """,
    },
)
MIDDLE = Section(
    rehearsal="B",
    music={
        "R": rf"\mp {octave(to_g_major(COUNTER), 1).replace(ARRIVAL, 'g4/16')} | "
        + octave(to_d_major(SUBJECT), -1),
        "L": f"{octave(to_g_major(SUBJECT), -2)} | {octave(to_d_major(COUNTER), -1)}",
    },
)
SECOND_EPISODE = Section(music={"R": SEQUENCE_UPPER, "L": SEQUENCE_LOWER})
IN_A_MINOR = Section(
    rehearsal="C",
    music={
        "R": rf"\p {octave(to_a_minor(SUBJECT), -1)} | "
        r"""
        d5/8 f5 e5 d5 r/16 b4 g4 a4 c5 d5 b4 c5 | c5/8 e5 d5 c5 r/16 a4 f4 g4 b4 c5 a4 b4 |
        b4/8 d5 c5 b4 r/16 g#4 e4 f#4 a4 b4 g#4 a4 |
        \< a4/8 c5 b4 a4 r/16 d#5 b4 c#5 e5 f#5 d#5 e5
        """,
        "L": f"{octave(to_a_minor(COUNTER), -1).replace(ARRIVAL, 'a2/16')} | "
        """
        r/16 f3 d3 e3 g3 a3 f3 g3 g3/8 b3 a3 g3 | r/16 e3 c3 d3 f3 g3 e3 f3 f3/8 a3 g3 f3 |
        r/16 d3 b2 c3 e3 f3 d3 e3 e3/8 g#3 f#3 e3 | r/16 c3 a2 b2 d3 e3 c3 d3 b2/8 d#3 c#3 b2
        """,
    },
)
RETURN = Section(
    rehearsal="D",
    music={
        "R": rf"\! \f {octave(COUNTER, 2)} | {SUBJECT} | {transposed(SEQUENCE_UPPER, -3, -5)}",
        "L": f"{octave(SUBJECT, -2)} | e3/8 r r/4 b2/8 d#3 e3 f#3 | "
        f"{COUNTER.split('|')[1]} | {transposed(SEQUENCE_LOWER, -3, -5)}",
    },
)
DECEPTION = Section(
    rehearsal="E",
    music={
        "R": rf"\p {to_c_major(COUNTER).replace(ARRIVAL, 'e4/16')} | "
        rf"\< {to_a_minor(SUBJECT)} | "
        r"""
        \! \f c6/16 b5 a5 c6 b5 a5 g5 b5 a5 g5 f#5 a5 g5 f#5 e5 g5 |
        f#5 e5 d#5 f#5 e5 d#5 c#5 e5 d#5 b4 c#5 d#5 e5 g5 f#5 a5
        """,
        "L": f"{octave(to_c_major(SUBJECT), -3)} | {to_a_minor(COUNTER)} | "
        """
        a3/8 f#3 g3 e3 f#3 d#3 e3 c3 | d#3 b2 c#3 a2 b2 a3 g3 b2
        """,
    },
)
CLOSE = Section(
    rehearsal="F",
    music={
        "R": rf"\f {SUBJECT} | {octave(COUNTER, 1)} | "
        r"""
        r/16 c5 a4 b4 d5 e5 c5 d5 r d#5 b4 c#5 e5 f#5 d#5 e5 |
        r g5 e5 f#5 a5 b5 g5 a5 b5/8 a5 g5 f#5 |
        \w:broadening e5/16 f#5 g5 e5 c5 d5 e5 c5 e5/4 d#5:tr | e5/1@
        """,
        "L": f"{COUNTER.replace(ARRIVAL, 'e3/16')} | {octave(SUBJECT, -2)} | "
        """
        a2/8 c3 b2 a2 b2 d#3 c#3 b2 | e3 g3 f#3 e3 d#3/16 e3 f#3 d#3 b2/8 a3 |
        g3/8 e3 a2 c3 b2/4 b1 | e2/1@
        """,
    },
    right="final",
)


def compose() -> Piece:
    """The whole piece."""
    return Piece(
        title="Invention in E minor",
        file_name="invention_in_e_minor",
        sections=[
            EXPOSITION,
            FIRST_EPISODE,
            MIDDLE,
            SECOND_EPISODE,
            IN_A_MINOR,
            RETURN,
            DECEPTION,
            CLOSE,
        ],
    )
