"""From printed cues to borders of sections, each with its reason in words.

Conventions
-----------
- A border is where the new section begins. Signs at one place make one border, and their weights
  add up; of two borders that are too close the heavier stays, of equal ones the earlier.
- First and second endings stay with their repeat: the border comes after the last ending. How long
  that is, is not printed everywhere; it is taken to be as long as the first one unless a sign comes
  sooner.
- Where the piece begins with an upbeat, a border that is not drawn as a bar line is put before the
  upbeat of the new phrase, when there is one.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from companion.score.model import CueKind, Hand, Position, PrintedCue, Score
from companion.score.reading.cues import is_heading

FEWEST_MEASURES = 4
FEWEST_MEASURES_NAMED = 2
SHORT_PIECE_MEASURES = 24
SHORTEST_HEADING = 3
"""Letters in a large word that can be the name of a section."""
TOO_OFTEN = 6
"""Meters and tempi that change more often than every so many measures part nothing."""

_WEIGHTS = {
    CueKind.HEADING: 8,
    CueKind.FINE: 8,
    CueKind.REHEARSAL_MARK: 6,
    CueKind.CODA: 4,
    CueKind.KEY_CHANGE: 3,
    CueKind.METER_CHANGE: 3,
    CueKind.TEMPO_CHANGE: 3,
    CueKind.DOUBLE_BAR: 3,
    CueKind.REPEAT_START: 3,
    CueKind.REPEAT_END: 3,
    CueKind.SEGNO: 1,
}
_NAMED = {CueKind.HEADING, CueKind.FINE, CueKind.REHEARSAL_MARK, CueKind.CODA}
_DRAWN = {
    CueKind.DOUBLE_BAR,
    CueKind.REPEAT_START,
    CueKind.REPEAT_END,
    CueKind.KEY_CHANGE,
    CueKind.METER_CHANGE,
    CueKind.FINE,
}
_NO_NEW_TEMPO = re.compile(
    r"^\W*(poco |molto |un poco |sempre )*(a tempo|in tempo|im tempo|au mouvement|rit|rall|accel|"
    r"string|allarg|calando|smorz|morendo|slentando|meno|pi[ùu])",
    re.IGNORECASE,
)
_METRONOME = re.compile(r"\s*\(?[\w .-]*= ?(ca?\.)? ?[\d./–-]+\)?\s*$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Border:
    """A place where a section may begin, and the printed signs that say so."""

    position: Position
    cues: tuple[PrintedCue, ...]

    @property
    def kinds(self) -> frozenset[CueKind]:
        """The kinds of signs that stand here."""
        return frozenset(cue.kind for cue in self.cues)

    @property
    def weight(self) -> int:
        """How strongly the signs part the music."""
        return sum(_WEIGHTS[kind] for kind in self.kinds)

    @property
    def why(self) -> str:
        """The signs in words: "double bar, new key signature (3 flats)"."""
        return ", ".join(dict.fromkeys(_reason(cue) for cue in self.cues))

    @property
    def name(self) -> str:
        """What the signs call the section, empty when they have no name for it."""
        texts = {cue.kind: cue.text for cue in self.cues}
        for kind in (CueKind.REHEARSAL_MARK, CueKind.HEADING):
            if texts.get(kind, "").strip():
                return tidy_name(texts[kind])
        if CueKind.CODA in texts:
            return "Coda"
        return tidy_name(tempo_word(texts.get(CueKind.TEMPO_CHANGE, "")))

    @property
    def opens_part(self) -> bool:
        """Whether a part of the piece begins here: a heading, or music behind a Fine."""
        return bool(self.kinds & {CueKind.HEADING, CueKind.FINE})

    @property
    def changes_at_bar_line(self) -> bool:
        """Whether key, meter or tempo change at a double bar or a repeat."""
        change = {CueKind.KEY_CHANGE, CueKind.METER_CHANGE, CueKind.TEMPO_CHANGE}
        line = {CueKind.DOUBLE_BAR, CueKind.REPEAT_START, CueKind.REPEAT_END}
        return bool(self.kinds & change) and bool(self.kinds & line)


def tidy_name(text: str) -> str:
    """Bring a printed word into a shape for a name: "TRIO." becomes "Trio"."""
    plain = " ".join(text.split()).strip(" .:,;()[]")
    return plain.capitalize() if len(plain) > 3 and plain.isupper() else plain


def tempo_word(text: str) -> str:
    """Return the words of a tempo mark without its metronome equation: "Andante"."""
    return _METRONOME.sub("", text).strip(" (")


def measures_into(score: Score, position: Position) -> float:
    """Place of a position counted in measures: 4.5 is half way through the fifth one."""
    index = position.measure_index
    if index >= len(score.measures):
        return float(len(score.measures))
    return index + float(position.offset_quarters / score.measures[index].duration_quarters)


def find_borders(score: Score) -> tuple[Border, ...]:
    """Return the borders that the printed cues of a score suggest, none too close to another."""
    at_place: dict[Position, list[PrintedCue]] = defaultdict(list)
    for cue in _with_endings_kept(score, _parting_cues(score)):
        at_place[cue.position].append(cue)
    borders = [
        Border(
            position=place,
            cues=tuple(sorted(cues, key=lambda cue: (-_WEIGHTS[cue.kind], cue.kind.value))),
        )
        for place, cues in at_place.items()
    ]
    return _spaced(score, [_before_upbeat(score, border) for border in borders])


def _parting_cues(score: Score) -> list[PrintedCue]:
    """The cues that can begin a section: no fermatas, no "a tempo", no ever-changing meters."""
    cues = [cue for cue in score.cues if cue.kind in _WEIGHTS or cue.kind is CueKind.ENDING]
    cues = [
        cue
        for cue in cues
        if cue.kind is not CueKind.TEMPO_CHANGE or not _NO_NEW_TEMPO.match(cue.text)
    ]
    cues = [cue for cue in cues if cue.kind is not CueKind.HEADING or _heads_something(cue.text)]
    for kind in (CueKind.METER_CHANGE, CueKind.TEMPO_CHANGE):
        if sum(cue.kind is kind for cue in cues) * TOO_OFTEN > len(score.measures):
            cues = [cue for cue in cues if cue.kind is not kind]
    return cues


def _heads_something(text: str) -> bool:
    """Whether a heading can be the name of a section: not so "or ♯" in large letters."""
    return not text or is_heading(text) or sum(map(str.isalpha, text)) >= SHORTEST_HEADING


def _with_endings_kept(score: Score, cues: Sequence[PrintedCue]) -> list[PrintedCue]:
    """Move the end of a repeat behind its last ending; drop the signs between the endings."""
    endings = sorted(cue.position for cue in cues if cue.kind is CueKind.ENDING)
    repeat_ends = sorted(cue.position for cue in cues if cue.kind is CueKind.REPEAT_END)
    signs = {cue.position for cue in cues if cue.kind not in (CueKind.ENDING, CueKind.REPEAT_END)}
    repeat_starts = [cue.position for cue in cues if cue.kind is CueKind.REPEAT_START]
    moved: dict[Position, Position | None] = {}
    for end in repeat_ends:
        begin = max((s for s in repeat_starts if s < end), default=Position(-1))
        inside = [e for e in endings if begin <= e < end]
        if not inside:
            continue
        length = end.measure_index - inside[-1].measure_index
        behind = range(end.measure_index + 1, end.measure_index + 2 * length + 1)
        if any(Position(k) in repeat_ends and end in endings for k in behind):
            moved[end] = None  # a middle ending, which has a repeat sign of its own
            continue
        stop = next((k for k in behind if Position(k) in signs), end.measure_index + length)
        moved[end] = Position(min(stop, len(score.measures)))
    kept: list[PrintedCue] = []
    for cue in cues:
        if cue.kind is CueKind.ENDING:
            continue
        if cue.kind is CueKind.REPEAT_END and cue.position in moved:
            place = moved[cue.position]
            if place is not None:
                kept.append(PrintedCue(kind=cue.kind, position=place, text="after the last ending"))
        elif cue.kind is CueKind.DOUBLE_BAR and cue.position in moved:
            continue
        else:
            kept.append(cue)
    return kept


def _before_upbeat(score: Score, border: Border) -> Border:
    if border.kinds & _DRAWN:
        return border
    return Border(position=upbeat_before(score, border.position), cues=border.cues)


def upbeat_before(score: Score, position: Position) -> Position:
    """Where the phrase that reaches its first bar line at a position begins.

    The upbeat is as long as that of the piece. It is believed in where the right hand strikes a
    note at its place, and nothing during the beat before, so that the phrase before has ended.
    """
    first = score.measures[0]
    upbeat = first.duration_quarters
    index = position.measure_index
    full = Fraction(4 * first.beats, first.beat_type)
    if not 0 < upbeat < full or index < 2 or position.offset_quarters:
        return position
    before = score.measures[index - 1]
    place = before.duration_quarters - upbeat
    if place <= 0:
        return position
    offsets = {
        Fraction(note.measure_offset_quarters)
        for note in score.notes
        if note.measure_index == index - 1 and not note.grace and note.playing_hand is Hand.RIGHT
    }
    gap = [offset for offset in offsets if place - before.beat_quarters < offset < place]
    return Position(index - 1, place) if place in offsets and not gap else position


def _spaced(score: Score, borders: Iterable[Border]) -> tuple[Border, ...]:
    """Take borders by weight, each only if it leaves room on both sides."""
    fewest = FEWEST_MEASURES if len(score.measures) >= SHORT_PIECE_MEASURES else 2
    taken: dict[Position, Border] = {}
    ends = (0.0, float(len(score.measures)))
    for border in sorted(borders, key=lambda b: (-b.weight, b.position)):
        place = measures_into(score, border.position)
        room = min(fewest, FEWEST_MEASURES_NAMED) if border.kinds & _NAMED else fewest
        others = [*ends, *(measures_into(score, other) for other in taken)]
        if place > 0 and all(abs(place - other) >= room - 1e-9 for other in others):
            taken[border.position] = border
    return tuple(taken[position] for position in sorted(taken))


def _reason(cue: PrintedCue) -> str:
    text = " ".join(cue.text.split())
    match cue.kind:
        case CueKind.REHEARSAL_MARK:
            return f"rehearsal mark {text}".strip()
        case CueKind.HEADING:
            return f"heading “{text}”" if text else "heading"
        case CueKind.FINE:
            return "after the Fine"
        case CueKind.KEY_CHANGE:
            return f"new key signature ({text})" if text else "new key signature"
        case CueKind.METER_CHANGE:
            return f"new meter ({text})" if text else "new meter"
        case CueKind.TEMPO_CHANGE:
            return f"new tempo ({text})" if text else "new tempo"
        case CueKind.REPEAT_START:
            return "a repeat begins"
        case CueKind.REPEAT_END:
            return "a repeat has ended"
        case CueKind.CODA | CueKind.SEGNO:
            return f"{cue.kind.value} sign"
        case _:
            return cue.kind.value
