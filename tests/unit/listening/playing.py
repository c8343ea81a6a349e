"""Invented music and exact performances of it, for the tests of the measures."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from companion.listening.notes import (
    Beginning,
    Hands,
    HeardNote,
    JudgedNote,
    Match,
    MissedNote,
    Passage,
    Verdict,
)
from companion.score.model import Hand, Measure, Position, Score, ScoreNote
from companion.score.sections.section_map import Section, SectionMap

UPPER = (72, 74, 76, 77, 79, 77, 76, 74)


def invented_score(measures: int = 8, **changes: object) -> Score:
    """4/4: eighths in the right hand over quarters in the left."""
    notes = []
    for measure in range(measures):
        notes.extend(
            note(f"r{measure}.{place}", measure, Fraction(place, 2), Fraction(1, 2), pitch, 1)
            for place, pitch in enumerate(UPPER)
        )
        notes.extend(
            note(f"l{measure}.{place}", measure, Fraction(place), Fraction(1), 48 + place, 2)
            for place in range(4)
        )
    return score_of(notes, measures, **changes)


def score_of(notes: list[ScoreNote], measures: int, **changes: object) -> Score:
    notes = sorted(notes, key=lambda n: (n.onset_quarters, not n.grace, n.pitch))
    return Score(
        title="Made up",
        composer="",
        measures=tuple(
            Measure(
                index=k,
                number=str(k + 1),
                start_quarters=Fraction(4 * k),
                duration_quarters=Fraction(4),
            )
            for k in range(measures)
        ),
        notes=tuple(notes),
        **changes,
    )


def note(note_id, measure, offset, duration, pitch, staff, **more) -> ScoreNote:
    return ScoreNote(
        note_id,
        4 * measure + Fraction(offset),
        Fraction(duration),
        pitch,
        staff,
        1 if staff == 1 else 5,
        measure,
        Fraction(offset),
        **more,
    )


def map_of(score: Score, *starts: int) -> SectionMap:
    """Top-level sections that begin at the given measure indices, named A, B, C ..."""
    ends = [*starts[1:], len(score.measures)]
    return SectionMap(
        sections=tuple(
            Section(
                section_id=chr(ord("a") + k),
                name=chr(ord("A") + k),
                start=Position(start),
                end=Position(end),
            )
            for k, (start, end) in enumerate(zip(starts, ends, strict=True))
        )
    )


class Performance:
    """Plays stretches of a score exactly and keeps the true match beside it."""

    def __init__(self, score: Score, quarter_seconds: float = 0.5) -> None:
        self.score = score
        self.quarter_seconds = quarter_seconds
        self.now = 0.0
        self.heard: list[HeardNote] = []
        self.judged: list[JudgedNote] = []
        self.missed: list[MissedNote] = []
        self.passages: list[Passage] = []

    def play(
        self,
        from_quarters: float = 0,
        to_quarters: float = 10_000,
        *,
        began_with: Beginning | None = None,
        hands: Hands = Hands.BOTH,
        miss: tuple[str, ...] = (),
        wrong: tuple[str, ...] = (),
        added_after: tuple[str, ...] = (),
        ornament: tuple[str, ...] = (),
        late: dict[str, float] | None = None,
        wait: dict[float, float] | None = None,
        shift=lambda note: 0.0,
        warp=lambda quarters: quarters,
        velocity=lambda note: 64,
    ) -> Performance:
        """Play the notes with ``from_quarters <= onset < to_quarters``.

        ``wait`` holds seconds of silence before an onset; ``shift`` moves single notes; ``warp``
        maps quarters to warped quarters.
        """
        number = len(self.passages)
        chosen = [
            (k, n)
            for k, n in enumerate(self.score.notes)
            if from_quarters <= n.onset_quarters < to_quarters
            and (hands is Hands.BOTH or (n.playing_hand is Hand.RIGHT) == (hands is Hands.RIGHT))
        ]
        first_played, begin = len(self.heard), self.now
        waited: dict[float, float] = {}
        delay = 0.0
        for onset in sorted({float(n.onset_quarters) for _, n in chosen}):
            delay += (wait or {}).get(onset, 0.0)
            waited[onset] = delay
        for k, n in chosen:
            onset = float(n.onset_quarters)
            seconds = begin + self.quarter_seconds * (warp(onset) - warp(float(from_quarters)))
            seconds += waited[onset] + shift(n) + (late or {}).get(n.note_id, 0.0)
            if n.note_id in miss:
                self.missed.append(
                    MissedNote(
                        score_index=k,
                        note_id=n.note_id,
                        measure_index=n.measure_index,
                        offset_quarters=n.measure_offset_quarters,
                        pitch=n.pitch,
                        passage=number,
                        before_played=len(self.heard),
                    )
                )
                continue
            verdict = Verdict.WRONG if n.note_id in wrong else Verdict.RIGHT
            if n.note_id in ornament:
                verdict = Verdict.ORNAMENT
            self._strike(k, n, seconds, verdict, number, velocity(n))
            if n.note_id in added_after:
                self._strike(None, n, seconds + 0.01, Verdict.ADDED, number, 20)
        last = chosen[-1][1]
        self.now = (
            begin
            + waited[float(last.onset_quarters)]
            + self.quarter_seconds * (warp(float(last.onset_quarters)) - warp(float(from_quarters)))
            + self.quarter_seconds * float(last.duration_quarters)
        )
        self.passages.append(
            Passage(
                index=number,
                first_played=first_played,
                last_played=len(self.heard) - 1,
                from_quarters=Fraction(chosen[0][1].onset_quarters),
                to_quarters=Fraction(last.onset_quarters),
                from_measure_index=chosen[0][1].measure_index,
                to_measure_index=last.measure_index,
                hands=hands,
                began_with=began_with or (Beginning.START if not number else Beginning.RESTART),
            )
        )
        return self

    def pause(self, seconds: float) -> Performance:
        self.now += seconds
        return self

    def _strike(self, k, n, seconds, verdict, passage, velocity) -> None:
        pitch = n.pitch + (1 if verdict in (Verdict.WRONG, Verdict.ADDED) else 0)
        written = k is not None
        self.heard.append(HeardNote(seconds, 0.2, pitch, velocity))
        self.judged.append(
            JudgedNote(
                played=-1,
                onset_seconds=seconds,
                pitch=pitch,
                verdict=verdict,
                passage=passage,
                score_index=k,
                note_id=n.note_id if written else None,
                measure_index=n.measure_index if written else None,
                offset_quarters=n.measure_offset_quarters if written else None,
                expected_pitch=n.pitch if written else None,
            )
        )

    def finished(self) -> tuple[tuple[HeardNote, ...], Match]:
        """The heard notes and their true match, sorted by time."""
        order = sorted(range(len(self.heard)), key=lambda k: self.heard[k].onset_seconds)
        return (
            tuple(self.heard[k] for k in order),
            Match(
                notes=tuple(replace(self.judged[k], played=p) for p, k in enumerate(order)),
                missed=tuple(self.missed),
                passages=tuple(self.passages),
            ),
        )
