"""Reading a prepared score: from MusicXML to the note table and all that belongs to it.

What is decided here, for each kind of notehead
-----------
- *Tied* noteheads make one note (see ``ties``).
- *Grace* notes stay, on the onset of their main note, with no duration.
- *Cue* notes (another player's) and *hidden* notes (print-object="no") may be played but are never
  missed: ``expected`` is False. A hidden note that doubles a visible one is left out.
- *Unisons* of two voices stay two notes: both are printed.
- *Ornaments*, tremolos and glissandi are one note with the name of the sign.
- *Ottava* lines change nothing: MusicXML gives the sounding pitch. Transposing parts are brought
  to sounding pitch.
"""

from __future__ import annotations

import gc
from collections import defaultdict
from contextlib import contextmanager
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from companion.errors import Cancelled, ScoreUnreadable
from companion.progress import Report, no_report
from companion.score.files.safe_xml import parse_untrusted
from companion.score.model import Hand, Measure, Position, Score, ScoreNote
from companion.score.reading.cues import normalised, read_cues
from companion.score.reading.hands import hands_of
from companion.score.reading.measures import lay_out
from companion.score.reading.music21_notes import PlacedNote, place_notes
from companion.score.reading.prepare import PreparedScore, prepare_score
from companion.score.reading.repeat_signs import read_signs
from companion.score.reading.repeats import jumps_into, playing_order
from companion.score.reading.tempo import read_tempo_marks
from companion.score.reading.ties import Head, merge_ties
from companion.score.reading.written import WrittenMeasure, WrittenNote, read_written

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence


CONTRADICTING_REPEATS = (
    "The repeat signs of this score contradict each other, so it is taken once through as printed."
)


def read_score(path: str | Path, part_id: str | None = None, report: Report = no_report) -> Score:
    """Prepare and read a score file; see :func:`companion.score.reading.prepare.prepare_score`.

    Raises
    ------
    ScoreUnreadable
        The file cannot be read as a score.
    """
    return read_prepared(prepare_score(path, part_id, report), report)


def read_prepared(prepared: PreparedScore, report: Report = no_report) -> Score:
    """Read a prepared score.

    Parameters
    ----------
    prepared
        What :func:`companion.score.reading.prepare.prepare_score` returned.
    report
        Told about the progress; may raise to cancel.

    Raises
    ------
    ScoreUnreadable
        The notation makes no sense to the reader, or nothing in it sounds.
    """
    with _collector_at_rest():
        return _read(prepared, report)


@contextmanager
def _collector_at_rest() -> Iterator[None]:
    """Keep the garbage collector out: it would look through all notes again and again."""
    was_at_work = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_at_work:
            gc.enable()


def _read(prepared: PreparedScore, report: Report) -> Score:
    root = parse_untrusted(prepared.musicxml, prepared.title)
    try:
        placed = place_notes(root, report)
        written = tuple(read_written(root))
    except Cancelled:
        raise
    except Exception:  # noqa: BLE001 - music21 raises whatever comes on odd notation
        raise ScoreUnreadable(
            f"The notation in “{prepared.title}” could not be understood."
        ) from None
    return _assembled(prepared, placed, written)


def _assembled(
    prepared: PreparedScore,
    placed: Sequence[Sequence[PlacedNote]],
    written: tuple[WrittenMeasure, ...],
) -> Score:
    measures = lay_out(written)
    order = playing_order(read_signs(written))
    remarks = prepared.remarks
    if order is None:
        order = tuple(range(len(measures)))
        remarks = (*remarks, CONTRADICTING_REPEATS)
    notes = _note_table(placed, written, measures, order)
    if not notes:
        raise ScoreUnreadable(f"“{prepared.title}” holds no notes.")
    tempo_marks = read_tempo_marks(written)
    fermatas = _fermatas(written, measures)
    return Score(
        title=prepared.title,
        composer=prepared.composer,
        measures=measures,
        notes=notes,
        tempo_marks=tempo_marks,
        cues=read_cues(written, measures, tempo_marks, _fermata_ends(written, measures)),
        playing_order=order,
        fermatas=fermatas,
        remarks=remarks,
        content_hash=prepared.content_hash,
        musicxml=prepared.musicxml,
    )


def _note_table(
    placed: Sequence[Sequence[PlacedNote]],
    written: Sequence[WrittenMeasure],
    measures: Sequence[Measure],
    order: Sequence[int],
) -> tuple[ScoreNote, ...]:
    heads, signs = _heads(placed, written, measures)
    staves = max((note.staff for note in signs.values()), default=1)
    hands = hands_of(written, staves)
    jumps = {
        measures[place].start_quarters: befores for place, befores in jumps_into(order).items()
    }
    struck = merge_ties(heads, jumps)
    notes = [_score_note(head, signs, hands, measures) for head in struck]
    notes = _without_hidden_doubles(notes, signs)
    notes.sort(
        key=lambda note: (float(note.onset_quarters), not note.grace, note.pitch, note.note_id)
    )
    return tuple(notes)


