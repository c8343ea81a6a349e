"""Compare a finished take with the score: the door to the matcher.

The take is cut into passes (:mod:`companion.listening.matching.passes`), the notes of each pass are
judged one by one (:mod:`companion.listening.matching.assignment`), and the result is told in the
words of :mod:`companion.listening.notes`.
"""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

import numpy as np

from companion.listening.decoding.score_onsets import CHAIN_HANDS, lay_out_onsets
from companion.listening.matching.assignment import assign
from companion.listening.matching.passes import find_passes
from companion.listening.notes import (
    Beginning,
    HeardNote,
    JudgedNote,
    Match,
    MissedNote,
    Passage,
    Verdict,
)
from companion.processes.collector import collector_off
from companion.score.model import ScoreNote

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from companion.listening.matching.passes import Pass

__all__ = ["HeardNote", "Match", "ScoreNote", "match_take"]


# The way back through a take is kept as hundreds of thousands of small values, none of them in a
# cycle; to look through them for garbage again and again took a quarter of the time.
@collector_off()
def match_take(
    score_notes: Sequence[ScoreNote],
    heard_notes: Sequence[HeardNote],
    *,
    playing_order: Sequence[int] | None = None,
) -> Match:
    """Judge every played and every missed note of a take.

    Parameters
    ----------
    score_notes
        The written notes, in any order; ``score_index`` in the result is a place in this sequence.
    heard_notes
        The played notes; ``played`` in the result is a place in this sequence sorted by onset.
    playing_order
        Measure indices in the order of playing (``Score.playing_order``); None as printed. Who
        follows a repeat or a D.C. has not jumped: the next passage ``GOES_ON``, from the first
        written note behind the leap, and what is missed before or behind it is told. Leaving a
        repeat out is right too.

    Returns
    -------
    Match
        One :class:`JudgedNote` per played note in order of time, the missed notes, the passages.
    """
    notes = sorted(heard_notes, key=lambda note: note.onset_seconds)
    onsets = lay_out_onsets(score_notes, playing_order)
    judged: list[JudgedNote] = []
    missed: list[MissedNote] = []
    passages: list[Passage] = []
    passes = find_passes(onsets, notes)
    for index, passage in enumerate(passes):
        result = assign(onsets, passage, notes)
        from_note = score_notes[onsets.notes_at[passage.lowest][0]]
        to_note = score_notes[onsets.notes_at[passage.highest][0]]
        passages.append(
            Passage(
                index=index,
                first_played=passage.first,
                last_played=passage.last,
                from_quarters=_exact(from_note.onset_quarters),
                to_quarters=_exact(to_note.onset_quarters),
                from_measure_index=int(from_note.measure_index),
                to_measure_index=int(to_note.measure_index),
                hands=CHAIN_HANDS[passage.chain],
                began_with=_beginning(index, passes, onsets.state_quarters),
            )
        )
        when_played = onsets.state_quarters[passage.states]
        for offset, (written, adorned) in enumerate(zip(result.note, result.adorns, strict=True)):
            played = passage.first + offset
            if written >= 0:
                verdict = Verdict.WRONG if result.wrong[offset] else Verdict.RIGHT
            else:
                verdict = Verdict.ORNAMENT if adorned >= 0 else Verdict.ADDED
            stands_for = int(max(written, adorned))
            judged.append(_judge(played, notes[played], verdict, index, stands_for, score_notes))
        for written in result.missed.tolist():
            note = score_notes[written]
            later = np.flatnonzero(when_played > float(note.onset_quarters) + 1e-4)
            before = passage.first + int(later[0]) if len(later) else passage.last + 1
            missed.append(
                MissedNote(
                    score_index=written,
                    note_id=note.note_id,
                    measure_index=int(note.measure_index),
                    offset_quarters=_exact(note.measure_offset_quarters),
                    pitch=int(note.pitch),
                    passage=index,
                    before_played=before,
                )
            )
    covered = {note.played for note in judged}
    judged += [
        _judge(played, notes[played], Verdict.ADDED, 0, -1, score_notes)
        for played in range(len(notes))
        if played not in covered
    ]
    judged.sort(key=lambda note: note.played)
    return Match(notes=tuple(judged), missed=tuple(missed), passages=tuple(passages))


def _judge(
    played: int,
    heard: HeardNote,
    verdict: Verdict,
    passage: int,
    written: int,
    score_notes: Sequence[ScoreNote],
) -> JudgedNote:
    if written < 0:
        return JudgedNote(
            played=played,
            onset_seconds=heard.onset_seconds,
            pitch=heard.pitch,
            verdict=verdict,
            passage=passage,
        )
    note = score_notes[written]
    return JudgedNote(
        played=played,
        onset_seconds=heard.onset_seconds,
        pitch=heard.pitch,
        verdict=verdict,
        passage=passage,
        score_index=written,
        note_id=note.note_id,
        measure_index=int(note.measure_index),
        offset_quarters=_exact(note.measure_offset_quarters),
        expected_pitch=int(note.pitch),
    )


def _beginning(index: int, passes: list[Pass], quarters: NDArray[np.float64]) -> Beginning:
    if index == 0:
        return Beginning.START
    if passes[index].goes_on:
        return Beginning.GOES_ON
    landed = float(quarters[passes[index].states[0]])
    left = float(quarters[passes[index - 1].states[-1]])
    return Beginning.RESTART if landed <= left else Beginning.JUMP


def _exact(quarters: Fraction | float) -> Fraction:
    if isinstance(quarters, Fraction):
        return quarters
    return Fraction(quarters).limit_denominator(10080)
