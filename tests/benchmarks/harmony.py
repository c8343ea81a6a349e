"""How much of the harmony is named as analysts name it, and how long that takes.

    python -m tests.benchmarks.harmony [CASES]

Prints shares of time right, in percent. Without an argument: the twenty chorale analyses that the
music21 package carries (by Andrew Jones, proofread by Dmitri Tymoczko and Hamish Robb) and five of
its madrigal analyses; none of them was learnt from. Keys stand beside music21's own key analyser.
CASES is a folder of analysed pieces: ``cases/*.json`` with ``musicxml`` and ``spans`` (start, end,
key, degree, quality, inversion), scores beside it. Nothing is asserted.
"""

from __future__ import annotations

import json
import re
import sys
import time
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import music21

from companion.analysis.chords import MEMBERS, Chord, degree_of_fifths
from companion.analysis.harmony import Harmony, analyse_harmony
from companion.analysis.spelling import Key, fifths_of_name, pitch_class
from companion.score.model import Measure, Score, ScoreNote
from companion.score.reading.reader import read_score

STEP = Fraction(1, 4)
PARTS = ("key", "root", "degree", "quality", "inversion", "numeral")
CHORALES = range(1, 21)
MADRIGALS = range(1, 6)
OTHER_SETTING = (11, 14, 17)
"""Here the package's score is not the one that was analysed: two stand in another key than their
analysis, one in other measures. They are printed but not counted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """A key and chord, whoever named them."""

    key: Key
    degree: str
    quality: str
    inversion: int

    @property
    def root(self) -> int:
        return pitch_class(self.key.tonic_fifths + Chord(self.degree, self.quality).root_fifths)

    @property
    def sounding_key(self) -> tuple[int, str]:
        return pitch_class(self.key.tonic_fifths), self.key.mode

    def agreement(self, other: Named) -> dict[str, bool]:
        answer = {
            "key": self.sounding_key == other.sounding_key,
            "root": self.root == other.root,
            "degree": self.degree == other.degree,
            "quality": self.quality == other.quality,
            "inversion": self.inversion == other.inversion,
        }
        whole = answer["key"] and answer["degree"] and answer["quality"] and answer["inversion"]
        return answer | {"numeral": whole}


def ours_at(harmony: Harmony, quarters: Fraction) -> Named | None:
    span = harmony.span_at(quarters)
    if span is None:
        return None
    return Named(key=span.key, degree=span.degree, quality=span.quality, inversion=span.inversion)


def changes_f(theirs: list[float], ours: list[float], within: float = 1.0) -> float:
    """F measure of the places where the harmony changes, one to one in order."""
    i = j = hits = 0
    while i < len(theirs) and j < len(ours):
        if abs(theirs[i] - ours[j]) <= within:
            i, j, hits = i + 1, j + 1, hits + 1
        elif theirs[i] < ours[j]:
            i += 1
        else:
            j += 1
    return 2 * hits / (len(theirs) + len(ours)) if theirs or ours else 1.0


def percent(right: Counter[str], total: int) -> str:
    return "  ".join(f"{part} {100 * right[part] / max(1, total):.1f}" for part in PARTS)


# -- the chorales of music21 ---------------------------------------------------------------------


def score_of(stream: music21.stream.Score) -> Score:
    """All parts of a music21 score, as the program holds it."""
    measures: list[Measure] = []
    start, fifths, beats, beat_type = Fraction(0), 0, 4, 4
    for index, measure in enumerate(stream.parts[0].getElementsByClass("Measure")):
        if measure.keySignature is not None:
            fifths = measure.keySignature.sharps
        if measure.timeSignature is not None:
            beats = measure.timeSignature.numerator
            beat_type = measure.timeSignature.denominator
        length = Fraction(measure.highestTime)
        measures.append(
            Measure(
                index=index, number=str(measure.number), start_quarters=start,
                duration_quarters=length, beats=beats, beat_type=beat_type, key_fifths=fifths,
            )
        )  # fmt: skip
        start += length
    notes = []
    for staff, part in enumerate(stream.parts, 1):
        for index, measure in enumerate(part.getElementsByClass("Measure")):
            for note in measure.recurse().getElementsByClass("Note"):
                offset = Fraction(note.getOffsetInHierarchy(measure))
                notes.append(
                    ScoreNote(
                        note_id=str(len(notes)),
                        onset_quarters=measures[index].start_quarters + offset,
                        duration_quarters=Fraction(note.quarterLength),
                        pitch=note.pitch.midi,
                        staff=staff,
                        measure_index=index,
                        measure_offset_quarters=offset,
                        spelling=note.pitch.nameWithOctave.replace("-", "b"),
                    )
                )
    notes.sort(key=lambda note: (note.onset_quarters, note.pitch))
    return Score(title="", composer="", measures=tuple(measures), notes=tuple(notes))


def named_by(numeral: music21.roman.RomanNumeral) -> Named | None:
    """What a numeral of music21 means in our terms, None for chords outside our vocabulary."""
    tonic = fifths_of_name(numeral.key.tonic.name.replace("-", "b"))
    key = Key.from_name(numeral.key.tonicPitchNameWithCase.replace("-", "b"))
    inner = numeral.secondaryRomanNumeralKey or numeral.key
    inner_tonic = fifths_of_name(inner.tonic.name.replace("-", "b"))
    root = fifths_of_name(numeral.root().name.replace("-", "b"))
    steps = {fifths_of_name(p.name.replace("-", "b")) - root for p in numeral.pitches}
    quality = next((name for name, members in MEMBERS.items() if set(members) == steps), None)
    if quality is None:
        return None
    degree = degree_of_fifths(root - inner_tonic)
    if inner_tonic != tonic:
        degree += "/" + degree_of_fifths(inner_tonic - tonic)
    return Named(key=key, degree=degree, quality=quality, inversion=numeral.inversion())


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """An analysis of music21's corpus beside ours, in steps of :data:`STEP`."""

    agreed: Counter[str]
    total: int
    in_one_key: int


