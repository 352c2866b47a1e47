"""All step responses on one axis of time since each change of chair velocity."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from slowphase.eye.trace import USED
from slowphase.report.drawing import (
    FAINT,
    FIT,
    PAPER,
    SLOW,
    drawing_style,
    new_figure,
    to_svg,
)
from slowphase.report.envelope import envelope

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matplotlib.axes import Axes

    from slowphase.analysis.result import Analysis
    from slowphase.foundation.arrays import FloatArray
    from slowphase.measures.result import TrialResult

BIN_S, SHOWN_S, LEAST_DEG_S = 0.5, 60.0, 20.0


@dataclass(frozen=True, slots=True)
class Response:
    """One response: seconds since the change, slow-phase speed against the change, its fit."""

    trial: str
    of: str
    letter: str
    since_s: FloatArray
    speed_deg_s: FloatArray
    fit_deg_s: FloatArray | None


def step_figure(analysis: Analysis) -> str | None:
    """Every step response of the session as inline SVG; None when there is none."""
    shown = [r for trial in analysis.trials if trial.kind == "step" for r in responses(trial)]
    if not shown:
        return None
    with drawing_style("steps"):
        figure = new_figure(10.0, 3.4)
        axes = figure.subplots()
        for index, response in enumerate(shown):
            _draw(axes, response, 2.0 + 4.0 * index, index)
        axes.axhline(0.0, color=FAINT, lw=0.6)
        axes.set_ylim(*step_limits(shown))
        axes.set_xlim(0, max(min(SHOWN_S, r.since_s[-1]) for r in shown))
        axes.set_xlabel("time since the change of chair velocity (s)")
        axes.set_ylabel("slow phase against\nthe change (deg/s)")
        return to_svg(figure, steps_label(shown))


def steps_label(shown: list[Response]) -> str:
    """The figure in words."""
    named = ", ".join(f"{r.letter} {r.of} of {r.trial}" for r in shown)
    return f"Step responses by exciting direction over time since each change: {named}."


def responses(trial: TrialResult) -> Iterator[Response]:
    """The responses of one spin, cut at the half-way points of its two changes of velocity."""
    evidence = trial.evidence
    if evidence is None or evidence.head_velocity_deg_s is None:
        return
    trace, head = evidence.horizontal, evidence.head_velocity_deg_s
    slow = np.where(trace.use == USED, trace.velocity_deg_s, np.nan)
    changes = change_indices(head)
    for order, (start, sign) in enumerate(changes):
        stop = changes[order + 1][0] if order + 1 < len(changes) else head.size
        part = slice(start, stop)
        since = trace.time_s[part] - trace.time_s[start]
        fit = None if evidence.fit_deg_s is None else -sign * evidence.fit_deg_s[part]
        if since.size > 2:
            x, y = binned_median(since, -sign * slow[part])
            of = "per" if order % 2 == 0 else "post"
            letter = "R" if sign > 0 else "L"
            fitted = None if fit is None else np.interp(x, since, fit)
            yield Response(trial.id, of, letter, x, y, fitted)


def change_indices(head_deg_s: FloatArray) -> list[tuple[int, float]]:
    """Samples where the chair crosses half of its top speed, with the sign of the change."""
    known = np.nan_to_num(head_deg_s)
    top = np.percentile(np.abs(known), 95)
    if top < 5.0:
        return []
    state = np.where(np.abs(known) > 0.5 * top, np.sign(known), 0.0)
    at = np.flatnonzero(np.diff(state))
    return [(int(i) + 1, float(np.sign(state[i + 1] - state[i]))) for i in at]


def binned_median(since_s: FloatArray, speed: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Median speed in each half second; NaN where nothing was usable."""
    bins = (since_s / BIN_S).astype(np.int64)
    count = int(bins[-1]) + 1
    values: FloatArray = np.full(count, np.nan)
    for index in range(count):
        part = speed[(bins == index) & np.isfinite(speed)]
        if part.size:
            values[index] = np.median(part)
    return np.asarray((np.arange(count) + 0.5) * BIN_S, dtype=np.float64), values


def step_limits(shown: list[Response]) -> tuple[float, float]:
    """Limits that hold every median and every fit that is shown."""
    curves = [c for r in shown for c in (r.speed_deg_s, r.fit_deg_s) if c is not None]
    times = [r.since_s for r in shown for c in (r.speed_deg_s, r.fit_deg_s) if c is not None]
    early = [c[(t <= SHOWN_S) & np.isfinite(c)] for c, t in zip(curves, times, strict=True)]
    known = np.concatenate(early)
    if not known.size:
        return -1.0, 1.0
    low, high = float(known.min()), float(known.max())
    spare = max(0.04 * (high - low), 0.5 * (LEAST_DEG_S - (high - low)))
    return min(low, 0.0) - spare, high + spare


def _draw(axes: Axes, response: Response, label_s: float, order: int) -> None:
    style = "-" if response.letter == "R" else "--"
    x, y = response.since_s, response.speed_deg_s
    axes.plot(x, y, color=SLOW, lw=1.0, ls=style, alpha=0.7)
    fit = response.fit_deg_s
    if fit is not None:
        axes.plot(*envelope(x, fit, 400), color=FIT, lw=1.2, ls=style)
    shown = y if fit is None else fit
    known = np.flatnonzero(np.isfinite(shown[: int(SHOWN_S / BIN_S)]))
    if known.size:
        at = known[np.searchsorted(known, min(label_s / BIN_S, known[-1]))]
        _label(axes, f"{response.letter} {response.of}", (x[at], shown[at]), order)


def _label(axes: Axes, text: str, at: tuple[float, float], order: int) -> None:
    """A label beside the lines, joined to its own by a thin one; they climb to keep apart."""
    axes.annotate(text, at, xytext=(26, 14 + 13 * order), textcoords="offset points",
                  fontsize=8.5, fontweight="bold", va="center", zorder=5,
                  bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.8},
                  arrowprops={"arrowstyle": "-", "color": FAINT, "lw": 0.6})  # fmt: skip
