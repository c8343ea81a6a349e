"""What prepares the fingers: how long grouping, fingering, workload and tasks take, how they do.

    python -m tests.benchmarks.preparation [SCORE ...]

Prints, and asserts nothing:

1. Time for the sample scores and for a score of 10,000 notes made of them, each beside the time
   that ``index_score`` takes to lay the score out for the listener, as a reference.
2. Fingering: the share of the taught fingers of scales (common practice) and of printed fingers
   that the suggestion repeats, for all forms of the model, beside the share that always naming the
   commonest finger would reach. Printed fingers are those of the polonaises of Clara Schumann in
   music21's corpus, of the sample scores (demo data), and of any SCORE given. Few and from one
   edition: they tell the forms apart, not how good a form is.
3. Drills: how many tries the listener tells apart, played exactly (but for 12 ms of unevenness)
   and with one note in eight left out or wrong; seeded simulation (demo data).
4. Workload: Spearman's rank correlation of our order of sections with their mere density of notes;
   and of our figure for whole pieces with the order in which the sample scores were composed to be
   harder (demo data). No set of graded scores is carried by the package registries; a folder with
   one can be given as ``GRADED=folder`` in the environment: files named "GRADE_anything".
"""

from __future__ import annotations

import os
import random
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from pathlib import Path

import music21
from scipy.stats import spearmanr

from companion.analysis.fingering.printed import printed_fingers
from companion.analysis.fingering.rules import FingeredHand, Model
from companion.analysis.fingering.suggest import Suggestion, finger_score, suggest_fingers
from companion.analysis.grouping.drills import Drill, drills_of_group
from companion.analysis.grouping.model import Way
from companion.analysis.grouping.proposal import propose_grouping
from companion.analysis.tasks.proposal import propose_tasks
from companion.analysis.workload.estimate import estimate_workload
from companion.analysis.workload.shares import typical_shares
from companion.listening.measuring.score_index import index_score
from companion.listening.notes import HeardNote
from companion.practice.drills import hear_drill
from companion.resources import sample_scores_folder
from companion.score.model import Hand, Score
from companion.score.reading.reader import read_score
from companion.score.sections.proposal import propose_sections
from tests.unit.analysis.running_notes import hand_of, score_with

LONG = 10_000
AS_COMPOSED = (
    "the_footbridge",
    "minuet_and_trio_in_d_major",
    "invention_in_e_minor",
    "waltz_at_the_ferry",
    "study_in_d_minor",
)
"""From easy to hard, as the composer of the demo data meant them."""


def main() -> None:
    """Print the figures."""
    samples = [read_score(path) for path in sorted(sample_scores_folder().glob("*.musicxml"))]
    _times([*samples, _long_score(samples)])
    corpus = Path(music21.__file__).parent / "corpus" / "schumann_clara"
    given = [Path(name) for name in sys.argv[1:]]
    _fingers([*sorted(corpus.glob("polonaise*.mxl")), *given], "printed, real editions")
    _fingers(sorted(sample_scores_folder().glob("*.musicxml")), "printed, demo data")
    _scales()
    _tries()
    _orders(samples)


SCALES = (
    # first key and fingers of the major scales over two octaves (common practice)
    *((Hand.RIGHT, key, "123123412312345") for key in (60, 55, 62, 57, 52, 59)),
    (Hand.RIGHT, 53, "123412312341234"),
    (Hand.RIGHT, 58, "412312341231234"),
    (Hand.RIGHT, 63, "312341231234123"),
    (Hand.RIGHT, 56, "341231234123123"),
    (Hand.RIGHT, 61, "231234123123412"),
    (Hand.RIGHT, 54, "234123123412312"),
    *((Hand.LEFT, key, "543213214321321") for key in (48, 43, 50, 45, 40, 41)),
    *((Hand.LEFT, key, "321432132143213") for key in (46, 51, 44)),
)
_MAJOR = (0, 2, 4, 5, 7, 9, 11)


