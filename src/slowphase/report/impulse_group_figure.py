"""The gain of every canal that was examined, L and R apart, with interval and reference."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slowphase.measures.impulse.together import PAIRS, canal_gain
from slowphase.report.drawing import (
    BAND,
    FAINT,
    INK,
    SLOW,
    drawing_style,
    new_figure,
    to_svg,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from matplotlib.axes import Axes

    from slowphase.analysis.result import Analysis
    from slowphase.measures.measure import Measure
    from slowphase.measures.result import GroupResult
    from slowphase.reference.placement import Placement

SHOWN = ("anterior", "lateral", "posterior")
MARGIN = 0.05  # beyond the furthest mark
HALF = 0.32  # of a canal's width: its reference band
TOP = 1.2  # of the axis, where no gain is above it


def impulse_group_figure(group: GroupResult, analysis: Analysis) -> str | None:
    """The gains by canal as inline SVG; None when no canal has one."""
    known = dict(gains(group, analysis))
    if not known:
        return None
    with drawing_style(group.id):
        figure = new_figure(10.0, 2.6)
        panels = figure.subplots(1, 2, sharey=True)
        ends = limits(known.values())
        for panel, side in zip(panels, ("left", "right"), strict=True):
            _draw_side(panel, side, known, analysis, ends)
        panels[0].set_ylabel("gain")
        return to_svg(figure, _label(known))


def gains(group: GroupResult, analysis: Analysis) -> Iterator[tuple[str, Measure]]:
    """Each canal with its gain by velocity area, or as it was typed in."""
    own = [trial for trial in analysis.trials if trial.id in group.trials]
    for side in ("left", "right"):
        for pair in PAIRS:
            measure = canal_gain(own, f"{side} {pair}", "gain")
            if measure is not None:
                yield f"{side} {pair}", measure


def limits(measures: Iterable[Measure]) -> tuple[float, float]:
    """The ends of the axis: from 0 to `TOP`, and as far as values and intervals go."""
    shown = [end for m in measures for end in (m.value, m.low, m.high) if end is not None]
    low, high = min([0.0, *shown]), max([TOP, *shown])
    return low - MARGIN if low < 0.0 else 0.0, high + MARGIN if high > TOP else TOP


def _label(known: dict[str, Measure]) -> str:
    said = ", ".join(f"{canal} {measure.value:.2f}" for canal, measure in known.items())
    return f"Gain of head impulses by canal: {said}."


def _draw_side(
    axes: Axes,
    side: str,
    known: dict[str, Measure],
    analysis: Analysis,
    ends: tuple[float, float],
) -> None:
    for place, pair in enumerate(SHOWN):
        measure = known.get(f"{side} {pair}")
        if measure is None:
            axes.text(place, 0.5 * TOP, "not examined", ha="center", va="center", color=FAINT,
                      fontsize=7.5, rotation=90)  # fmt: skip
            continue
        _reference(axes, place, analysis.placements.get(measure.id), ends[1])
        _mark(axes, place, measure)
    axes.set_xticks(range(len(SHOWN)), SHOWN)
    axes.set_xlim(-0.6, len(SHOWN) - 0.4)
    axes.set_ylim(*ends)
    if ends[0] < 0.0:
        axes.axhline(0.0, color=FAINT, lw=0.8)
    axes.set_title(f"{side[0].upper()}   gain of the {side} canals", fontweight="bold")


def _reference(axes: Axes, place: int, placement: Placement | None, end: float) -> None:
    if placement is None or placement.lower is None:
        return
    top = end if placement.upper is None else placement.upper
    axes.fill_between([place - HALF, place + HALF], placement.lower, top, color=BAND, lw=0)


def _mark(axes: Axes, place: int, measure: Measure) -> None:
    value = measure.value or 0.0
    axes.plot([place], [value], color=SLOW, lw=0, marker="_", ms=14, mew=2.2)
    if measure.low is not None and measure.high is not None:
        axes.vlines(place, measure.low, measure.high, color=SLOW, lw=2.0)
    shown = f"{value:.2f}" + (" caution" if measure.grade == "caution" else "")
    axes.text(place + 0.08, value, shown, fontsize=7.5, va="bottom", color=INK)
