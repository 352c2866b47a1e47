"""Healthy values with their limits: a strip with a histogram, or values against age."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slowphase.reference.intervals.set_text import key_text
from slowphase.report.drawing import BAND, FAINT, FIT, INK, SLOW, drawing_style, new_figure, to_svg

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from slowphase.reference.intervals.build import MeasureLimits
    from slowphase.reference.intervals.healthy import HealthyValue
    from slowphase.reference.intervals.interval import GroupLimits

WIDTH_IN, STRIP_IN, CURVE_IN = 6.6, 1.35, 2.7
JITTER_SEED = 1  # heights of the ticks mean nothing; they only part those that lie together


def limits_figure(limits: MeasureLimits) -> str:
    """One panel for each group: values as ticks, limits as lines with their 90 % intervals."""
    heights = [CURVE_IN if group.curve else STRIP_IN for group in limits.groups]
    label = f"Healthy values of {key_text(limits.key)}, with limits"
    with drawing_style(label):
        figure = new_figure(WIDTH_IN, sum(heights) + 0.35)
        grid = figure.subplots(
            len(heights), 1, squeeze=False, gridspec_kw={"height_ratios": heights}
        )
        panels = list(grid[:, 0])
        for axes, group in zip(panels, limits.groups, strict=True):
            draw = _by_age if group.curve else _strip
            draw(axes, group, limits.key.unit)
        _same_span(panels, limits.groups)
        return to_svg(figure, label)


def _strip(axes: Axes, group: GroupLimits, unit: str) -> None:
    used = np.array([v.value for v in group.values])
    if used.size >= 20:
        axes.hist(used, bins="auto", color=BAND, lw=0, zorder=1)
    top = max(axes.get_ylim()[1], 1.0) if used.size >= 20 else 1.0
    _ticks(axes, used, top, SLOW)
    if group.percentiles:
        for end, (_, value) in (("lower", group.percentiles[0]), ("upper", group.percentiles[-1])):
            _limit(axes, value, group.limit_intervals[end], top)
    _suspects(axes, group, top)
    axes.set_yticks([])
    axes.set_ylim(-0.45 * top, 1.25 * top)
    axes.set_xlabel(_unit(unit))
    axes.set_title(_title(group), loc="left", fontsize=8)


def _ticks(axes: Axes, values: np.ndarray, top: float, colour: str) -> None:
    low = np.random.default_rng(JITTER_SEED).uniform(-0.38, -0.2, values.size) * top
    axes.vlines(values, low, low + 0.14 * top, color=colour, lw=0.7, alpha=0.8, zorder=3)


def _limit(axes: Axes, value: float, ends: tuple[float, float], top: float) -> None:
    axes.vlines(value, -0.42 * top, 1.15 * top, color=FIT, lw=1.2, zorder=4)
    axes.hlines(1.08 * top, *ends, color=FIT, lw=1.2, zorder=4)
    axes.vlines(ends, 1.02 * top, 1.14 * top, color=FIT, lw=1.0, zorder=4)


def _suspects(axes: Axes, group: GroupLimits, top: float) -> None:
    for value in dict.fromkeys((*group.flagged, *group.left_out)):
        out = " left out" if value in group.left_out else ""
        axes.text(value.value, -0.02 * top, f"{value.person}{out}", rotation=90, fontsize=6,
                  ha="center", va="bottom", color=INK, zorder=5)  # fmt: skip
        if out:
            axes.vlines(value.value, -0.3 * top, -0.16 * top, color=FAINT, lw=0.9)


def _by_age(axes: Axes, group: GroupLimits, unit: str) -> None:
    ages = np.array([point.age_years for point in group.curve])
    levels = np.array([[level for _, level in point.percentiles] for point in group.curve])
    axes.fill_between(ages, levels[:, 0], levels[:, -1], color=BAND, lw=0, zorder=1)
    for column, end in ((0, "lower"), (-1, "upper")):
        spread = np.array([ends[end] for ends in group.curve_intervals])
        axes.plot(ages, levels[:, column], color=FIT, lw=1.2, zorder=4)
        axes.plot(ages, spread, color=FIT, lw=0.7, ls=(0, (3, 2)), zorder=4)
    axes.plot(ages, levels[:, levels.shape[1] // 2], color=FAINT, lw=1.0, zorder=3)
    _at_ages(axes, group.values, SLOW)
    for value in dict.fromkeys((*group.flagged, *group.left_out)):
        if value.age_years is not None:
            out = " left out" if value in group.left_out else ""
            axes.text(value.age_years + 0.6, value.value, f"{value.person}{out}", fontsize=6,
                      va="center", color=INK)  # fmt: skip
    _at_ages(axes, group.left_out, FAINT)
    axes.set_xlabel("age (years)")
    axes.set_ylabel(_unit(unit))
    axes.set_title(_title(group), loc="left", fontsize=8)


def _at_ages(axes: Axes, values: Sequence[HealthyValue], colour: str) -> None:
    known = [(v.age_years, v.value) for v in values if v.age_years is not None]
    if known:
        axes.plot(*np.array(known).T, marker="_", ls="", ms=5, mew=1.0, color=colour, zorder=2)


def _title(group: GroupLimits) -> str:
    ages = f", {group.ages[0]:g}–{group.ages[1]:g} years" if group.ages else ""
    return f"{group.sex or 'all'}{ages}, n = {len(group.values)}"


def _unit(unit: str) -> str:
    return "ratio" if unit == "1" else unit


def _same_span(panels: Sequence[Axes], groups: Sequence[GroupLimits]) -> None:
    """Strips below one another on one axis, so that groups can be compared by eye."""
    strips = [axes for axes, group in zip(panels, groups, strict=True) if not group.curve]
    if len(strips) > 1:
        low = min(axes.get_xlim()[0] for axes in strips)
        high = max(axes.get_xlim()[1] for axes in strips)
        for axes in strips:
            axes.set_xlim(low, high)
