"""Every trial as recorded, as the one reflex predicts it, and without the nystagmus."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from slowphase.report.drawing import FAINT, FIT, INK, SLOW, drawing_style, new_figure, to_svg
from slowphase.report.folding import chair_phase, folded_medians
from slowphase.report.labels import stimulus_text
from slowphase.report.sparks import medians

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from slowphase.analysis.result import Analysis
    from slowphase.fit.predict import TrialView
    from slowphase.fit.result import SessionReflex
    from slowphase.foundation.arrays import FloatArray
    from slowphase.measures.result import TrialResult
    from slowphase.measures.two_directions import Carried

COLUMNS, ROW_IN = 3, 1.75
CYCLE_BINS, BIN_S = 36, 1.0
NYSTAGMUS_DEG_S = 1.0  # below it the recording without the nystagmus is the recording
LEAST_DEG_S = 4.0


@dataclass(frozen=True, slots=True)
class Curves:
    """One trial for drawing: ``x`` (b,) in degrees of the chair's cycle or in seconds, medians of
    the recorded slow phase, of what the reflex predicts, and of the recording less nystagmus."""

    x: FloatArray
    recorded: FloatArray
    predicted: FloatArray
    without: FloatArray
    folded: bool


def trials_figure(analysis: Analysis, reflex: SessionReflex) -> str | None:
    """All trials of the fit as inline SVG; None where there are none."""
    results = {trial.id: trial for trial in analysis.trials}
    shown = [(results[v.trial], c) for v in reflex.views if (c := curves(results[v.trial], v))]
    if not shown:
        return None
    rows = -(-len(shown) // COLUMNS)
    with drawing_style("trials"):
        figure = new_figure(10.0, 0.3 + ROW_IN * rows)
        panels = figure.subplots(rows, COLUMNS, squeeze=False).ravel()
        for axes, (trial, found) in zip(panels, shown, strict=False):
            _draw(axes, found)
            axes.set_title(f"{trial.id}: {stimulus_text(trial)}", fontsize=7.5)
        for axes in panels[len(shown) :]:
            axes.set_axis_off()
        for axes in panels[::COLUMNS]:
            axes.set_ylabel("deg/s, R up")
        return to_svg(figure, trials_label(reflex))


def trials_label(reflex: SessionReflex) -> str:
    """The figure in words."""
    return (
        "Slow phase of each trial as recorded, as the one reflex predicts it, and less the "
        f"nystagmus: {', '.join(view.trial for view in reflex.views)}."
    )


def curves(trial: TrialResult, view: TrialView) -> Curves | None:
    """The medians of one trial; None where it was not carried into the fit."""
    carried = trial.carried
    if carried is None or carried.pieces.time_s.size < 2:
        return None
    recorded = np.where(carried.told > 0.0, carried.pieces.velocity_deg_s, np.nan)
    three = (recorded, view.velocity_deg_s, recorded - view.nystagmus_deg_s)
    phase = _phase(carried)
    if phase is not None:
        centre = (np.arange(CYCLE_BINS) + 0.5) * 360.0 / CYCLE_BINS
        first, second, third = (folded_medians(phase, values, CYCLE_BINS) for values in three)
        return Curves(centre, first, second, third, folded=True)
    time_s = view.time_s
    parts = int(np.clip((time_s[-1] - time_s[0]) / BIN_S, 1, time_s.size))
    middle = medians(time_s, parts)
    first, second, third = (medians(values, parts) for values in three)
    return Curves(middle, first, second, third, folded=False)


def _phase(carried: Carried) -> FloatArray | None:
    """Phase of the chair at the pieces, NaN while it rests; None unless it is a sinusoid."""
    if carried.drive is None or carried.frequency_hz is None:
        return None
    motion = carried.drive.motion
    known = chair_phase(motion.time_s, motion.velocity_deg_s, carried.frequency_hz)
    nearest = np.searchsorted(motion.time_s, carried.pieces.time_s).clip(0, known.size - 1)
    return known[nearest]


def _draw(axes: Axes, found: Curves) -> None:
    axes.axhline(0.0, color=FAINT, lw=0.6)
    axes.plot(found.x, found.recorded, color=SLOW, lw=0, marker="_", ms=3.5, mew=1.0)
    if np.nanmax(np.abs(found.recorded - found.without), initial=0.0) >= NYSTAGMUS_DEG_S:
        axes.plot(found.x, found.without, color=INK, lw=0.9, ls=(0, (3, 2)))
    axes.plot(found.x, found.predicted, color=FIT, lw=1.2)
    low, high = axes.get_ylim()
    spare = max(LEAST_DEG_S - (high - low), 0.0) / 2
    axes.set_ylim(low - spare, high + spare)
    if found.folded:
        axes.set_xlim(0, 360)
        axes.set_xticks([0, 90, 180, 270, 360], ["0", "90", "180", "270", "360°"])
    else:
        axes.set_xlim(0.0, found.x[-1])
        ticks = [t for t in axes.get_xticks() if 0.0 <= t <= found.x[-1]]
        axes.set_xticks(ticks, [*(f"{t:g}" for t in ticks[:-1]), f"{ticks[-1]:g} s"])
