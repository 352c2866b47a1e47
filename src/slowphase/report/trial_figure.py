"""One trial as a picture: eye position, slow phase with fit and chair, and what was not used.

A sinusoid is also shown folded by the phase of the chair.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slowphase.eye.trace import UNUSED_REASONS, USED, EyeTrace
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
from slowphase.report.envelope import envelope, runs_of
from slowphase.report.folding import binned, cycle_phase
from slowphase.report.labels import stimulus_text, word
from slowphase.report.sparks import medians

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from slowphase.foundation.arrays import FloatArray
    from slowphase.measures.result import Evidence, TrialResult

COLUMNS = 700
ROW_IN = 0.2
MEDIAN_S = 0.5
MEDIAN_CYCLES = 0.1
MEDIANS_MAX = 400
STILL = ("spontaneous", "gaze", "positional")
QUICK = UNUSED_REASONS.index("quick_phase")


def trial_figure(trial: TrialResult) -> str | None:
    """The trial's traces as inline SVG; None when there is nothing to draw."""
    evidence = trial.evidence
    if evidence is None or evidence.horizontal.time_s.size < 2:
        return None
    rows = _unused_rows(evidence.horizontal)
    with drawing_style(trial.id):
        figure = new_figure(10.0, 3.1 + ROW_IN * (len(rows) + 3))
        folded = cycle_phase(trial)
        axes = _panels(figure, len(rows) + 3, folded is not None)
        _draw_position(axes[0], evidence, vertical=trial.kind in STILL)
        _draw_velocity(axes[1], evidence, _median_s(trial))
        if trial.kind in STILL and evidence.vertical is not None:
            _draw_vertical(axes[1], evidence.vertical)
        legend_above(axes[1], 5)
        _draw_unused(axes[2], evidence.horizontal, rows)
        _shade(axes[:2], evidence.horizontal)
        if folded is not None:
            _draw_folded(axes[3], evidence, folded)
        return to_svg(figure, figure_label(trial))


def figure_label(trial: TrialResult) -> str:
    """The picture in words, for those who do not see it."""
    usable = f", {trial.quality.usable_pct:.0f} % of samples usable" if trial.quality else ""
    return (
        f"Traces of trial {trial.id} ({word('kind', trial.kind)}, {stimulus_text(trial)}): eye "
        f"position, slow-phase velocity with its fit, and the samples not used{usable}."
    )


def _panels(figure: Figure, rows: int, folded: bool) -> list[Axes]:
    heights = [1.2, 2.0, ROW_IN * rows]
    widths = [3.2, 1.0] if folded else [1.0]
    grid = figure.add_gridspec(3, len(widths), height_ratios=heights, width_ratios=widths)
    position = figure.add_subplot(grid[0, 0])
    others = [figure.add_subplot(grid[row, 0], sharex=position) for row in (1, 2)]
    position.tick_params(labelbottom=False)
    others[0].tick_params(labelbottom=False)
    return [position, *others, *([figure.add_subplot(grid[:, 1])] if folded else [])]


def _draw_position(axes: Axes, evidence: Evidence, *, vertical: bool) -> None:
    """Eye position; the vertical one too where the chair rests and it may be a sign."""
    trace, shown = evidence.horizontal, [evidence.horizontal.position_deg]
    axes.plot(*envelope(trace.time_s, trace.position_deg, COLUMNS), color=INK, lw=0.7,
              label="horizontal")  # fmt: skip
    if vertical and evidence.vertical is not None:
        up = evidence.vertical
        axes.plot(*envelope(up.time_s, up.position_deg, COLUMNS), color=FAINT, lw=0.7, ls="--",
                  label="vertical (up is up)")  # fmt: skip
        shown.append(up.position_deg)
        legend_above(axes, 2)
    axes.set_ylabel("eye (deg)\nR up")
    axes.set_xlim(trace.time_s[0], trace.time_s[-1])
    _limit_by_percentiles(axes, *shown)


