"""Which module draws which kind of trial or group. A new kind adds its file and one line here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slowphase.report.caloric_figure import caloric_figure, calorics_figure
from slowphase.report.gaze_figure import gaze_figure
from slowphase.report.labels import word
from slowphase.report.positional_figure import positional_figure
from slowphase.report.trial_figure import trial_figure

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from slowphase.analysis.result import Analysis
    from slowphase.measures.result import GroupResult, TrialResult

FIGURES: Mapping[str, Callable[[TrialResult], str | None]] = {
    "caloric": caloric_figure,
    "positional": positional_figure,
}
GROUP_FIGURES: Mapping[str, Callable[[GroupResult, Analysis], str | None]] = {
    "caloric": calorics_figure,
    "gaze": gaze_figure,
}


def kind_figure(trial: TrialResult) -> str | None:
    """The picture of a trial as its kind is drawn; its traces where the kind has no own picture."""
    return FIGURES.get(trial.kind, trial_figure)(trial)


def figure_caption(kind: str) -> str:
    """What a trial's picture shows, in words below it."""
    return word("caption", kind if kind in FIGURES else "traces")
