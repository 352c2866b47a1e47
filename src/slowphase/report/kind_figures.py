"""Which module draws which kind of trial or group. A new kind adds its file and one line here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slowphase.report.caloric_figure import caloric_figure, calorics_figure
from slowphase.report.gaze_figure import gaze_figure
from slowphase.report.impulse_figure import impulse_figure
from slowphase.report.impulse_group_figure import impulse_group_figure
from slowphase.report.positional_figure import positional_figure
from slowphase.report.trial_figure import trial_figure

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from slowphase.analysis.result import Analysis
    from slowphase.measures.result import GroupResult, TrialResult

FIGURES: Mapping[str, Callable[[TrialResult], str | None]] = {
    "caloric": caloric_figure,
    "positional": positional_figure,
    "impulse": impulse_figure,
}
GROUP_FIGURES: Mapping[str, Callable[[GroupResult, Analysis], str | None]] = {
    "caloric": calorics_figure,
    "gaze": gaze_figure,
    "impulse": impulse_group_figure,
}

CAPTIONS: Mapping[str, str] = {  # under a kind's own picture
    "impulse": (
        "Top: the head's velocity (dotted) and the eye's, turned over (blue), of every impulse "
        "over time since the head's start; saccades are thick and orange, refused impulses faint. "
        "Below: the gain of each impulse over its peak head speed; upright ticks were refused."
    ),
    "caloric": (
        "Slow phase in use (faint blue), its medians of one second (blue) and the curve "
        "through them (orange), without fixation; the thick bar is the strongest ten seconds "
        "with its 95 % interval, the dotted line the spontaneous nystagmus before the "
        "irrigation. Below: when water or air flowed and when a target was fixated, then "
        "quick phases to the R and to the L as ticks."
    ),
    "positional": (
        "Slow phase of each plane that was recorded: medians of half a second (thin) and the "
        "curve through them (thick). Full line: vertical; dashed: torsional; dotted: "
        "horizontal. The upright line is when the position was reached."
    ),
}
GROUP_CAPTIONS: Mapping[str, str] = {  # under a group's
    "gaze": (
        "Slow phase at each gaze position: level ticks, with 95 % intervals as upright lines. "
        "Full line: the dependence on gaze in the dark; dashed: in the light. A line that "
        "falls from upper left to lower right is a gaze that runs back to the centre."
    ),
    "caloric": (
        "The curves of all recorded irrigations on one axis of time since each began, without "
        "fixation, the spontaneous nystagmus left in; L ear on the left, R ear on the right. "
        "Full lines: warm; dashed: cool. The bars are the strongest ten seconds, each with "
        "its 95 % interval."
    ),
}


def kind_figure(trial: TrialResult) -> str | None:
    """The picture of a trial as its kind is drawn; its traces where the kind has no own picture."""
    return FIGURES.get(trial.kind, trial_figure)(trial)
