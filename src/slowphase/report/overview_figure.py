"""Function across frequency: left and right apart with the whole between, then gain and phase.

One logarithmic axis from slow (calorics) to fast (head impulses); the regions of tests that the
session does not hold are marked as such, so that the eye sees what is not known.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from slowphase.reading.words import quantity
from slowphase.report.drawing import (
    BAND,
    BAND_CORE,
    FAINT,
    INK,
    SLOW,
    drawing_style,
    new_figure,
    to_svg,
)
from slowphase.report.frequency_axis import HIGHEST_HZ, NAMES, frequency_axis
from slowphase.report.function_panel import draw_function, ends_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matplotlib.axes import Axes

    from slowphase.analysis.result import Analysis
    from slowphase.foundation.arrays import FloatArray
    from slowphase.measures.measure import Measure, Side
    from slowphase.reading.function import FunctionPoint
    from slowphase.reference.placement import Placement

LABEL_RATIO = 2.5


@dataclass(frozen=True, slots=True)
class Point:
    """One measure at its frequency, with its placement if there is one."""

    frequency_hz: float
    measure: Measure
    placement: Placement | None


def overview_figure(analysis: Analysis) -> str | None:
    """The overview as inline SVG; None when the session holds no test of function."""
    gains, shares = list(points(analysis, "gain")), analysis.function
    if not gains and not shares:
        return None
    with drawing_style("overview"):
        figure = new_figure(10.0, 5.8)
        grid = figure.add_gridspec(2, 6)
        _draw_shares([figure.add_subplot(grid[0, 2 * i : 2 * i + 2]) for i in range(3)], shares)
        below = [figure.add_subplot(grid[1, 3 * i : 3 * i + 3]) for i in range(2)]
        _draw_whole(below, gains, list(points(analysis, "phase")))
        return to_svg(figure, overview_label(analysis))


def front_figure(analysis: Analysis) -> str | None:
    """One row of the overview for the first page: the shares, or gain and phase without them."""
    gains, shares = list(points(analysis, "gain")), analysis.function
    if not gains and not shares:
        return None
    with drawing_style("front"):
        figure = new_figure(9.0, 2.5)
        if shares:
            _draw_shares(list(figure.subplots(1, 3)), shares)
        else:
            _draw_whole(list(figure.subplots(1, 2)), gains, list(points(analysis, "phase")))
        return to_svg(figure, overview_label(analysis))


def _draw_whole(axes: list[Axes], gains: list[Point], phases: list[Point]) -> None:
    """Gain and phase of the whole response."""
    _draw_gain(axes[0], gains)
    axes[0].set_title("gain, whole response")
    _draw_phase(axes[1], phases)
    for panel in axes:
        panel.set_xlabel("frequency (Hz)")


def _draw_shares(axes: list[Axes], shown: tuple[FunctionPoint, ...]) -> None:
    """Left, both together, right: shares of the lowest that counts as healthy."""
    sides: tuple[tuple[Side | None, str], ...] = (
        ("left", "L"),
        (None, "whole response"),
        ("right", "R"),
    )
    for panel, (side, title) in zip(axes, sides, strict=True):
        draw_function(panel, (p for p in shown if p.side == side), ends_of(shown), apart=bool(side))
        panel.set_title(title, fontweight="bold" if side else "normal")
    axes[0].set_ylabel("share of the lowest\nthat counts as healthy")


def overview_label(analysis: Analysis) -> str:
    """The overview in words."""
    said = [
        f"{point.frequency_hz:g} Hz {point.measure.value:.2f}"
        for point in points(analysis, "gain")
        if point.measure.value is not None
    ]
    parts = [
        f"Function across frequency. Gain of sinusoids in the dark: {', '.join(said) or 'none'}."
    ]
    for test, name in NAMES.items():
        own = [p for p in analysis.function if p.test == test]
        ends = ", ".join(f"{p.side} {quantity(p.value, p.unit)}" for p in own)
        parts.append(f"{name.capitalize()}: {ends or 'not in this session'}.")
    return " ".join(parts)


def points(analysis: Analysis, name: str) -> Iterator[Point]:
    """The measures of that name of sinusoids in the dark that have a value, by frequency.

    A repeat whose samples went into another trial is left out.
    """
    found = []
    merged = {part for trial in analysis.trials for part in trial.parts if part != trial.id}
    for trial in analysis.trials:
        frequency = trial.stimulus.get("frequency_hz")
        dark = trial.vision in (None, "dark")
        if trial.kind != "sinusoid" or not dark or trial.id in merged:
            continue
        for measure in trial.measures:
            known = measure.name == name and measure.value is not None
            if known and isinstance(frequency, int | float) and frequency > 0:
                placement = analysis.placements.get(measure.id)
                found.append(Point(float(frequency), measure, placement))
    return iter(sorted(found, key=lambda point: point.frequency_hz))


def _draw_gain(axes: Axes, shown: list[Point]) -> None:
    frequency_axis(axes, {})
    values = [p.measure.high or p.measure.value or 0.0 for p in shown]
    uppers = [p.placement.upper for p in shown if p.placement and p.placement.upper]
    axes.set_ylim(0.0, max(1.05, *(1.1 * v for v in [*values, *uppers])) if shown else 1.05)
    _bands(axes, shown)
    _mark(axes, shown)


def _draw_phase(axes: Axes, shown: list[Point]) -> None:
    frequency_axis(axes, {})
    values = [v for p in shown for v in (p.measure.low, p.measure.high) if v is not None]
    axes.set_ylim(min([-15.0, *values]) - 5, max([60.0, *values]) + 10)
    axes.axhline(0.0, color=FAINT, lw=0.6)
    _bands(axes, shown)
    _mark(axes, shown)
    if not shown:
        axes.text(0.5, 0.7, "no response: no phase", transform=axes.transAxes,
                  ha="center", va="center", color=INK)  # fmt: skip
    axes.set_title("phase, whole response (deg, lead positive)")


def _bands(axes: Axes, reference: list[Point]) -> None:
    placed = [p for p in {p.frequency_hz: p for p in reference}.values() if _two_sided(p)]
    following = [*(p.frequency_hz for p in placed[1:]), HIGHEST_HZ]
    for point, next_hz in zip(placed, following, strict=False):
        placement = point.placement
        if placement is None or placement.lower is None or placement.upper is None:
            continue
        x = np.array([point.frequency_hz / 1.22, point.frequency_hz * 1.22])
        ends = (placement.lower, placement.upper)
        if placement.unstated:
            _outline(axes, x, ends)
        else:
            _band(axes, x, ends, placement)
        named = next_hz / point.frequency_hz > LABEL_RATIO
        _percentiles(axes, x, ends, placement, named=named)


def _two_sided(point: Point) -> bool:
    placement = point.placement
    return placement is not None and None not in (placement.lower, placement.upper)


def _outline(axes: Axes, x: FloatArray, ends: tuple[float, float]) -> None:
    """A set that does not state its stimulus or ages: a dashed outline, never a filled band."""
    low, high = ends
    around = ([x[0], x[1], x[1], x[0], x[0]], [low, low, high, high, low])
    axes.plot(*around, color=FAINT, lw=0.8, ls=(0, (3, 2)))


def _band(axes: Axes, x: FloatArray, ends: tuple[float, float], placement: Placement) -> None:
    low, high = ends
    axes.fill_between(x, low, high, color=BAND, lw=0)
    if placement.quartiles is not None:
        lower, _, upper = placement.quartiles
        axes.fill_between(x, lower, upper, color=BAND_CORE, lw=0)


def _percentiles(
    axes: Axes, x: FloatArray, ends: tuple[float, float], placement: Placement, *, named: bool
) -> None:
    """The median's line, and the percentiles' names where there is room for them."""
    if placement.quartiles is None or placement.between is None:
        return
    middle = placement.quartiles[1]
    lowest, highest = (f"{percentile:g}" for percentile in placement.between)
    dash = (0, (3, 2)) if placement.unstated else "-"
    axes.plot(x, [middle, middle], color=FAINT, lw=0.7, ls=dash)
    for value, name in ((ends[0], lowest), (middle, "50"), (ends[1], highest)) if named else ():
        axes.text(x[1] * 1.03, value, name, fontsize=6.5, color=FAINT, va="center")


def _mark(axes: Axes, shown: list[Point]) -> None:
    x = [p.frequency_hz for p in shown]
    y = [p.measure.value for p in shown if p.measure.value is not None]
    axes.plot(x, y, color=SLOW, lw=0.6, alpha=0.6)
    axes.plot(x, y, color=SLOW, lw=0, marker="_", ms=9, mew=2.2)
    for point in shown:
        measure = point.measure
        if measure.low is not None and measure.high is not None:
            axes.vlines(point.frequency_hz, measure.low, measure.high, color=SLOW,
                        lw=2.0)  # fmt: skip
        if measure.grade == "caution":
            axes.annotate("caution", (point.frequency_hz, measure.high or measure.value or 0.0),
                          xytext=(0, 3), textcoords="offset points", ha="center", fontsize=6.5,
                          color=INK)  # fmt: skip
