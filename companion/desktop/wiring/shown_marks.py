"""From what was worked out of a take to pencil marks in the score. No widgets here."""

from __future__ import annotations

from companion.desktop.listener_panel.note_names import key_name
from companion.desktop.score_view.marks import Mark, MarkKind
from companion.listening.measuring.flow import InterruptionKind
from companion.listening.measuring.take_measures import TakeMeasures
from companion.listening.notes import Beginning, Match, Verdict
from companion.score.model import Position, Score

_INTERRUPTIONS = {
    InterruptionKind.STOP: MarkKind.STOP,
    InterruptionKind.HESITATION: MarkKind.HESITATION,
}


def marks_of(score: Score, match: Match, measures: TakeMeasures | None) -> list[Mark]:
    """Marks for the wrong, missed and added notes of a take, and where its flow broke.

    A note that was wrong in one passage and right in a later one keeps its mark: the page shows
    where something happened. Right notes carry none.
    """
    marks = {mark.key: mark for mark in _note_marks(score, match)}
    for passage in match.passages:
        if passage.began_with is Beginning.RESTART:
            mark = Mark(kind=MarkKind.RESTART, position=score.position_at(passage.from_quarters))
            marks.setdefault(mark.key, mark)
    for interruption in measures.interruptions if measures else ():
        kind = _INTERRUPTIONS.get(interruption.kind)
        if kind is not None and interruption.note < len(score.notes):
            mark = Mark(kind=kind, note_id=score.notes[interruption.note].note_id)
            marks.setdefault(mark.key, mark)
    return list(marks.values())


def _note_marks(score: Score, match: Match) -> list[Mark]:
    marks: list[Mark] = []
    before: Position | None = None
    staff = 1
    for note in match.notes:
        if note.verdict is Verdict.ADDED:
            if before is not None:
                marks.append(
                    Mark(
                        kind=MarkKind.ADDED,
                        position=before,
                        staff=_nearest_staff(note.pitch, staff),
                        label=_name(score, note.pitch, before),
                    )
                )
            continue
        if note.measure_index is not None and note.offset_quarters is not None:
            before = Position(note.measure_index, note.offset_quarters)
        if note.score_index is not None:
            staff = score.notes[note.score_index].staff
        if note.verdict is Verdict.WRONG and note.note_id is not None:
            marks.append(
                Mark(
                    kind=MarkKind.WRONG,
                    note_id=note.note_id,
                    label=_name(score, note.pitch, before or Position(0)),
                )
            )
    marks.extend(Mark(kind=MarkKind.MISSED, note_id=missed.note_id) for missed in match.missed)
    return marks


def _nearest_staff(pitch: int, staff: int) -> int:
    """Upper staff from a fifth above middle C, lower one from a fifth below, else as before."""
    if pitch >= 67:
        return 1
    return 2 if pitch <= 53 else staff


def _name(score: Score, pitch: int, position: Position) -> str:
    index = min(position.measure_index, len(score.measures) - 1)
    return key_name(pitch, score.measures[index].key_fifths)
