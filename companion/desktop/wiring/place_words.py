"""What happened at a note or in a measure, in words: for a resting pointer, a click, a reader."""

from __future__ import annotations

from collections import Counter, defaultdict
from typing import TYPE_CHECKING

from companion.desktop.listener_panel.note_names import key_name, written_name
from companion.desktop.section_map.figures import MapFigures
from companion.desktop.section_map.wording import measure_sentence, tr
from companion.listening.notes import Match, Verdict
from companion.score.model import Score, ScoreNote

if TYPE_CHECKING:
    from companion.listening.measuring.take_measures import TakeMeasures

_MOST_THINGS = 6
_INTERRUPTIONS = {
    "hesitation": "a hesitation",
    "stop": "the music stopped",
    "restart": "the playing went back from here",
    "jump": "the playing went on elsewhere",
}


class PlaceWords:
    """Tells of places, from the take whose marks are shown and from all takes of the piece."""

    def __init__(self) -> None:
        self._score: Score | None = None
        self._figures = MapFigures()
        self._of_note: dict[str, list[str]] = {}
        self._of_measure: dict[int, list[str]] = {}
        self._found_notes: dict[str, ScoreNote] | None = None

    @property
    def _notes(self) -> dict[str, ScoreNote]:
        """The written notes by id: looked up when the first word is wanted."""
        if self._found_notes is None:
            notes = self._score.notes if self._score is not None else ()
            self._found_notes = {note.note_id: note for note in notes}
        return self._found_notes

    def hold_score(self, score: Score) -> None:
        """Tell of this score from now on."""
        self._score = score
        self._figures = MapFigures()
        self._of_note, self._of_measure = {}, {}
        self._found_notes = None

    def hold_figures(self, figures: MapFigures) -> None:
        """Take the counts over all takes."""
        self._figures = figures

    def hold_match(self, match: Match | None, measures: TakeMeasures | None = None) -> None:
        """Tell of this take; None for no take."""
        self._of_note, self._of_measure = defaultdict(list), defaultdict(list)
        score = self._score
        if match is None or score is None:
            return
        place = 0
        for note in match.notes:
            if note.measure_index is not None:
                place = note.measure_index
            name = key_name(note.pitch, score.measures[place].key_fifths)
            if note.verdict is Verdict.WRONG and note.note_id is not None:
                self._of_note[note.note_id].append(
                    tr("{name} was played instead").format(name=name)
                )
                self._of_measure[note.measure_index or 0].append(
                    tr("{name} instead of {written}").format(
                        name=name, written=self._written(note.note_id)
                    )
                )
            elif note.verdict is Verdict.ADDED:
                self._of_measure[place].append(tr("{name} was added").format(name=name))
            elif note.verdict is Verdict.RIGHT and note.note_id is not None:
                self._of_note[note.note_id].append(tr("right"))
        for missed in match.missed:
            self._of_note[missed.note_id].append(tr("missed"))
            self._of_measure[missed.measure_index].append(
                tr("{written} was missed").format(written=self._written(missed.note_id))
            )
        for one in measures.interruptions if measures is not None else ():
            what = tr(_INTERRUPTIONS[one.kind.value])
            self._of_measure[one.measure_index].append(what)
            if one.note < len(score.notes):
                self._of_note[score.notes[one.note].note_id].append(what)

    def _written(self, note_id: str) -> str:
        note = self._notes.get(note_id)
        if note is None or self._score is None:
            return ""
        fifths = self._score.measures[note.measure_index].key_fifths
        return written_name(note.spelling) or key_name(note.pitch, fifths)

    def describe(self, note_id: str | None, measure_index: int) -> str:
        """A note (id and its measure), or a measure (None and its index), in words."""
        score = self._score
        if score is None or measure_index >= len(score.measures):
            return ""
        measure = score.measures[measure_index]
        note = self._notes.get(note_id) if note_id is not None else None
        if note is None:
            found = [f for f in self._figures.measures if f.measure_index == measure_index]
            words = measure_sentence(measure, found[0] if found else None)
            happened = self._of_measure.get(measure_index)
            if happened:
                words += " " + tr("In this take: {what}.").format(what=_listed(happened))
            elif self._of_note and any(
                self._notes[key].measure_index == measure_index
                for key in self._of_note
                if key in self._notes
            ):
                words += " " + tr("In this take: all right.")
            return words
        written = written_name(note.spelling) or key_name(note.pitch, measure.key_fifths)
        words = tr("Measure {number}: {note}, {hand} hand").format(
            number=measure.number, note=written, hand=tr(note.playing_hand.value)
        )
        happened = self._of_note.get(note.note_id)
        if happened:
            words += ". " + tr("In this take: {what}.").format(what=_listed(happened))
        return words


def _listed(happened: list[str]) -> str:
    """Each thing once, with how often it happened; the first few only."""
    counts = Counter(happened)
    parts = [
        what if count == 1 else tr("{what} ({n} times)").format(what=what, n=count)
        for what, count in counts.items()
    ]
    if len(parts) > _MOST_THINGS:
        parts[_MOST_THINGS:] = [tr("{n} more").format(n=len(parts) - _MOST_THINGS)]
    return ", ".join(parts)
