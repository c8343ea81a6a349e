"""What speaks for a section to begin at each measure: signs, returns, points of rest.

Weights are on one scale: a border pays where together they come to more than
:data:`companion.analysis.form.division.BORDER_COST`. They were set by hand, by what musicians hold
to be clear or doubtful signs, and checked on analysed sonatas; there is too little openly licensed
material with sections to learn them.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from companion.analysis.form.claims import Claim
from companion.analysis.form.rest_points import RestPoint
from companion.score.model import CueKind, Position, Score
from companion.score.sections.borders import Border, find_borders, measures_into, upbeat_before

_PRINTED = {
    CueKind.HEADING: 8.0,
    CueKind.FINE: 8.0,
    CueKind.REHEARSAL_MARK: 6.0,
    CueKind.CODA: 4.0,
    CueKind.REPEAT_START: 4.0,
    CueKind.REPEAT_END: 4.0,
    CueKind.DOUBLE_BAR: 2.5,
    CueKind.KEY_CHANGE: 2.5,
    CueKind.METER_CHANGE: 1.5,
    CueKind.TEMPO_CHANGE: 2.5,
    CueKind.SEGNO: 1.0,
}
_REPEATS = {CueKind.REPEAT_START, CueKind.REPEAT_END}

_REST, _NO_REST = 2.0, 0.5
_FURTHER_CLAIMS = 0.3


@dataclass(slots=True)
class Evidence:
    """What speaks for one measure line, while it is collected.

    Parameters
    ----------
    weight
        All of it.
    reasons
        In words, with their weights.
    border
        The printed signs that stand there, None for none.
    """

    weight: float = 0.0
    reasons: list[tuple[float, str]] = field(default_factory=list)
    border: Border | None = None

    def add(self, weight: float, reason: str) -> None:
        """One more reason."""
        self.weight += weight
        self.reasons.append((weight, reason))

    @property
    def why(self) -> str:
        """The reasons in words, the strongest first."""
        ordered = sorted(self.reasons, key=lambda reason: -reason[0])
        # several claims of one kind differ in their measures only: the strongest is told
        told = {words.partition(" (m. ")[0]: words for _, words in reversed(ordered)}
        return ", ".join(words for _, words in ordered if words in told.values())


def section_evidence(
    score: Score, points: Sequence[RestPoint], claims: Iterable[Claim]
) -> dict[int, Evidence]:
    """What speaks for a section to begin at each measure; measures without any are left out.

    Parameters
    ----------
    points
        How far the music comes to rest before each measure.
    claims
        What returning material says (see :mod:`companion.analysis.form.claims`). Several at one
        measure say much the same: the strongest counts, the others add a little.
    """
    found: dict[int, Evidence] = defaultdict(Evidence)
    printed: set[int] = set()
    for border in find_borders(score):
        measure = round(measures_into(score, border.position))
        found[measure].border = border
        found[measure].add(_printed_weight(border), border.why)
        printed.add(measure)
    claimed: dict[int, list[Claim]] = defaultdict(list)
    for claim in claims:
        claimed[claim.measure].append(claim)
    for measure, several in claimed.items():
        ordered = sorted(several, key=lambda claim: -claim.weight)
        for number, claim in enumerate(ordered):
            found[measure].add(claim.weight * (_FURTHER_CLAIMS if number else 1), claim.reason)
    for measure, evidence in found.items():
        if not 0 < measure < len(points):
            continue
        rest = points[measure].rest
        # a sign stands by itself; material that returns in the middle of a run begins nothing
        doubt = 0.0 if measure in printed else _NO_REST
        evidence.weight += _REST * (min(1.0, rest) - doubt) * (0.5 if measure in printed else 1)
        for reason in points[measure].reasons:
            evidence.reasons.append((rest, reason))
    return {k: v for k, v in found.items() if 0 < k < len(score.measures)}


def position_of(score: Score, measure: int, evidence: Evidence) -> Position:
    """Where the section begins exactly: at the printed sign, or with the upbeat of its phrase."""
    if evidence.border is not None:
        return evidence.border.position
    return upbeat_before(score, Position(measure))


def _printed_weight(border: Border) -> float:
    kinds = border.kinds
    weight = sum(_PRINTED.get(kind, 0.0) for kind in kinds - _REPEATS)
    return weight + (_PRINTED[CueKind.REPEAT_END] if kinds & _REPEATS else 0.0)
