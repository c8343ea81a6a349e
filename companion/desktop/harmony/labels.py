"""From an analysis and its corrections to the labels of the lane."""

from __future__ import annotations

from collections.abc import Collection

from companion.analysis.harmony import Harmony
from companion.analysis.harmony_table import UNSURE_BELOW
from companion.desktop.score_view.harmony_lane import HarmonyLabel


def lane_labels(harmony: Harmony, own_starts: Collection[object]) -> tuple[HarmonyLabel, ...]:
    """Labels of all spans; the key stands where it changes.

    Parameters
    ----------
    own_starts
        Starts in quarters of the spans that the pianist wrote.
    """
    labels, key = [], None
    for span in harmony.spans:
        labels.append(
            HarmonyLabel(
                measure_index=span.position.measure_index,
                offset_quarters=float(span.position.offset_quarters),
                numeral=span.numeral,
                key=span.key.name if span.key != key else "",
                doubtful=span.confidence < UNSURE_BELOW,
                own=span.start_quarters in own_starts,
            )
        )
        key = span.key
    return tuple(labels)
