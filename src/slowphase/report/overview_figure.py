"""Function across frequency: right and left apart, then gain and phase of the whole response.

One logarithmic axis from slow (calorics) to fast (head impulses); the regions of tests that the
session does not hold are marked as such, so that the eye sees what is not known.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from slowphase.report.drawing import (
    BAND,
    BAND_CORE,
    FAINT,
    GRID,
    INK,
    SLOW,
    drawing_style,
    new_figure,
    to_svg,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matplotlib.axes import Axes

    from slowphase.analysis.result import Analysis
    from slowphase.foundation.arrays import FloatArray
    from slowphase.measures.measure import Measure
    from slowphase.reference.placement import Placement

LOWEST_HZ, HIGHEST_HZ = 0.002, 7.0
CALORIC_HZ, IMPULSE_HZ = (0.002, 0.0048), (1.8, 7.0)
NOT_ALWAYS = ((CALORIC_HZ, "calorics"), (IMPULSE_HZ, "impulses"))
LABEL_RATIO = 2.5
QUARTILE = 0.6745 / 1.96
Absent = tuple[tuple[tuple[float, float], str], ...]  # where on the axis, and which test


@dataclass(frozen=True, slots=True)
class Point:
    """One measure at its frequency, with its placement if there is one."""

    frequency_hz: float
    measure: Measure
    placement: Placement | None


def overview_figure(analysis: Analysis) -> str | None:
    """The overview as inline SVG; None when no sinusoid in the dark was measured."""
    gains = list(points(analysis, "gain"))
    if not gains:
        return None
    with drawing_style("overview"):
        figure = new_figure(10.0, 5.6)
        axes = figure.subplots(2, 2)
        halves = {side: list(points(analysis, f"gain_{side}")) for side in ("left", "right")}
        top = _gain_top([*gains, *halves["left"], *halves["right"]])
        absent = absent_from(analysis)
        for panel, side, letter in zip(axes[0], ("left", "right"), "LR", strict=True):
            _draw_gain(panel, halves[side], [], top, light=True, absent=absent)
            panel.set_title(f"{letter}   gain, exciting {side}", fontweight="bold")
        _draw_gain(axes[1][0], gains, gains, top, light=False, absent=absent)
        axes[1][0].set_title("gain, whole response")
        _draw_phase(axes[1][1], list(points(analysis, "phase")), absent)
        for panel in axes[1]:
            panel.set_xlabel("frequency (Hz)")
        return to_svg(figure, overview_label(analysis))


def overview_label(analysis: Analysis) -> str:
    """The overview in words."""
    said = [
        f"{point.frequency_hz:g} Hz {point.measure.value:.2f}"
        for point in points(analysis, "gain")
        if point.measure.value is not None
    ]
    return (
        "Function across frequency. Gain of sinusoidal rotation in the dark: "
        + ", ".join(said)
        + "".join(f". No {_WORDS[name]} in this session" for _, name in absent_from(analysis))
        + "."
    )


_WORDS = {"calorics": "calorics", "impulses": "head impulses"}


def absent_from(analysis: Analysis) -> Absent:
    """The tests on this axis that a session does not hold. Calorics have no gain to be drawn."""
    held = {"calorics"} if any(group.kind == "caloric" for group in analysis.groups) else set()
    return tuple(entry for entry in NOT_ALWAYS if entry[1] not in held)


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


def _gain_top(shown: list[Point]) -> float:
    values = [p.measure.value for p in shown if p.measure.value is not None]
    uppers = [p.placement.upper for p in shown if p.placement and p.placement.upper]
    return max(1.05, *(1.1 * v for v in [*values, *uppers]))


def _draw_gain(
    axes: Axes, shown: list[Point], reference: list[Point], top: float, *, light: bool,
    absent: Absent,
) -> None:  # fmt: skip
    _frequency_axis(axes, absent)
    axes.set_ylim(0.0, top)
    _bands(axes, reference)
    _mark(axes, shown, FAINT if light else SLOW, light=light)


def _draw_phase(axes: Axes, shown: list[Point], absent: Absent) -> None:
    _frequency_axis(axes, absent)
    values = [v for p in shown for v in (p.measure.low, p.measure.high) if v is not None]
    axes.set_ylim(min([-15.0, *values]) - 5, max([60.0, *values]) + 10)
    axes.axhline(0.0, color=FAINT, lw=0.6)
    _bands(axes, shown)
    _mark(axes, shown, SLOW, light=False)
    if not shown:
        axes.text(0.5, 0.7, "no response: no phase", transform=axes.transAxes,
                  ha="center", va="center", color=INK)  # fmt: skip
    axes.set_title("phase, whole response (deg, lead positive)")


def _frequency_axis(axes: Axes, absent: Absent) -> None:
    """The axis; what the session does not hold is hatched and says so."""
    axes.set_xscale("log")
    axes.set_xlim(LOWEST_HZ, HIGHEST_HZ)
    ticks = [0.003, 0.01, 0.04, 0.16, 0.64, 3]
    axes.set_xticks(ticks, [f"{tick:g}" for tick in ticks])
    axes.set_xticks([], minor=True)
    for (low, high), name in absent:
        axes.axvspan(low, high, facecolor="none", edgecolor=GRID, hatch="////", lw=0)
        axes.text(np.sqrt(low * high), 0.5, f"{name}: not in this session", rotation=90,
                  transform=axes.get_xaxis_transform(), ha="center", va="center",
                  color=FAINT, fontsize=7.5)  # fmt: skip


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
    if placement.percentile is not None:
        middle, reach = 0.5 * (low + high), 0.5 * QUARTILE * (high - low)
        axes.fill_between(x, middle - reach, middle + reach, color=BAND_CORE, lw=0)


def _percentiles(
    axes: Axes, x: FloatArray, ends: tuple[float, float], placement: Placement, *, named: bool
) -> None:
    """The median's line, and the percentiles' names where there is room for them."""
    if placement.percentile is None:
        return
    middle = 0.5 * (ends[0] + ends[1])
    dash = (0, (3, 2)) if placement.unstated else "-"
    axes.plot(x, [middle, middle], color=FAINT, lw=0.7, ls=dash)
    for value, name in ((ends[0], "2.5"), (middle, "50"), (ends[1], "97.5")) if named else ():
        axes.text(x[1] * 1.03, value, name, fontsize=6.5, color=FAINT, va="center")


def _mark(axes: Axes, shown: list[Point], colour: str, *, light: bool) -> None:
    x = [p.frequency_hz for p in shown]
    y = [p.measure.value for p in shown if p.measure.value is not None]
    axes.plot(x, y, color=colour, lw=0.6, alpha=0.6)
    axes.plot(x, y, color=colour, lw=0, marker="_", ms=9, mew=1.2 if light else 2.2)
    for point in shown:
        measure = point.measure
        if measure.low is not None and measure.high is not None:
            axes.vlines(point.frequency_hz, measure.low, measure.high, color=colour,
                        lw=1.2 if light else 2.0)  # fmt: skip
        if measure.grade == "caution":
            axes.annotate("caution", (point.frequency_hz, measure.high or measure.value or 0.0),
                          xytext=(0, 3), textcoords="offset points", ha="center", fontsize=6.5,
                          color=INK)  # fmt: skip