def beside(analysis: music21.stream.Score, stream: music21.stream.Score) -> Beside:
    score = score_of(stream)
    harmony = analyse_harmony(score)
    by_number = {measure.number: measure for measure in reversed(score.measures)}
    one_key = Key.from_name(stream.analyze("key").tonicPitchNameWithCase.replace("-", "b"))
    agreed: Counter[str] = Counter()
    total = in_one_key = 0
    for (label, offset, numeral), until in _numerals(analysis):
        measure = by_number.get(label)
        if measure is None:
            continue
        whole = Fraction(4 * measure.beats, measure.beat_type)
        shift = whole - measure.duration_quarters if measure.index == 0 else Fraction(0)
        theirs = named_by(numeral)
        for step in range(int((until - offset) / STEP)):
            place = offset + step * STEP - shift
            if not 0 <= place < measure.duration_quarters:
                continue
            total += 1
            in_one_key += theirs is not None and theirs.key == one_key
            ours = ours_at(harmony, measure.start_quarters + place)
            if ours is not None and theirs is not None:
                agreed.update(part for part, same in theirs.agreement(ours).items() if same)
    return Beside(agreed=agreed, total=total, in_one_key=in_one_key)


def chorales() -> None:
    counted = []
    for number in CHORALES:
        analysis = music21.corpus.parse(f"bach/choraleAnalyses/riemenschneider{number:03d}")
        bwv = re.search(r"BWV: *([\d.]+)", _romantext(number))
        if bwv is None:
            continue
        found = beside(analysis, music21.corpus.parse(f"bach/bwv{bwv[1]}"))
        print(f"  {number:>3} BWV {bwv[1]:<7} {percent(found.agreed, found.total)}")
        if number not in OTHER_SETTING:
            counted.append(found)
    _print_together("chorales of music21", counted)


def madrigals() -> None:
    counted = []
    for number in MADRIGALS:
        name = f"monteverdi/madrigal.3.{number}"
        found = beside(music21.corpus.parse(f"{name}.rntxt"), music21.corpus.parse(f"{name}.mxl"))
        print(f"  Monteverdi, third book, {number:<3} {percent(found.agreed, found.total)}")
        counted.append(found)
    _print_together("madrigals of music21", counted)


