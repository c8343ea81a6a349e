"""The written notes on a grid of half quarters: what the network looks at.

Conventions
-----------
- A *frame* is half a quarter long, counted anew from each measure line; the last frame of a
  measure may be shorter.
- The second axis of all tables is the line of fifths, :data:`PLACES` places from
  :data:`LOWEST_PLACE` around the *reference*, the key signature that most of the piece has. Notes
  outside are respelled by twelve fifths. Transposing a piece moves the reference and leaves the
  tables as they are.
- Cue, hidden and grace notes are left out: they are not the harmony that is played.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import numpy.typing as npt

from companion.analysis.spelling import fifths_of_name, nearest_fifths
from companion.score.model import Measure, Score, ScoreNote

Floats = npt.NDArray[np.float32]
Whole = npt.NDArray[np.int64]

FRAME_QUARTERS = Fraction(1, 2)
LOWEST_PLACE, PLACES = -13, 30

_REGISTERS = (48, 60, 72)  # lowest pitch of the second, third and fourth register
REGISTER_CHANNELS = len(_REGISTERS) + 1
ATTACK, LOWEST, HIGHEST, SIGNATURE, SIGNATURE_TONIC = range(4, 9)
METER_CHANNELS = 9  # the first of those that are the same at every place
(_MEASURE_LINE, _BEAT, _MIDDLE, _DENSITY, _SILENCE, _OFFSET, _MEASURE_LENGTH) = range(9, 16)
CHANNELS = 16
NO_PITCH = 1000

_TICKS = 96
_USUAL_MIDDLE = 63
_MOST_AT_ONCE = 1.5  # doublings of a note say little beyond this
_SPELLING_CENTRE = 2  # of a major scale, in fifths above its tonic


@dataclass(frozen=True, slots=True, kw_only=True)
class Frames:
    """A piece on the grid.

    Parameters
    ----------
    starts_quarters, ends_quarters
        Exact borders of each frame.
    measure_indices
        The measure of each frame.
    reference_fifths
        The key signature that place 0 of the line of fifths stands for.
    table
        What sounds, shape (frames, PLACES, CHANNELS).
    lowest_pitches, lowest_places
        The lowest note of each frame and its place; :data:`NO_PITCH` where nothing sounds.
    """

    starts_quarters: tuple[Fraction, ...]
    ends_quarters: tuple[Fraction, ...]
    measure_indices: Whole
    reference_fifths: int
    table: Floats
    lowest_pitches: Whole
    lowest_places: Whole

    def __len__(self) -> int:
        return len(self.starts_quarters)


def folded_place(fifths: int, reference_fifths: int) -> int:
    """Index on the table's line of fifths, respelled by twelve fifths where it lies outside."""
    place = fifths - reference_fifths - LOWEST_PLACE
    while place < 0:
        place += 12
    while place >= PLACES:
        place -= 12
    return place


def frames_of(score: Score) -> Frames:
    """Lay a score on the grid; a score without measures gives no frames."""
    starts, ends, owners = _grid(score.measures)
    reference = _reference(score.measures)
    table = np.zeros((len(starts), PLACES, CHANNELS), dtype=np.float32)
    lowest = np.full(len(starts), NO_PITCH)
    lowest_places = np.zeros(len(starts), dtype=np.int64)
    if starts:
        edges = np.array([*map(float, starts), float(ends[-1])])
        _write_meter(table, score.measures, starts, owners)
        _write_signatures(table, score.measures, owners, reference)
        notes = [note for note in score.notes if note.expected and not note.grace]
        lowest, lowest_places = _write_notes(table, notes, score.measures, edges, reference)
    return Frames(
        starts_quarters=starts,
        ends_quarters=ends,
        measure_indices=owners,
        reference_fifths=reference,
        table=table,
        lowest_pitches=lowest,
        lowest_places=lowest_places,
    )


def _grid(
    measures: tuple[Measure, ...],
) -> tuple[tuple[Fraction, ...], tuple[Fraction, ...], Whole]:
    starts: list[Fraction] = []
    ends: list[Fraction] = []
    owners: list[int] = []
    for measure in measures:
        place = measure.start_quarters
        while place < measure.end_quarters:
            following = min(place + FRAME_QUARTERS, measure.end_quarters)
            starts.append(place)
            ends.append(following)
            owners.append(measure.index)
            place = following
    return tuple(starts), tuple(ends), np.array(owners, dtype=np.int64)


def _reference(measures: tuple[Measure, ...]) -> int:
    lengths: Counter[int] = Counter()
    for measure in measures:
        lengths[measure.key_fifths] += int(measure.duration_quarters * 48)
    return max(lengths, key=lambda fifths: lengths[fifths]) if lengths else 0


