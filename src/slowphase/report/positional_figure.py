"""A positional recording as a picture: the slow phase of all planes on one axis of time."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slowphase.eye.trace import USED
from slowphase.measures.positional import PositionalShape
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
from slowphase.report.labels import stimulus_text, value_text, word
from slowphase.report.trial_figure import medians_in_time

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from slowphase.eye.trace import EyeTrace
    from slowphase.measures.result import TrialResult

MEDIAN_S = 0.5
STYLES = {"vertical": "-", "torsional": (0, (5, 2)), "horizontal": (0, (1, 1.5))}
LEAST_DEG_S = 5.0


def positional_figure(trial: TrialResult) -> str | None:
    """The slow phase in one position as inline SVG; None when nothing was measured."""
    evidence = trial.evidence
    if evidence is None or not isinstance(evidence.own, PositionalShape):
        return None
    shape = evidence.own
    traces = {
        "horizontal": evidence.horizontal,
        "vertical": evidence.vertical,
        "torsional": shape.torsional,
    }
    with drawing_style(trial.id):
        figure = new_figure(10.0, 3.2)
        axes = figure.subplots()
        axes.axhline(0.0, color=FAINT, lw=0.6)
        for of, time_s, velocity in shape.curves:
            trace = traces[of]
            if trace is not None:
                _draw_medians(axes, trace, of)
            axes.plot(time_s, velocity, color=FIT, lw=1.6, ls=STYLES[of], label=of)
        _set_limits(axes, shape)
        if shape.start_s is not None:
            axes.axvline(shape.start_s, color=INK, lw=0.9)
        axes.set_xlim(evidence.horizontal.time_s[0], evidence.horizontal.time_s[-1])
        axes.set_xlabel("time (s)")
        axes.set_ylabel("slow phase (deg/s)\nR, up, top to the R are up")
        legend_above(axes, 3)
        return to_svg(figure, positional_label(trial))


def positional_label(trial: TrialResult) -> str:
    """The picture in words."""
    peaks = "; ".join(
        f"{m.of} {value_text(m)}" for m in trial.measures if m.name == "peak" and m.of is not None
    )
    return f"{word('kind', 'positional')} {trial.id} ({stimulus_text(trial)}): peaks {peaks}."


def _draw_medians(axes: Axes, trace: EyeTrace, of: str) -> None:
    slow = np.where(trace.use == USED, trace.velocity_deg_s, np.nan)
    axes.plot(*medians_in_time(trace.time_s, slow, MEDIAN_S), color=SLOW, lw=0.8, ls=STYLES[of])


def _set_limits(axes: Axes, shape: PositionalShape) -> None:
    """Limits that hold every curve; single medians may leave them."""
    curves = [velocity for _, _, velocity in shape.curves if velocity.size]
    if curves:
        low = min(float(v.min()) for v in curves)
        high = max(float(v.max()) for v in curves)
        spare = max(0.15 * (high - low), LEAST_DEG_S)
        axes.set_ylim(low - spare, high + spare)
