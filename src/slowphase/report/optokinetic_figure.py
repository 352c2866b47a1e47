"""Optokinetic nystagmus as a picture: eye position, slow phase with its fit, and the scene."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slowphase.eye.trace import USED
from slowphase.measures.optokinetic.measures import OptokineticView
from slowphase.report.drawing import (
    FAINT,
    FIT,
    INK,
    SHADE,
    SLOW,
    drawing_style,
    legend_above,
    new_figure,
    to_svg,
)
from slowphase.report.envelope import envelope
from slowphase.report.labels import stimulus_text
from slowphase.report.trial_figure import medians_in_time, trial_figure

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from slowphase.measures.result import TrialResult

COLUMNS = 700
MEDIAN_S = 0.5
SENSE = {"horizontal": "R up", "vertical": "up is up"}


def optokinetic_figure(trial: TrialResult) -> str | None:
    """Position and slow phase as inline SVG; the plain traces without a scene."""
    view = trial.evidence.own if trial.evidence else None
    if not isinstance(view, OptokineticView):
        return trial_figure(trial)
    with drawing_style(trial.id):
        figure = new_figure(10.0, 3.6)
        position, velocity = figure.subplots(2, sharex=True, height_ratios=[1.0, 1.6])
        _draw_position(position, view)
        _draw_velocity(velocity, view)
        return to_svg(figure, f"Optokinetic {trial.id} ({stimulus_text(trial)}): eye position, and "
                      "slow-phase velocity with its fit beside the scene's.")  # fmt: skip


def _draw_position(axes: Axes, view: OptokineticView) -> None:
    trace = view.tracked.trace
    axes.plot(*envelope(trace.time_s, trace.position_deg, COLUMNS), color=INK, lw=0.7)
    axes.set_xlim(trace.time_s[0], trace.time_s[-1])
    axes.set_ylabel(f"eye (deg)\n{SENSE[view.scene.plane]}")


def _draw_velocity(axes: Axes, view: OptokineticView) -> None:
    trace, scene = view.tracked.trace, view.scene
    slow = np.where(trace.use == USED, trace.velocity_deg_s, np.nan)
    axes.plot(*envelope(trace.time_s, slow, COLUMNS), color=SLOW, lw=0.5, alpha=0.25,
              label="slow phase")  # fmt: skip
    time_s, middles = medians_in_time(trace.time_s, slow, MEDIAN_S)
    axes.plot(time_s, middles, color=SLOW, lw=1.0, label="medians")
    axes.plot(*envelope(trace.time_s, view.fit_deg_s, COLUMNS), color=FIT, lw=1.4, label="fit")
    axes.hlines(scene.velocity_deg_s, scene.start_s, scene.stop_s, color=FAINT, ls=":",
                label="scene")  # fmt: skip
    reach = 1.25 * max(abs(scene.velocity_deg_s), float(np.nanmax(np.abs(middles), initial=1.0)))
    if scene.timed:
        axes.axvspan(scene.stop_s, trace.time_s[-1], color=SHADE, lw=0, zorder=0.5)
        axes.text(scene.stop_s, 0.86 * reach, " scene off", fontsize=7.5)
    axes.axhline(0.0, color=FAINT, lw=0.6)
    axes.set_ylim(-reach, reach)
    axes.set_ylabel(f"velocity (deg/s)\n{SENSE[scene.plane]}")
    axes.set_xlabel("time (s)")
    legend_above(axes, 4)