def _write_meter(
    table: Floats, measures: tuple[Measure, ...], starts: tuple[Fraction, ...], owners: Whole
) -> None:
    """Metrical places, in whole 96ths of a quarter so that plain integers do."""
    start = np.array([round(quarters * _TICKS) for quarters in starts])
    line = np.array([round(m.start_quarters * _TICKS) for m in measures])[owners]
    whole_of = np.array([4 * _TICKS * m.beats // m.beat_type for m in measures])
    beat = np.array([max(1, round(m.beat_quarters * _TICKS)) for m in measures])[owners]
    upbeat = max(0, int(whole_of[0]) - round(measures[0].duration_quarters * _TICKS))
    whole = whole_of[owners]
    offset = start - line + np.where(owners == 0, upbeat, 0)
    table[:, :, _MEASURE_LINE] = (offset == 0)[:, None]
    table[:, :, _BEAT] = (offset % beat == 0)[:, None]
    table[:, :, _MIDDLE] = (offset * 2 == whole)[:, None]
    table[:, :, _OFFSET] = (offset / (4 * _TICKS))[:, None]
    table[:, :, _MEASURE_LENGTH] = (whole / (4 * _TICKS))[:, None]


def _write_signatures(
    table: Floats, measures: tuple[Measure, ...], owners: Whole, reference: int
) -> None:
    signatures = np.array([measures[owner].key_fifths for owner in owners.tolist()])
    for fifths in set(signatures.tolist()):
        rows = np.flatnonzero(signatures == fifths)
        for step in range(-1, 6):  # the seven notes of the major scale
            table[rows, folded_place(fifths + step, reference), SIGNATURE] = 1
        table[rows, folded_place(fifths, reference), SIGNATURE_TONIC] = 1


def note_fifths(note: ScoreNote, signature_fifths: int) -> int:
    """The place of a note on the line of fifths, guessed from its key signature if unspelled."""
    if note.spelling:
        return fifths_of_name(note.spelling)
    return nearest_fifths(note.pitch, signature_fifths + _SPELLING_CENTRE)


def _write_notes(
    table: Floats,
    notes: list[ScoreNote],
    measures: tuple[Measure, ...],
    edges: npt.NDArray[np.float64],
    reference: int,
) -> tuple[Whole, Whole]:
    if not notes:
        table[:, :, _SILENCE] = 1
        return np.full(len(table), NO_PITCH), np.zeros(len(table), dtype=np.int64)
    begin = np.array([float(note.onset_quarters) for note in notes])
    end = begin + np.array([float(note.duration_quarters) for note in notes])
    pitch = np.array([note.pitch for note in notes])
    place = np.array(
        [
            folded_place(note_fifths(note, measures[note.measure_index].key_fifths), reference)
            for note in notes
        ]
    )
    tolerance = 1e-6
    last = len(edges) - 2
    first_frame = np.clip(np.searchsorted(edges, begin + tolerance, "right") - 1, 0, last)
    last_frame = np.clip(np.searchsorted(edges, end - tolerance, "right") - 1, first_frame, last)
    counts = last_frame - first_frame + 1
    which = np.repeat(np.arange(len(notes)), counts)
    frame = np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts)
    frame = frame + first_frame[which]
    lengths = edges[1:] - edges[:-1]
    overlap = np.minimum(end[which], edges[frame + 1]) - np.maximum(begin[which], edges[frame])
    share = (np.clip(overlap, 0, None) / lengths[frame]).astype(np.float32)
    # seen from the middle of the piece, so that transposing it changes nothing
    middle = int(np.floor(np.median(pitch)))
    register = np.searchsorted(np.array(_REGISTERS) + middle - _USUAL_MIDDLE, pitch, "right")
    np.add.at(table, (frame, place[which], register[which]), share)
    np.minimum(table[:, :, :REGISTER_CHANNELS], _MOST_AT_ONCE, out=table[:, :, :REGISTER_CHANNELS])
    table[first_frame, place, ATTACK] = 1
    outer = _write_outer_voices(table, frame, pitch[which], place[which])
    attacks = np.bincount(first_frame, minlength=len(table)).astype(np.float32)
    table[:, :, _DENSITY] = np.log1p(attacks)[:, None]
    sounding = np.bincount(frame, minlength=len(table))
    table[:, :, _SILENCE] = (sounding == 0)[:, None]
    return outer


def _write_outer_voices(
    table: Floats, frame: Whole, pitch: Whole, place: Whole
) -> tuple[Whole, Whole]:
    lowest = np.full(len(table), NO_PITCH)
    highest = np.full(len(table), -1)
    np.minimum.at(lowest, frame, pitch)
    np.maximum.at(highest, frame, pitch)
    bass, top = pitch == lowest[frame], pitch == highest[frame]
    table[frame[bass], place[bass], LOWEST] = 1
    table[frame[top], place[top], HIGHEST] = 1
    lowest_places = np.zeros(len(table), dtype=np.int64)
    lowest_places[frame[bass]] = place[bass]
    return lowest, lowest_places
