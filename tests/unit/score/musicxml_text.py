"""Small MusicXML texts for the tests, written as a musician would say them."""

from __future__ import annotations

import re

from companion.score.reading.prepare import prepare_score
from companion.score.reading.reader import read_prepared

DIVISIONS = 12  # ticks in a quarter: divides into sixteenths and triplets

START = (
    f"<attributes><divisions>{DIVISIONS}</divisions><key><fifths>0</fifths></key>"
    "<time><beats>4</beats><beat-type>4</beat-type></time><staves>2</staves></attributes>"
)


def note(
    name, quarters=1, *, staff=1, voice=1, chord=False, tie="", notations="", grace=False, more=""
):
    """A note: "C4", "F#5", "Bb3"; "r" is a rest. ``tie`` lists "start" and "stop"."""
    ticks = round(quarters * DIVISIONS)
    if name == "r":
        pitch = "<rest/>"
    else:
        step, accidental, octave = re.fullmatch(r"([A-G])(#*|b*)(-?\d)", name).groups()
        alter = len(accidental) * (1 if "#" in accidental else -1)
        alter_text = f"<alter>{alter}</alter>" if alter else ""
        pitch = f"<pitch><step>{step}</step>{alter_text}<octave>{octave}</octave></pitch>"
    ties = "".join(f'<tie type="{kind}"/>' for kind in tie.split())
    attributes = ' print-object="no"' if "hidden" in more.split() else ""
    cue = "<cue/>" if "cue" in more.split() else ""
    return (
        f"<note{attributes}>{'<grace/>' if grace else ''}{cue}{'<chord/>' if chord else ''}{pitch}"
        f"{'' if grace else f'<duration>{ticks}</duration>'}{ties}<voice>{voice}</voice>"
        f"<type>quarter</type><staff>{staff}</staff>"
        f"{f'<notations>{notations}</notations>' if notations else ''}</note>"
    )


def backup(quarters):
    return f"<backup><duration>{round(quarters * DIVISIONS)}</duration></backup>"


def words(text, *, sound="", signs=""):
    inside = f"<words>{text}</words>" if text else ""
    return (
        f"<direction><direction-type>{inside}{signs}</direction-type>"
        f"{f'<sound {sound}/>' if sound else ''}</direction>"
    )


def metronome(unit, per_minute, *, dots=0, text="", tempo=None):
    sign = (
        f"<direction-type><metronome><beat-unit>{unit}</beat-unit>{'<beat-unit-dot/>' * dots}"
        f"<per-minute>{per_minute}</per-minute></metronome></direction-type>"
    )
    lead = f"<direction-type><words>{text}</words></direction-type>" if text else ""
    sound = f'<sound tempo="{tempo}"/>' if tempo else ""
    return f"<direction>{lead}{sign}{sound}</direction>"


def barline(location="right", *, style="", repeat="", ending="", number="", fermata=False):
    """A bar line; ``repeat`` may carry further attributes: 'backward" times="3'."""
    return (
        f'<barline location="{location}">'
        f"{f'<bar-style>{style}</bar-style>' if style else ''}"
        f"{'<fermata/>' if fermata else ''}"
        f'{f"""<ending number="{number}" type="{ending}"/>""" if ending else ""}'
        f'{f"""<repeat direction="{repeat}"/>""" if repeat else ""}'
        "</barline>"
    )


def measure(*content, number=None, implicit=False):
    attributes = f' number="{number}"' if number is not None else ' number="?"'
    attributes += ' implicit="yes"' if implicit else ""
    return f"<measure{attributes}>{''.join(content)}</measure>"


def score_text(*measures, head="", part_name="Piano"):
    """A score of one part; measures without a number are numbered from 1."""
    numbered = [
        text.replace('number="?"', f'number="{place}"', 1)
        for place, text in enumerate(measures, start=1)
    ]
    return (
        '<?xml version="1.0" encoding="UTF-8"?><score-partwise version="4.0">'
        f'{head}<part-list><score-part id="P1"><part-name>{part_name}</part-name></score-part>'
        f'</part-list><part id="P1">{"".join(numbered)}</part></score-partwise>'
    )


def read_text(folder, text, name="score.musicxml"):
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return read_prepared(prepare_score(path))


def read_measures(folder, *measures):
    """Read measures of which the first begins with the usual attributes."""
    first = measures[0].replace(">", f">{START}", 1)
    return read_text(folder, score_text(first, *measures[1:]))
