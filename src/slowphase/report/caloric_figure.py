"""Calorics as pictures: one irrigation with its curve, and all of them on one axis of time."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slowphase.eye.trace import USED
from slowphase.measures.caloric import CaloricShape
from slowphase.measures.prepare import number
from slowphase.report.drawing import (
    FAINT,
    FIT,
    INK,
    PAPER,
    SHADE,
    SLOW,
    drawing_style,
    legend_above,
    new_figure,
    to_svg,
)
from slowphase.report.envelope import envelope
from slowphase.report.labels import LETTERS, value_text, word
from slowphase.report.trial_figure import medians_in_time

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from slowphase.analysis.result import Analysis
    from slowphase.measures.measure import Measure
    from slowphase.measures.result import Evidence, GroupResult, TrialResult

COLUMNS = 700
MEDIAN_S = 1.0
EARS = ("left", "right")
STYLES = {"warm": "-", "cool": (0, (5, 2))}


def caloric_figure(trial: TrialResult) -> str | None:
    """One irrigation as inline SVG; None when nothing was measured on it."""
    evidence = trial.evidence
    if evidence is None or not isinstance(evidence.own, CaloricShape):
        return None
    with drawing_style(trial.id):
        figure = new_figure(10.0, 3.9)
        above, below = figure.subplots(2, 1, sharex=True, height_ratios=[3.0, 1.0])
        _draw_slow_phase(above, evidence)
        _draw_curve(above, evidence.own, _peak(trial))
        legend_above(above, 5)
        _draw_events(below, evidence, evidence.own)
        return to_svg(figure, caloric_label(trial))


def caloric_label(trial: TrialResult) -> str:
    """The picture of an irrigation in words."""
    peak = _peak(trial)
    told = f"peak {value_text(peak)}" if peak else "no peak"
    return f"Irrigation {trial.id} ({irrigation_words(trial)}): slow-phase velocity, {told}."


def irrigation_words(trial: TrialResult) -> str:
    """Ear, temperature and medium in a few words: ``R ear, warm, 44 °C, water``."""
    ear = LETTERS.get(str(trial.stimulus.get("ear")), "?")
    degrees = number(trial.stimulus, "temperature_c")
    medium = str(trial.stimulus.get("medium", ""))
    parts = (f"{ear} ear", warmth(trial), f"{degrees:g} °C", medium)
    return ", ".join(part for part in parts if part)


def warmth(trial: TrialResult) -> str:
    """``warm`` or ``cool`` as measured; empty where it is neither, or nothing was."""
    shape = trial.evidence.own if trial.evidence else None
    return shape.warmth if isinstance(shape, CaloricShape) else ""


def _peak(trial: TrialResult) -> Measure | None:
    found = (m for m in trial.measures if m.name == "peak" and m.of is None)
    return next((measure for measure in found if measure.value is not None), None)


def _draw_slow_phase(axes: Axes, evidence: Evidence) -> None:
    trace = evidence.horizontal
    slow = np.where(trace.use == USED, trace.velocity_deg_s, np.nan)
    axes.plot(*envelope(trace.time_s, slow, COLUMNS), color=SLOW, lw=0.5, alpha=0.25,
              label="slow phase")  # fmt: skip
    time_s, middles = medians_in_time(trace.time_s, slow, MEDIAN_S)
    axes.plot(time_s, middles, color=SLOW, lw=1.0, label="medians")
    axes.axhline(0.0, color=FAINT, lw=0.6)
    axes.set_ylabel("slow phase (deg/s)\nto the R up")
    axes.set_xlim(trace.time_s[0], trace.time_s[-1])
    known = slow[np.isfinite(slow)]
    if known.size:
        low, high = np.percentile(known, [2, 98])
        spare = max(0.15 * (high - low), 2.0)
        axes.set_ylim(min(low, 0.0) - spare, max(high, 0.0) + spare)


def _draw_curve(axes: Axes, shape: CaloricShape, peak: Measure | None) -> None:
    axes.plot(shape.time_s, shape.curve_deg_s, color=FIT, lw=1.4, label="curve")
    if shape.level_deg_s is not None:
        axes.axhline(shape.level_deg_s, color=INK, lw=1.0, ls=":", label="before irrigation")
    if peak is not None and shape.top_s is not None:
        draw_peak(axes, shape.top_s, peak, label="strongest 10 s")


def draw_peak(axes: Axes, top_s: tuple[float, float], peak: Measure, *, label: str = "") -> None:
    """The culmination as a bar as long as it lasted, with its interval as an upright line."""
    axes.hlines(peak.value or 0.0, *top_s, color=INK, lw=3.0, zorder=4, label=label)
    if peak.low is not None and peak.high is not None:
        axes.vlines(0.5 * sum(top_s), peak.low, peak.high, color=INK, lw=1.2, zorder=4)


def _draw_events(axes: Axes, evidence: Evidence, shape: CaloricShape) -> None:
    """Irrigation and fixation as bars, quick phases as ticks, each in a row of its own."""
    quick, time_s = evidence.horizontal.quick_phases, evidence.horizontal.time_s
    rows: list[str] = []
    for name, span in (
        ("irrigation", shape.irrigation.flow_s),
        ("fixation", shape.irrigation.fixation_s),
    ):
        if span is not None:
            stop = float(time_s[-1]) if span[1] is None else span[1]
            axes.broken_barh([(span[0], stop - span[0])], (-len(rows) - 0.35, 0.7),
                             facecolor=SHADE, edgecolor=FAINT, lw=0.6)  # fmt: skip
            rows.append(name)
    for letter, sign in (("R", 1.0), ("L", -1.0)):
        onsets = quick.onset_s[np.sign(quick.amplitude_deg) == sign]
        axes.vlines(onsets, -len(rows) - 0.35, -len(rows) + 0.35, color=INK, lw=0.6)
        rows.append(f"quick phases {letter}")
    axes.set_yticks([-row for row in range(len(rows))], rows, fontsize=7.5)
    axes.set_ylim(-len(rows) + 0.4, 0.6)
    axes.set_xlabel("time (s)")
    axes.grid(visible=False)
    axes.tick_params(left=False)


def calorics_figure(group: GroupResult, analysis: Analysis) -> str | None:
    """All recorded irrigations of the group as inline SVG; None where all were typed."""
    trials = [t for t in analysis.trials if t.id in group.trials and _starts_s(t) is not None]
    if not trials:
        return None
    with drawing_style("calorics"):
        figure = new_figure(10.0, 3.6)
        panels = figure.subplots(1, 2, sharex=True, sharey=True)
        for axes, ear in zip(panels, EARS, strict=True):
            _draw_ear(axes, [t for t in trials if t.stimulus.get("ear") == ear])
            axes.set_title(f"{LETTERS[ear]} ear", fontweight="bold")
            axes.set_xlabel("time since the irrigation began (s)")
        panels[0].margins(y=0.12)
        panels[0].set_ylabel("slow phase (deg/s)\nto the R up")
        return to_svg(figure, calorics_label(trials))


def calorics_label(trials: list[TrialResult]) -> str:
    """The picture of all irrigations in words."""
    told = "; ".join(
        f"{irrigation_words(trial)}: {value_text(peak) if (peak := _peak(trial)) else '–'}"
        for trial in trials
    )
    return f"{word('group', 'caloric')}, peak slow phase over time since each irrigation: {told}."


def _starts_s(trial: TrialResult) -> float | None:
    """When the irrigation began, the recording's start where that is not told."""
    if trial.evidence is None or not isinstance(trial.evidence.own, CaloricShape):
        return None
    flow = trial.evidence.own.irrigation.flow_s
    return flow[0] if flow else float(trial.evidence.own.time_s[0])


def _draw_ear(axes: Axes, trials: list[TrialResult]) -> None:
    axes.axhline(0.0, color=FAINT, lw=0.6)
    for trial in trials:
        shape = trial.evidence.own if trial.evidence else None
        start_s, peak = _starts_s(trial), _peak(trial)
        if not isinstance(shape, CaloricShape) or start_s is None:
            continue
        since = shape.time_s - start_s
        name = warmth(trial)
        axes.plot(since, shape.curve_deg_s, color=SLOW, lw=1.3, ls=STYLES.get(name, ":"))
        if peak is None or shape.top_s is None or peak.value is None:
            continue
        top = (shape.top_s[0] - start_s, shape.top_s[1] - start_s)
        draw_peak(axes, top, peak)
        _name(axes, f"{name} {number(trial.stimulus, 'temperature_c'):g} °C", (top[1], peak.value))


def _name(axes: Axes, text: str, at: tuple[float, float]) -> None:
    """A name to the right of a culmination, away from 0."""
    axes.annotate(text, at, xytext=(6, 10 if at[1] >= 0 else -10), textcoords="offset points",
                  fontsize=8.5, fontweight="bold", va="center", zorder=5,
                  bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.6})  # fmt: skip
