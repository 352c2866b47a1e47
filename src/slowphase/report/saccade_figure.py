"""Saccades as a picture: eye and target, latency, accuracy, and the main sequence."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slowphase.measures.saccade.measures import SaccadeView
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
from slowphase.report.trial_figure import trial_figure

if TYPE_CHECKING:
    from collections.abc import Callable

    from matplotlib.axes import Axes

    from slowphase.eye.trace import EyeTrace
    from slowphase.measures.result import Evidence, TrialResult
    from slowphase.measures.saccade.answers import Answer

COLUMNS = 700
LETTERS = {"rightward": "R", "leftward": "L", "upward": "U", "downward": "D"}
NAMES = {"R": "to the R", "L": "to the L", "U": "up", "D": "down"}
MARKS = {"anticipated": "early", "missed": "missed", "unseen": "not seen"}


def saccade_figure(trial: TrialResult) -> str | None:
    """Traces and the three relations as inline SVG; the plain traces where nothing was found."""
    evidence = trial.evidence
    view = evidence.own if evidence else None
    if evidence is None or not isinstance(view, SaccadeView):
        return trial_figure(trial)
    with drawing_style(trial.id):
        figure = new_figure(10.0, 4.6)
        grid = figure.add_gridspec(2, 3, height_ratios=[1.0, 1.2])
        _draw_traces(figure.add_subplot(grid[0, :]), evidence, view)
        latency, accuracy, sequence = (figure.add_subplot(grid[1, i]) for i in range(3))
        _scatter(latency, view, lambda a: 1000.0 * a.latency_s)
        latency.set_ylabel("latency (ms)" if view.timed else "latency not known")
        _scatter(accuracy, view, lambda a: 100.0 * a.amplitude_deg / a.error_deg)
        accuracy.axhline(100.0, color=FAINT, lw=0.6)
        accuracy.set_ylabel("accuracy (%)")
        _draw_sequence(sequence, view)
        for axes in (latency, accuracy, sequence):
            axes.set_xlabel("size of the first saccade (deg)")
        used = sorted({LETTERS[a.jump.way] for a in view.answers}, key="RLUD".index)
        latency.set_title(", ".join(f"{letter} {NAMES[letter]}" for letter in used))
        return to_svg(figure, _label(trial, view))


def _label(trial: TrialResult, view: SaccadeView) -> str:
    answered = sum(a.verdict == "answered" for a in view.answers)
    return (
        f"Saccades {trial.id}: eye and target over time, and latency, accuracy and peak velocity "
        f"of the first saccade by its size; {answered} of {len(view.answers)} jumps answered."
    )


def _draw_traces(axes: Axes, evidence: Evidence, view: SaccadeView) -> None:
    planes = sorted({a.jump.plane for a in view.answers})
    shown: list[EyeTrace | None] = [evidence.horizontal, evidence.vertical]
    for plane in planes:
        trace = shown[plane]
        if trace is not None:
            style = "-" if plane == 0 else "--"
            name = "horizontal (R up)" if plane == 0 else "vertical (up is up)"
            axes.plot(*envelope(trace.time_s, trace.position_deg, COLUMNS), color=INK, lw=0.8,
                      ls=style, label=f"eye, {name}")  # fmt: skip
        place = view.steps.place_deg[:, plane]
        axes.hlines(place, view.steps.start_s, view.steps.stop_s, color=FIT, lw=1.2,
                    ls="-" if plane == 0 else "--", label="target")  # fmt: skip
    reach = 1.35 * max(float(np.abs(view.steps.place_deg).max()), 5.0)
    for answer in view.answers:
        if answer.verdict in MARKS:
            axes.text(answer.jump.time_s, 0.86 * reach, MARKS[answer.verdict], fontsize=7)
    axes.set_ylim(-reach, reach)
    time_s = evidence.horizontal.time_s
    axes.set_xlim(time_s[0], time_s[-1])
    axes.set_ylabel("position (deg)")
    axes.set_xlabel("time (s)")
    legend_above(axes, 4)


def _scatter(axes: Axes, view: SaccadeView, value_of: Callable[[Answer], float]) -> None:
    """A letter for each answered jump, at its size and value."""
    rows = [(a, value_of(a)) for a in view.answers if a.verdict == "answered"]
    rows = [(a, value) for a, value in rows if np.isfinite(value)]
    for answer, value in rows:
        _letter(axes, answer, value)
    if rows:
        sizes = np.abs([a.amplitude_deg for a, _ in rows])
        values = np.array([value for _, value in rows])
        spare = 0.12 * (np.ptp(values) + 0.1 * abs(values.mean()) + 1e-6)
        axes.set_xlim(0.0, 1.1 * sizes.max())
        axes.set_ylim(values.min() - spare, values.max() + spare)


def _letter(axes: Axes, answer: Answer, value: float) -> None:
    axes.text(abs(answer.amplitude_deg), value, LETTERS[answer.jump.way], color=SLOW, fontsize=8,
              ha="center", va="center", clip_on=True)  # fmt: skip


def _draw_sequence(axes: Axes, view: SaccadeView) -> None:
    """Peaks as letters and the fitted main sequence of each direction, named at its end."""
    _scatter(axes, view, lambda a: a.peak_deg_s.get("both", np.nan))
    right = axes.get_xlim()[1]
    top = axes.get_ylim()[1]
    for way, sequence in view.sequences.items():
        if way == "all" and len(view.sequences) > 1:
            continue
        sizes = np.linspace(0.3, right, 80)
        speed = sequence.speed(sizes)
        style = "--" if way in ("leftward", "downward") else "-"
        axes.plot(sizes, speed, color=FIT, lw=1.1, ls=style)
        top = max(top, 1.03 * float(speed.max()))
    axes.set_ylim(0.0, top)
    axes.set_ylabel("peak velocity (deg/s)")
    axes.set_title("line: R, up; dashes: L, down")
