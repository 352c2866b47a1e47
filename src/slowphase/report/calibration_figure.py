"""A calibration as a picture: eyes and target over time, and what is left of the straight line."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slowphase.eye.calibration import LEAST_WEIGHT
from slowphase.measures.calibration import CalibrationView, scatter_deg
from slowphase.report.drawing import (
    FAINT,
    FIT,
    INK,
    SLOW,
    drawing_style,
    legend_above,
    new_figure,
    to_svg,
)
from slowphase.report.envelope import envelope

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from slowphase.eye.calibration import PlaneFit
    from slowphase.measures.result import TrialResult

COLUMNS = 700
PLANES = (("h", "horizontal", "R up"), ("v", "vertical", "up is up"))
EYES = (("right", "R", SLOW, "-"), ("left", "L", INK, "--"))
LEAST_DEG = 1.0


def calibration_figure(trial: TrialResult) -> str | None:
    """Eyes and target over time, and residuals by place, as inline SVG; None without a fit."""
    view = trial.evidence.own if trial.evidence else None
    if not isinstance(view, CalibrationView) or view.calibration.steps is None:
        return None
    planes = [plane for plane in PLANES if _shown(view, plane[0])]
    if not planes:
        return None
    with drawing_style(trial.id):
        figure = new_figure(10.0, 2.4 * len(planes))
        grid = figure.add_gridspec(len(planes), 2, width_ratios=[2.6, 1.0])
        for row, (plane, name, sense) in enumerate(planes):
            traces, left = (figure.add_subplot(grid[row, column]) for column in (0, 1))
            _draw_traces(traces, view, plane)
            traces.set_ylabel(f"{name} (deg)\n{sense}")
            _draw_residuals(left, view, plane)
        traces.set_xlabel("time (s)")
        left.set_xlabel("target (deg)")
        return to_svg(figure, _label(trial, [name for _, name, _ in planes]))


def _label(trial: TrialResult, planes: list[str]) -> str:
    return (
        f"Calibration {trial.id}: {' and '.join(planes)} position of each eye in degrees over time "
        "with the target, and for each fixation how far it lies off the straight line."
    )


def _shown(view: CalibrationView, plane: str) -> bool:
    """Whether the target moved in a plane and an eye was fitted there."""
    return any(_fit(view, plane, side) is not None for side, *_ in EYES)


def _fit(view: CalibrationView, plane: str, side: str) -> PlaneFit | None:
    fit = view.calibration.planes.get(f"eye_{plane}_{side}")
    return fit if fit is not None and np.isfinite(fit.parameters[1]) else None


def _draw_traces(axes: Axes, view: CalibrationView, plane: str) -> None:
    recording, steps = view.recording, view.calibration.steps
    for side, letter, colour, style in EYES:
        trace = recording.channels.get(f"eye_{plane}_{side}")
        if trace is not None and np.isfinite(trace).any():
            axes.plot(*envelope(recording.time_s, trace, COLUMNS), color=colour, lw=0.8, ls=style,
                      label=f"{letter} eye")  # fmt: skip
    if steps is not None:
        place = steps.place_deg[:, 0 if plane == "h" else 1]
        axes.hlines(place, steps.start_s, steps.stop_s, color=FIT, lw=1.6, label="target")
        reach = max(1.4 * float(np.abs(place).max()), 5.0)
        axes.set_ylim(-reach, reach)
    axes.set_xlim(recording.time_s[0], recording.time_s[-1])
    legend_above(axes, 3)


def _draw_residuals(axes: Axes, view: CalibrationView, plane: str) -> None:
    """A letter for each fixation at its distance from the line; small ones were left out."""
    steps = view.calibration.steps
    worst = LEAST_DEG
    for side, letter, colour, _ in EYES:
        fit = _fit(view, plane, side)
        # an eye that did not look has no line: its gain may be 0, and deg would be without end
        if fit is None or steps is None or fit.refused == "did_not_look":
            continue
        off = fit.residual / fit.parameters[1]
        aside = 0.4 if side == "right" else -0.4
        place = steps.place_deg[:, 0 if plane == "h" else 1] + aside
        for x, y, weight in zip(place, off, fit.weight, strict=True):
            if np.isfinite(y):
                used = weight > LEAST_WEIGHT
                axes.text(x, y, letter, color=colour if used else FAINT, ha="center", va="center",
                          fontsize=7.5 if used else 6, clip_on=True)  # fmt: skip
        worst = max(worst, 3.0 * scatter_deg(fit))
    axes.axhline(0.0, color=FAINT, lw=0.6)
    axes.set_ylim(-worst, worst)
    if steps is not None:
        place = steps.place_deg[:, 0 if plane == "h" else 1]
        axes.set_xlim(place.min() - 2.0, place.max() + 2.0)
    axes.set_ylabel("off the line (deg)")