def _print_together(name: str, counted: list[Beside]) -> None:
    right: Counter[str] = Counter()
    for each in counted:
        right += each.agreed
    total = sum(each.total for each in counted)
    one_key = sum(each.in_one_key for each in counted)
    print(f"{name}, {total * float(STEP):.0f} quarters: {percent(right, total)}")
    print(
        f"  reference: one key for each piece, found by music21's analyser: "
        f"key {100 * one_key / max(1, total):.1f}"
    )


def _romantext(number: int) -> str:
    folder = Path(music21.__file__).parent / "corpus" / "bach" / "choraleAnalyses"
    return (folder / f"riemenschneider{number:03d}.rntxt").read_text(encoding="utf-8")


def _numerals(
    analysis: music21.stream.Score,
) -> Iterable[tuple[tuple[str, Fraction, music21.roman.RomanNumeral], Fraction]]:
    """Numerals by measure number and offset in the full measure, with where each ends in it."""
    carried = None
    for measure in analysis.parts[0].getElementsByClass("Measure"):
        padding = Fraction(measure.paddingLeft)
        inside = [
            (padding + Fraction(numeral.getOffsetInHierarchy(measure)), numeral)
            for numeral in measure.recurse().getElementsByClass("RomanNumeral")
        ]
        length = Fraction(measure.barDuration.quarterLength)
        if carried is not None and (not inside or inside[0][0] > padding):
            inside.insert(0, (padding, carried))
        ends = [*(offset for offset, _ in inside[1:]), length]
        for (offset, numeral), end in zip(inside, ends, strict=True):
            yield (str(measure.number), offset, numeral), end
            carried = numeral


# -- a folder of analysed pieces -----------------------------------------------------------------


def cases(folder: Path) -> None:
    right: Counter[str] = Counter()
    total, f_of_changes = 0, []
    for path in sorted((folder / "cases").glob("*.json")):
        case = json.loads(path.read_text(encoding="utf-8"))
        score = read_score(folder / case["musicxml"])
        begun = time.process_time()
        harmony = analyse_harmony(score)
        took = time.process_time() - begun
        agreed: Counter[str] = Counter()
        here = 0
        for span in case["spans"]:
            theirs = Named(
                key=Key.from_name(span["key"]),
                degree=span["degree"],
                quality=span["quality"],
                inversion=span["inversion"],
            )
            place = Fraction(span["start"]).limit_denominator(96)
            while place < Fraction(span["end"]):
                here += 1
                ours = ours_at(harmony, place + STEP / 2)
                if ours is not None:
                    agreed.update(part for part, same in theirs.agreement(ours).items() if same)
                place += STEP
        f_of_changes.append(
            changes_f(
                [span["start"] for span in case["spans"][1:]],
                [float(span.start_quarters) for span in harmony.spans[1:]],
            )
        )
        print(f"  {case['id']:<44} {percent(agreed, here)}  {took:.2f} s")
        right += agreed
        total += here
    mean_f = 100 * sum(f_of_changes) / len(f_of_changes)
    print(f"{folder}, {total * float(STEP):.0f} quarters: {percent(right, total)}")
    print(f"changes within a quarter, mean of pieces: F {mean_f:.1f}")


def long_movement() -> None:
    """Processor time for the first chorale over and over, 1,200 quarters of it."""
    once = score_of(music21.corpus.parse("bach/bwv269"))
    copies = -(-1200 // int(once.end_quarters))
    measures, notes = [], []
    for copy in range(copies):
        moved = copy * once.end_quarters
        first = copy * len(once.measures)
        measures += [
            replace(m, index=m.index + first, start_quarters=m.start_quarters + moved)
            for m in once.measures
        ]
        notes += [
            replace(
                n, onset_quarters=n.onset_quarters + moved, measure_index=n.measure_index + first
            )
            for n in once.notes
        ]
    score = replace(once, measures=tuple(measures), notes=tuple(notes))
    analyse_harmony(once)  # the model is read once
    begun, clock = time.process_time(), time.perf_counter()
    analyse_harmony(score)
    print(
        f"{float(score.end_quarters):.0f} quarters: {time.process_time() - begun:.2f} s of "
        f"processor time, {time.perf_counter() - clock:.2f} s by the clock"
    )


def main() -> None:
    """Print the figures."""
    long_movement()
    if len(sys.argv) > 1:
        cases(Path(sys.argv[1]))
    else:
        chorales()
        madrigals()


if __name__ == "__main__":
    main()
