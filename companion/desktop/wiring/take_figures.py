"""The measures of a take, or of one passage of it, as lines for the panel. No widgets here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from companion.desktop.listener_panel.figures import FigureLine
from companion.desktop.percent import percent
from companion.desktop.section_map.wording import beat_name, beats_per_minute, tr
from companion.listening.definitions import definition

if TYPE_CHECKING:
    from fractions import Fraction

    from companion.listening.measuring.take_measures import SectionMeasures


def figure_lines(measures: SectionMeasures, beat_quarters: Fraction) -> tuple[FigureLine, ...]:
    """Lines for everything that could be measured; what has no ground is left out.

    Parameters
    ----------
    beat_quarters
        Length of the counted beat where the take begins: tempi are in these beats.
    """
    lines = [
        _line("accuracy", _percent(measures.accuracy)),
        _line(
            "right",
            tr("{right} of {expected}").format(right=measures.right, expected=measures.expected),
        ),
        _line("wrong", str(measures.wrong)),
        _line("missed", str(measures.missed)),
        _line("added", str(measures.added)),
        *_tempo_lines(measures, beat_quarters),
        _line("steadiness", _share_of_beat(measures.steadiness)),
        _line("evenness_sd_ms", _ms(measures.evenness_sd_ms)),
        _line("hesitations", str(measures.hesitations)),
        _line("stops", str(measures.stops)),
        _line("restarts", str(measures.restarts)),
        _line("chord_spread_ms", _ms(measures.chord_spread_ms)),
        _line("melody_lead_ms", _ms(measures.melody_lead_ms, signed=True)),
        _line("left_right_offset_ms", _ms(measures.left_right_offset_ms, signed=True)),
        _line("velocity_p5", _whole(measures.velocity_p5)),
        _line("velocity_p95", _whole(measures.velocity_p95)),
        _line("hand_balance", _whole(measures.hand_balance, signed=True)),
        _line("damper_share", _percent(measures.damper_share)),
    ]
    return tuple(line for line in lines if line.value)


def _tempo_lines(measures: SectionMeasures, beat_quarters: Fraction) -> list[FigureLine]:
    lines = []
    for name in ("running_tempo_quarters_per_minute", "through_tempo_quarters_per_minute"):
        tempo: float | None = getattr(measures, name)
        if tempo is not None:
            value = tr("{beat} = {beats}").format(
                beat=beat_name(beat_quarters), beats=beats_per_minute(tempo, beat_quarters)
            )
            lines.append(_line(name, value))
    return lines


def _line(name: str, value: str) -> FigureLine:
    meant = definition(name)
    return FigureLine(title=tr(meant.title), value=value, meaning=tr(meant.sentence))


def _percent(share: float | None) -> str:
    return "" if share is None else percent(share)


def _share_of_beat(share: float | None) -> str:
    return "" if share is None else tr("± {n} % of a beat").format(n=round(share * 100, 1))


def _ms(value: float | None, *, signed: bool = False) -> str:
    return "" if value is None else f"{value:+.0f} ms" if signed else f"{value:.0f} ms"


def _whole(value: float | None, *, signed: bool = False) -> str:
    return "" if value is None else f"{value:+.0f}" if signed else f"{value:.0f}"
