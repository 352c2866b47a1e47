"""Slow-phase velocity on gaze: every position of a session in one picture."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slowphase.measures.gaze_group import PLANES, Held, of_words, positions
from slowphase.report.drawing import FAINT, INK, SLOW, drawing_style, new_figure, to_svg
from slowphase.report.labels import value_text, word

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from slowphase.analysis.result import Analysis
    from slowphase.measures.result import GroupResult

ENDS = {"horizontal": ("L", "R"), "vertical": ("down", "up")}
TICK_DEG = 1.6
STYLES = {False: "-", True: "--"}


def gaze_figure(group: GroupResult, analysis: Analysis) -> str | None:
    """Velocity on gaze as inline SVG, a panel for each plane; None where nothing was measured."""
    trials = [trial for trial in analysis.trials if trial.id in group.trials]
    planes = {plane: positions(trials, plane) for plane in PLANES}
    shown = {plane: held for plane, held in planes.items() if worth(held)}
    if not shown:
        return None
    with drawing_style("gaze"):
        figure = new_figure(5.0 * max(len(shown), 2), 3.4)
        panels = figure.subplots(1, max(len(shown), 2), squeeze=False)[0]
        for axes, (plane, held) in zip(panels, shown.items(), strict=False):
            _draw(axes, plane, held, group)
        for axes in panels[len(shown) :]:
            axes.set_visible(False)
        return to_svg(figure, gaze_label(shown))


def worth(held: list[Held]) -> bool:
    """Whether there is a position beside the centre."""
    return any(one.name not in ("centre", "free") for one in held) or len(held) > 1


def gaze_label(shown: dict[str, list[Held]]) -> str:
    """The picture in words."""
    told = "; ".join(
        f"{plane} {one.name} ({'light' if one.seeing else 'dark'}) {value_text(one.velocity)}"
        for plane, held in shown.items()
        for one in held
    )
    return f"{word('group', 'gaze')}, slow-phase velocity on gaze: {told}."


def _draw(axes: Axes, plane: str, held: list[Held], group: GroupResult) -> None:
    axes.axhline(0.0, color=FAINT, lw=0.6)
    axes.axvline(0.0, color=FAINT, lw=0.6)
    for seeing in (False, True):
        same = [one for one in held if one.seeing is seeing]
        for one in same:
            _draw_position(axes, one)
        _draw_line(axes, plane, same, group, seeing=seeing)
    low, high = ENDS[plane]
    axes.set_xlabel(f"gaze (deg), {low} to {high}")
    axes.set_ylabel(f"slow phase (deg/s)\n{high} is up")
    axes.set_title(plane)
    reach = max(25.0, *(abs(one.gaze_deg) + 4.0 for one in held))
    axes.set_xlim(-reach, reach)


def _draw_position(axes: Axes, one: Held) -> None:
    value, colour = one.velocity.value or 0.0, INK if one.seeing else SLOW
    axes.hlines(value, one.gaze_deg - TICK_DEG, one.gaze_deg + TICK_DEG, color=colour, lw=2.2)
    if one.velocity.low is not None and one.velocity.high is not None:
        axes.vlines(one.gaze_deg, one.velocity.low, one.velocity.high, color=colour, lw=1.1)
    axes.annotate("light" if one.seeing else "dark", (one.gaze_deg + TICK_DEG, value),
                  xytext=(3, 0), textcoords="offset points", fontsize=7.5, va="center")  # fmt: skip


def _draw_line(
    axes: Axes, plane: str, held: list[Held], group: GroupResult, *, seeing: bool
) -> None:
    of = of_words(plane, seeing=seeing)
    known = {m.name: m.value for m in group.measures if m.of == of and m.value is not None}
    if not {"velocity_at_centre", "gaze_dependence"} <= known.keys():
        return
    ends = np.array([min(one.gaze_deg for one in held), max(one.gaze_deg for one in held)])
    velocity = known["velocity_at_centre"] + known["gaze_dependence"] * ends
    axes.plot(ends, velocity, color=INK if seeing else SLOW, lw=1.0, ls=STYLES[seeing], alpha=0.7)