def _scales() -> None:
    print(f"\nfingers taught for major scales over two octaves: {15 * len(SCALES)}")
    for model in Model:
        whole = same = 0
        for hand, key, taught in SCALES:
            pitches = [key + 12 * (k // 7) + _MAJOR[k % 7] for k in range(15)]
            notes = hand_of(pitches, staff=1 if hand is Hand.RIGHT else 2)
            found = suggest_fingers(notes, hand, asked=FingeredHand(model=model), count=1)[0]
            figures = found.in_figures.replace(" ", "")
            same += sum(a == b for a, b in zip(figures, taught, strict=True))
            whole += figures == taught
        share = 100 * same / (15 * len(SCALES))
        print(f"  {model.value}: {share:.0f} % the same, {whole} of {len(SCALES)} scales whole")


DRILLED = (
    (60, 62, 64, 65, 67, 69, 71, 72, 74, 72, 71, 69, 67, 65, 64, 62, 60),
    (60, 64) * 8 + (60,),
    (72, 67, 64, 60) * 4 + (72,),
    (60,) * 17,
)


def _tries() -> None:
    for title, slips in (("exact", 0.0), ("with slips", 0.06)):
        dice = random.Random(3)
        takes = told = complete = played = 0
        for pitches in DRILLED:
            score = score_with(hand_of(pitches))
            grouping = propose_grouping(score)
            for drill in drills_of_group(score, grouping, grouping.groups[1]):
                for tries in (1, 2, 3, 5):
                    result = hear_drill(drill, _playing(drill, tries, slips, dice))
                    takes += 1
                    told += len(result.tries) == tries
                    complete += len(result.complete)
                    played += tries
        print(f"\ndrills {title}: right number of tries in {told} of {takes} takes, ", end="")
        print(f"{complete} of {played} tries told as complete")


def _playing(drill: Drill, tries: int, slips: float, dice: random.Random) -> list[HeardNote]:
    heard, start = [], 0.0
    pitches = {note.note_id: note.pitch for note in drill.notes}
    for _ in range(tries):
        for number, step in enumerate(drill.steps):
            at_edge = number in (0, len(drill.steps) - 1)
            if not at_edge and dice.random() < slips:
                continue
            off = dice.choice((-1, 1, 2)) if dice.random() < slips else 0
            onset = start + 0.6 * float(step.onset_quarters) + dice.gauss(0.0, 0.012)
            heard += [HeardNote(onset, 0.1, pitches[note_id] + off) for note_id in step.note_ids]
        start += 0.6 * float(drill.steps[-1].onset_quarters) + 1.5
    return heard


def _times(scores: Sequence[Score]) -> None:
    print("seconds of processor time; every row with empty caches of its own score")
    print(f"{'':34}{'notes':>7}{'index':>7}{'lead':>7}{'pattern':>8}{'fingers':>8}", end="")
    print(f"{'work':>7}{'tasks':>7}")
    for score in scores:
        section_map = propose_sections(score)
        fingering: list[Suggestion] = []

        def finger(score: Score = score, found: list[Suggestion] = fingering) -> None:
            found += finger_score(score, grouping=propose_grouping(score))

        jobs: list[Callable[[], object]] = [
            lambda score=score: index_score(score),
            lambda score=score: propose_grouping(score),
            lambda score=score: propose_grouping(score, Way.PATTERN),
            finger,
            lambda score=score, section_map=section_map, fingering=fingering: estimate_workload(
                score, section_map, fingering=fingering
            ),
            lambda score=score, section_map=section_map: propose_tasks(score, section_map),
        ]
        took = [_seconds(job) for job in jobs]
        print(f"{score.title[:33]:34}{len(score.notes):7}", end="")
        print("".join(f"{t:{w}.2f}" for t, w in zip(took, (7, 7, 8, 8, 7, 7), strict=True)))


def _seconds(work: Callable[[], object]) -> float:
    begun = time.process_time()
    work()
    return time.process_time() - begun


def _long_score(scores: Sequence[Score]) -> Score:
    """The sample scores one behind the other, and again, up to 10,000 notes."""
    measures, notes = [], []
    shift_up = 0
    while len(notes) < LONG:
        for score in scores:
            first, start = len(measures), measures[-1].end_quarters if measures else 0
            measures += [
                replace(
                    measure,
                    index=first + measure.index,
                    start_quarters=start + measure.start_quarters,
                )
                for measure in score.measures
            ]
            notes += [
                replace(
                    note,
                    note_id=f"{first}.{note.note_id}",
                    onset_quarters=start + note.onset_quarters,
                    pitch=note.pitch + shift_up,
                    measure_index=first + note.measure_index,
                )
                for note in score.notes
            ]
        shift_up += 1  # other keys: nothing is answered from what was worked out before
    return replace(
        scores[0],
        title="all of them again and again",
        measures=tuple(measures),
        notes=tuple(notes),
        tempo_marks=(),
        cues=(),
        fermatas=(),
        playing_order=tuple(range(len(measures))),
    )


def _fingers(paths: Iterable[Path], title: str) -> None:
    forms = {model: [0, 0] for model in Model}
    within = dict.fromkeys(Model, 0)
    commonest: Counter[int] = Counter()
    for path in paths:
        score = read_score(path)
        printed = printed_fingers(score)
        commonest.update(printed.values())
        for model in Model:
            asked = FingeredHand(model=model)
            hands = finger_score(score, right=asked, left=asked)
            suggested = {note_id: finger for hand in hands for note_id, finger in hand.fingers}
            same = [suggested.get(note_id) == finger for note_id, finger in printed.items()]
            near = [abs(suggested.get(k, 9) - finger) <= 1 for k, finger in printed.items()]
            forms[model][0] += sum(same)
            forms[model][1] += len(same)
            within[model] += sum(near)
    print(f"\nfingers {title}: {commonest.total()}")
    if not commonest:
        return
    top = commonest.most_common(1)[0][1]
    print(f"  always the commonest finger: {100 * top / commonest.total():.0f} %")
    for model, (same, count) in forms.items():
        near = 100 * within[model] / count
        print(f"  {model.value}: {100 * same / count:.0f} % the same, {near:.0f} % within one")


def _orders(scores: Sequence[Score]) -> None:
    print("\nsections: Spearman of our difficulty with notes a second")
    figures = {}
    for score in scores:
        section_map = propose_sections(score)
        workload = estimate_workload(score, section_map)
        leaves = {section.section_id for section in section_map.leaves}
        inner = [s for s in workload.sections if s.section_id in leaves]
        density = [s.features.notes / s.features.seconds for s in inner]
        rho = spearmanr([s.difficulty for s in inner], density).statistic if len(inner) > 2 else 1.0
        print(f"  {score.title[:33]:34} {rho:5.2f}  ({len(inner)} sections)")
        figures[score.title] = _figures(score)
    by_file = {
        name: _figures(read_score(sample_scores_folder() / f"{name}.musicxml"))
        for name in AS_COMPOSED
    }
    _compare("samples as composed (demo data)", list(range(len(by_file))), list(by_file.values()))
    graded = os.environ.get("GRADED")
    if graded:
        paths = sorted(path for path in Path(graded).iterdir() if "_" in path.name)
        grades = [float(path.name.partition("_")[0]) for path in paths]
        _compare(f"graded pieces in {graded}", grades, [_figures(read_score(p)) for p in paths])
    else:
        print("no graded scores given: see GRADED in the head of this file")


def _figures(score: Score) -> tuple[float, float]:
    """Our difficulty of a whole piece, and its notes a second."""
    workload = estimate_workload(score, propose_sections(score))
    typical = typical_shares([(m.shares, m.notes) for m in workload.measures])
    piece = workload.piece
    return typical.difficulty, piece.notes / piece.seconds if piece and piece.seconds else 0.0


def _compare(title: str, grades: Sequence[float], figures: Sequence[tuple[float, float]]) -> None:
    ours = spearmanr(grades, [figure for figure, _ in figures]).statistic
    plain = spearmanr(grades, [density for _, density in figures]).statistic
    print(f"{title}: Spearman of our figure {ours:.2f}, of notes a second {plain:.2f}")


if __name__ == "__main__":
    main()
