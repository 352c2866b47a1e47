"""Head impulses as a picture: head and eye of every impulse, L and R apart, and gain by head speed.

Head and eye are drawn with the same sign, so that they lie on one another where the eye answers in
full. Saccades stand out as thick stretches of the eye's line, refused impulses are faint.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from slowphase.measures.impulse.impulse import Impulse, Impulses
from slowphase.measures.impulse.plane import CANALS
from slowphase.report.drawing import (
    FAINT,
    FIT,
    INK,
    SLOW,
    drawing_style,
    new_figure,
    to_svg,
)

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes

    from slowphase.foundation.arrays import BoolArray
    from slowphase.measures.impulse.saccades import Response
    from slowphase.measures.result import TrialResult

SHOWN_MS = (-60.0, 500.0)
GAIN_TOP = 1.3


def impulse_figure(trial: TrialResult) -> str | None:
    """Both canals of a trial's plane as inline SVG; None when no impulse was seen."""
    found = trial.evidence.own if trial.evidence else None
    if not isinstance(found, Impulses) or not any(one.response for one in found.impulses):
        return None
    with drawing_style(trial.id):
        figure = new_figure(10.0, 5.2)
        grid = figure.subplots(2, 2, height_ratios=[2.0, 1.0], sharey="row")
        for column, canal in enumerate(left_first(found.plane)):
            own = [one for one in found.of(canal) if one.response is not None]
            _draw_velocities(grid[0, column], own)
            _draw_gains(grid[1, column], own)
            grid[0, column].set_title(_title(canal, own), fontweight="bold")
        _legend(grid[0, 0], grid[0, 1])
        grid[0, 0].set_ylabel("velocity (deg/s)\nof the head, eye inverted")
        grid[1, 0].set_ylabel("gain")
        _set_limits(grid[0, 0], found)
        return to_svg(figure, figure_label(trial, found))


def left_first(plane: str) -> tuple[str, ...]:
    """The canals of a plane, that of the left ear first: left panel, left ear."""
    return tuple(sorted(CANALS[plane], key=lambda canal: not canal.startswith("left")))


def figure_label(trial: TrialResult, found: Impulses) -> str:
    """The picture in words."""
    eyes = " and ".join(found.eyes)
    said = ", ".join(_counted(canal, found.of(canal)) for canal in left_first(found.plane))
    return (
        f"Head impulses of trial {trial.id}, plane {found.plane}, {eyes} eye: head and eye "
        f"velocity over time since the head's start, and gain over peak head speed; {said}."
    )


def _counted(canal: str, own: tuple[Impulse, ...]) -> str:
    used = sum(one.accepted for one in own)
    return f"{canal} {used} accepted, {len(own) - used} refused"


def _title(canal: str, own: list[Impulse]) -> str:
    letter = "L" if canal.startswith("left") else "R"
    used = sum(one.accepted for one in own)
    return f"{letter}   {canal}: {used} accepted, {len(own) - used} refused"


def _draw_velocities(axes: Axes, own: list[Impulse]) -> None:
    """Head dotted, eye solid, saccades thick; names stand in the legend once, refused ones too."""
    named: set[str] = set()
    for one in sorted(own, key=lambda one: one.accepted):
        if one.response is None:
            continue
        time_ms, eye = 1000.0 * one.response.time_s, one.response.eye
        fast = np.where(_in_saccade(one.response), eye, np.nan)
        seen = np.where(one.response.hidden, np.nan, eye)
        lines = (
            [("head", one.response.head, INK, ":", 0.7), ("eye", seen, SLOW, "-", 0.8),
             ("its saccades", fast, FIT, "-", 1.8)]
            if one.accepted
            else [("eye of a refused one", seen, FAINT, "-", 0.4)]
        )  # fmt: skip
        for name, values, colour, style, width in lines:
            label = None if name in named else name
            axes.plot(time_ms, values, color=colour, ls=style, lw=width, alpha=0.85, label=label)
            named.add(name)
    axes.axhline(0.0, color=FAINT, lw=0.6)
    axes.set_xlim(*SHOWN_MS)
    axes.set_xlabel("time since the head's start (ms)")


def _legend(left: Axes, right: Axes) -> None:
    """One legend in the right panel for the lines of both."""
    shown: dict[str, Artist] = {}
    for axes in (left, right):
        lines, names = axes.get_legend_handles_labels()
        shown |= dict(zip(names, lines, strict=True))
    right.legend(list(shown.values()), list(shown), loc="upper right", handlelength=1.6)


def _in_saccade(response: Response) -> BoolArray:
    """Samples of the eye's line that are saccade, True there, shape (n,)."""
    since = response.time_s
    inside = np.zeros(since.size, dtype=bool)
    for saccade in response.saccades:
        inside |= (since >= saccade.onset_s) & (since <= saccade.offset_s)
    return inside


def _draw_gains(axes: Axes, own: list[Impulse]) -> None:
    """One level tick for each impulse; an upright one, faint, where it was refused."""
    for used, mark, colour in ((True, "_", SLOW), (False, "|", FAINT)):
        chosen = [one for one in own if one.accepted is used]
        gains = [float(one.gain) for one in chosen]
        axes.plot([one.peak_deg_s for one in chosen], gains, color=colour, lw=0, marker=mark,
                  ms=7 if used else 4, mew=1.6 if used else 0.8)  # fmt: skip
    used_gains = [one.gain for one in own if one.accepted]
    if used_gains:
        axes.axhline(float(np.median(used_gains)), color=INK, lw=0.7, ls="--")
    known = [one.gain for one in own if np.isfinite(one.gain)]
    axes.set_ylim(min([0.0, *known]), max([GAIN_TOP, *(1.05 * gain for gain in known)]))
    axes.set_xlabel("peak head speed (deg/s); dashed: median; upright: refused")


def _set_limits(axes: Axes, found: Impulses) -> None:
    """Limits that hold every accepted head and the usual saccade, not a blink's spike."""
    used = [one.response for one in found.impulses if one.accepted and one.response]
    shown = used or [one.response for one in found.impulses if one.response]
    tops = [max(np.percentile(r.eye, 99), r.head.max()) for r in shown]
    lows = [min(np.percentile(r.eye, 1), r.head.min()) for r in shown]
    margin = 0.08 * (max(tops) - min(lows))
    axes.set_ylim(min(lows) - margin, max(tops) + margin)
