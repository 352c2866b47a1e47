"""Which module draws which kind of trial or group. A new kind adds its file and one line here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slowphase.report.impulse_figure import impulse_figure
from slowphase.report.impulse_group_figure import impulse_group_figure
from slowphase.report.trial_figure import trial_figure

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from slowphase.analysis.result import Analysis
    from slowphase.measures.result import GroupResult, TrialResult

FIGURES: Mapping[str, Callable[[TrialResult], str | None]] = {
    "impulse": impulse_figure,
}
GROUP_FIGURES: Mapping[str, Callable[[GroupResult, Analysis], str | None]] = {
    "impulse": impulse_group_figure,
}

CAPTIONS: Mapping[str, str] = {  # under a kind's own picture
    "impulse": (
        "Top: the head's velocity (dotted) and the eye's, turned over (blue), of every impulse "
        "over time since the head's start; saccades are thick and orange, refused impulses faint. "
        "Below: the gain of each impulse over its peak head speed; upright ticks were refused."
    ),
}


def kind_figure(trial: TrialResult) -> str | None:
    """The picture of a trial as its kind is drawn; its traces where the kind has no own picture."""
    return FIGURES.get(trial.kind, trial_figure)(trial)
