"""Pursuit as a picture: eye and target over time, smooth velocity with its fit, one cycle."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slowphase.eye.trace import USED
from slowphase.measures.pursuit import PursuitView
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
from slowphase.report.folding import binned
from slowphase.report.labels import stimulus_text
from slowphase.report.trial_figure import trial_figure

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from slowphase.foundation.arrays import FloatArray
    from slowphase.measures.result import TrialResult

COLUMNS = 700
SENSE = {"horizontal": "R up", "vertical": "up is up"}


def pursuit_figure(trial: TrialResult) -> str | None:
    """Position, velocity and one folded cycle as inline SVG; the plain traces without a fit."""
    view = trial.evidence.own if trial.evidence else None
    if not isinstance(view, PursuitView):
        return trial_figure(trial)
    with drawing_style(trial.id):
        figure = new_figure(10.0, 3.8)
        grid = figure.add_gridspec(2, 2, width_ratios=[3.2, 1.0], height_ratios=[1.0, 1.2])
        position = figure.add_subplot(grid[0, 0])
        velocity = figure.add_subplot(grid[1, 0], sharex=position)
        position.tick_params(labelbottom=False)
        _draw_position(position, view)
        _draw_velocity(velocity, view)
        _draw_cycle(figure.add_subplot(grid[:, 1]), view)
        return to_svg(figure, f"Pursuit {trial.id} ({stimulus_text(trial)}): eye and target over "
                      "time, smooth eye velocity with its fit and the target's velocity, and all "
                      "cycles folded.")  # fmt: skip


def _draw_position(axes: Axes, view: PursuitView) -> None:
    trace, swing = view.tracked.trace, view.swing
    axes.plot(*envelope(trace.time_s, trace.position_deg, COLUMNS), color=INK, lw=0.8, label="eye")
    size = swing.peak_deg_s / (2 * np.pi * swing.frequency_hz)
    if swing.phase_rad is not None:
        place = -size * np.cos(swing.angle(trace.time_s))
        shown = np.where(_moving(view, trace.time_s), place, np.nan)
        axes.plot(*envelope(trace.time_s, shown, COLUMNS), color=FAINT, lw=1.0, ls=":",
                  label="target")  # fmt: skip
    axes.set_ylim(-1.6 * size - 1.0, 1.6 * size + 1.0)
    axes.set_xlim(trace.time_s[0], trace.time_s[-1])
    axes.set_ylabel(f"{swing.plane} (deg)\n{SENSE[swing.plane]}")
    legend_above(axes, 2)


def _moving(view: PursuitView, time_s: FloatArray) -> FloatArray:
    return np.asarray((time_s >= view.swing.start_s) & (time_s <= view.swing.stop_s))


def _slow(view: PursuitView) -> FloatArray:
    trace = view.tracked.trace
    return np.where(trace.use == USED, trace.velocity_deg_s, np.nan)


def _target_velocity(view: PursuitView, time_s: FloatArray) -> FloatArray:
    return np.asarray(view.swing.peak_deg_s * np.sin(view.swing.angle(time_s)))


def _draw_velocity(axes: Axes, view: PursuitView) -> None:
    trace, swing = view.tracked.trace, view.swing
    axes.plot(*envelope(trace.time_s, _slow(view), COLUMNS), color=SLOW, lw=0.6, alpha=0.5,
              label="smooth eye velocity")  # fmt: skip
    if swing.phase_rad is not None:
        target = np.where(_moving(view, trace.time_s), _target_velocity(view, trace.time_s), np.nan)
        axes.plot(*envelope(trace.time_s, target, COLUMNS), color=FAINT, lw=1.0, ls=":",
                  label="target")  # fmt: skip
    axes.plot(*envelope(trace.time_s, view.fit_deg_s, COLUMNS), color=FIT, lw=1.3, label="fit")
    ticks = trace.quick_phases.onset_s
    reach = 1.8 * swing.peak_deg_s
    axes.vlines(ticks, -reach, -0.88 * reach, color=INK, lw=0.7, label="saccades")
    axes.axhline(0.0, color=FAINT, lw=0.6)
    axes.set_ylim(-reach, reach)
    axes.set_ylabel(f"velocity (deg/s)\n{SENSE[swing.plane]}")
    axes.set_xlabel("time (s)")
    legend_above(axes, 4)


def _draw_cycle(axes: Axes, view: PursuitView) -> None:
    """Quartiles of the smooth velocity, the target's and the fit by the target's phase."""
    time_s, slow = view.tracked.trace.time_s, _slow(view)
    phase = np.degrees(view.swing.angle(time_s)) % 360.0
    used = np.isfinite(slow) & np.isfinite(view.fit_deg_s)
    if used.any():
        centre, quarters = binned(phase[used], slow[used], [25, 50, 75])
        axes.vlines(centre, quarters[0], quarters[2], color=SLOW, lw=1.2, alpha=0.45)
        axes.plot(centre, quarters[1], color=SLOW, lw=0, marker="_", ms=4)
        x, middle = binned(phase[used], view.fit_deg_s[used], [50])
        axes.plot(x, middle[0], color=FIT, lw=1.1)
    if view.swing.phase_rad is not None:
        turn = np.linspace(0.0, 360.0, 91)
        axes.plot(turn, view.swing.peak_deg_s * np.sin(np.radians(turn)), color=FAINT, ls=":")
    axes.axhline(0.0, color=FAINT, lw=0.6)
    axes.set_xlim(0, 360)
    axes.set_xticks([0, 90, 180, 270, 360])
    axes.set_xlabel("phase of the target's velocity (deg)")
    axes.set_title("all cycles folded")