def _draw_velocity(axes: Axes, evidence: Evidence, median_s: float) -> None:
    trace = evidence.horizontal
    head, fit = evidence.head_velocity_deg_s, evidence.fit_deg_s
    if head is not None and np.nanmax(np.abs(head), initial=0.0) > 1.0:
        axes.plot(*envelope(trace.time_s, head, COLUMNS), color=FAINT, lw=0.8, ls=":",
                  label="chair")  # fmt: skip
    slow = np.where(trace.use == USED, trace.velocity_deg_s, np.nan)
    axes.plot(*envelope(trace.time_s, slow, COLUMNS), color=SLOW, lw=0.5, alpha=0.25,
              solid_capstyle="round", label="slow phase")  # fmt: skip
    time_s, middles = medians_in_time(trace.time_s, slow, median_s)
    axes.plot(time_s, middles, color=SLOW, lw=1.1, label="medians")
    if fit is not None:
        axes.plot(*envelope(trace.time_s, fit, COLUMNS // 2), color=FIT, lw=1.4, label="fit")
    axes.axhline(0.0, color=FAINT, lw=0.6)
    axes.set_ylabel("velocity (deg/s)\nto the R up")
    _limit_by_percentiles(axes, slow, spare=5.0)
    if head is not None:
        _hold_whole(axes, head)
    _hold_whole(axes, *(v for v in (middles, fit) if v is not None))


def _draw_vertical(axes: Axes, up: EyeTrace) -> None:
    """Medians of the vertical slow phase, which may be a sign of its own."""
    slow = np.where(up.use == USED, up.velocity_deg_s, np.nan)
    time_s, middles = medians_in_time(up.time_s, slow, MEDIAN_S)
    axes.plot(time_s, middles, color=INK, lw=0.9, ls="--", label="vertical medians (up is up)")
    _hold_whole(axes, middles)


def _median_s(trial: TrialResult) -> float:
    """How long the stretches of the medians are: half a second, less for a fast sinusoid."""
    frequency = trial.stimulus.get("frequency_hz")
    if isinstance(frequency, int | float) and frequency > 0:
        return min(MEDIAN_S, MEDIAN_CYCLES / frequency)
    return MEDIAN_S


def medians_in_time(
    time_s: FloatArray, values: FloatArray, median_s: float
) -> tuple[FloatArray, FloatArray]:
    """Times and medians of equal stretches of about ``median_s``, longer in a long trial."""
    most = min(MEDIANS_MAX, time_s.size)
    parts = int(np.clip((time_s[-1] - time_s[0]) / median_s, 1, most))
    middles = [part[part.size // 2] for part in np.array_split(time_s, parts)]
    return np.array(middles), medians(values, parts)


def _hold_whole(axes: Axes, *curves: FloatArray) -> None:
    """Widen the limits so that no median and no fit is cut, however short its peak."""
    known = np.concatenate([curve[np.isfinite(curve)] for curve in curves])
    if known.size:
        low, high = axes.get_ylim()
        margin = 0.03 * (high - low)
        axes.set_ylim(min(low, known.min() - margin), max(high, known.max() + margin))


def _limit_by_percentiles(axes: Axes, *values: FloatArray, spare: float = 0.2) -> None:
    """Limits that leave out ``spare`` percent of the samples at either end, at least 2 high."""
    finite = [v[np.isfinite(v)] for v in values]
    bounds = [np.percentile(v, [spare, 100 - spare]) for v in finite if v.size]
    if bounds:
        low, high = min(b[0] for b in bounds), max(b[1] for b in bounds)
        margin = max(0.08 * (high - low), 1.0)
        axes.set_ylim(low - margin, high + margin)


def _unused_rows(trace: EyeTrace) -> list[int]:
    present = np.unique(trace.use)
    return [int(code) for code in present if code not in (USED, QUICK)]


def _draw_unused(axes: Axes, trace: EyeTrace, rows: list[int]) -> None:
    """Quick phases as ticks, those to the R above those to the L; a row for each other reason."""
    quick = trace.quick_phases
    for row, (letter, sign) in enumerate((("R", 1.0), ("L", -1.0))):
        onsets = quick.onset_s[np.sign(quick.amplitude_deg) == sign]
        axes.vlines(onsets, -row - 0.35, -row + 0.35, color=INK, lw=0.7, label=letter)
    for row, code in enumerate(rows, start=2):
        spans = [_span(trace, run) for run in runs_of(trace.use == code)]
        axes.broken_barh(spans, (-row - 0.35, 0.7), facecolor=FAINT, edgecolor=FAINT, lw=0.4)
    labels = ["quick phases R", "L", *(word("unused", UNUSED_REASONS[code]) for code in rows)]
    axes.set_yticks([-row for row in range(len(labels))], labels, fontsize=7.5)
    axes.set_ylim(-len(labels) + 0.4, 0.6)
    axes.set_xlabel("time (s)")
    axes.grid(visible=False)
    axes.tick_params(left=False)


def _span(trace: EyeTrace, run: tuple[int, int]) -> tuple[float, float]:
    start, stop = run
    end = trace.time_s[min(stop, trace.time_s.size - 1)]
    return float(trace.time_s[start]), float(end - trace.time_s[start])


def _shade(panels: list[Axes], trace: EyeTrace) -> None:
    """Shade what was not used for any reason but a quick phase, where it lasts long enough."""
    shortest_s = (trace.time_s[-1] - trace.time_s[0]) / 2000
    idle = (trace.use != USED) & (trace.use != QUICK)
    spans = [span for run in runs_of(idle) if (span := _span(trace, run))[1] > shortest_s]
    for axes in panels:
        low, high = axes.get_ylim()
        axes.broken_barh(spans, (low, high - low), facecolor=SHADE, zorder=0.5, lw=0)
        axes.set_ylim(low, high)


def _draw_folded(axes: Axes, evidence: Evidence, phase_deg: FloatArray) -> None:
    trace = evidence.horizontal
    used = (trace.use == USED) & np.isfinite(trace.velocity_deg_s)
    centre, quarters = binned(phase_deg[used], trace.velocity_deg_s[used], [25, 50, 75])
    axes.vlines(centre, quarters[0], quarters[2], color=SLOW, lw=1.2, alpha=0.45)
    axes.plot(centre, quarters[1], color=SLOW, lw=0, marker="_", ms=4)
    for values, colour, style in (
        (evidence.fit_deg_s, FIT, "-"),
        (evidence.head_velocity_deg_s, FAINT, ":"),
    ):
        if values is not None:
            x, middle = binned(phase_deg, values, [50])
            axes.plot(x, middle[0], color=colour, lw=1.1, ls=style)
    axes.axhline(0.0, color=FAINT, lw=0.6)
    axes.set_xlim(0, 360)
    axes.set_xticks([0, 90, 180, 270, 360])
    axes.set_xlabel("phase of the chair (deg)")
    axes.set_title("all cycles folded")