def _heads(
    placed: Sequence[Sequence[PlacedNote]],
    written: Sequence[WrittenMeasure],
    measures: Sequence[Measure],
) -> tuple[list[Head], dict[str, WrittenNote]]:
    signs = {note.note_id: note for measure in written for note in measure.notes}
    file_order = {note_id: place for place, note_id in enumerate(signs)}
    heads = []
    for measure, notes in zip(measures, placed, strict=True):
        semitones = written[measure.index].transpose_semitones
        for note in notes:
            sign = signs.get(note.note_id)
            pitch = note.pitch + semitones
            if sign is None or not 0 <= pitch <= 127:
                continue
            heads.append(
                Head(
                    note_id=note.note_id,
                    pitch=pitch,
                    staff=sign.staff,
                    voice=sign.voice,
                    measure_index=measure.index,
                    onset_quarters=measure.start_quarters + note.offset_quarters,
                    duration_quarters=note.duration_quarters,
                    tie_start=sign.tie_start,
                    tie_stop=sign.tie_stop,
                )
            )
    # a grace note stands before its main note in the file, on the same onset; floats compare ten
    # times as fast as fractions and keep their order
    heads.sort(
        key=lambda head: (
            float(head.onset_quarters),
            not signs[head.note_id].grace,
            file_order[head.note_id],
        )
    )
    return heads, signs


def _score_note(
    head: Head,
    signs: dict[str, WrittenNote],
    hands: dict[str, Hand],
    measures: Sequence[Measure],
) -> ScoreNote:
    sign = signs[head.note_id]
    tied = [*head.tied, *head.resumed]
    chain = [sign, *(signs[other.note_id] for other in tied)]
    duration = head.sounding_quarters
    return ScoreNote(
        note_id=head.note_id,
        onset_quarters=head.onset_quarters,
        duration_quarters=duration,
        pitch=head.pitch,
        staff=sign.staff,
        voice=sign.voice,
        measure_index=head.measure_index,
        measure_offset_quarters=head.onset_quarters - measures[head.measure_index].start_quarters,
        # a grace note that is tied to its main note is held: it counts as that note
        grace=sign.grace and not duration,
        ornament=next((item.ornament for item in chain if item.ornament), ""),
        hand=hands.get(head.note_id),
        spelling=sign.spelling,
        expected=any(not item.cue and not item.hidden for item in chain),
        arpeggiated=sign.arpeggiated,
        tied_ids=tuple(other.note_id for other in tied),
    )


def _without_hidden_doubles(
    notes: Iterable[ScoreNote], signs: dict[str, WrittenNote]
) -> list[ScoreNote]:
    """Leave out hidden notes where a visible note of the same pitch is struck or sounding."""
    by_pitch: dict[int, list[ScoreNote]] = defaultdict(list)
    everything = list(notes)
    for note in everything:
        if note.expected:
            by_pitch[note.pitch].append(note)

    def is_double(note: ScoreNote) -> bool:
        if note.expected or not signs[note.note_id].hidden:
            return False
        return any(
            other.onset_quarters <= note.onset_quarters
            and (
                other.onset_quarters == note.onset_quarters
                or note.onset_quarters < other.onset_quarters + other.duration_quarters
            )
            for other in by_pitch[note.pitch]
        )

    return [note for note in everything if not is_double(note)]


def _fermatas(
    written: Sequence[WrittenMeasure], measures: Sequence[Measure]
) -> tuple[Position, ...]:
    """Return the places of fermatas: the onset of the note, rest or bar line under the sign."""
    places = {
        Position(measure.index, offset) for measure in written for offset in measure.fermata_offsets
    }
    for measure in written:
        for line in measure.barlines:
            if line.fermata:
                length = measures[measure.index].duration_quarters
                places.add(Position(measure.index, Fraction(0) if line.left else length))
    return tuple(sorted(places))


def _fermata_ends(written: Sequence[WrittenMeasure], measures: Sequence[Measure]) -> list[Position]:
    """Return where the music goes on behind each fermata on a note."""
    ends: set[Position] = set()
    for measure in written:
        ends_at: dict[Fraction, Fraction] = {}
        for note in measure.notes:
            if note.fermata:
                end = note.offset_quarters + note.duration_quarters
                onset = note.offset_quarters
                ends_at[onset] = max(end, ends_at.get(onset, end))
        ends.update(normalised(Position(measure.index, end), measures) for end in ends_at.values())
    return sorted(ends)
