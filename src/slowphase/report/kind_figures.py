"""Which module draws which kind of trial or group. A new kind adds its file and one line here."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from slowphase.report.calibration_figure import calibration_figure
from slowphase.report.caloric_figure import caloric_figure, calorics_figure
from slowphase.report.gaze_figure import gaze_figure
from slowphase.report.impulse_figure import impulse_figure
from slowphase.report.impulse_group_figure import impulse_group_figure
from slowphase.report.optokinetic_figure import optokinetic_figure
from slowphase.report.positional_figure import positional_figure
from slowphase.report.pursuit_figure import pursuit_figure
from slowphase.report.saccade_figure import saccade_figure
from slowphase.report.trial_figure import trial_figure

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from slowphase.analysis.result import Analysis
    from slowphase.measures.result import GroupResult, TrialResult

FIGURES: Mapping[str, Callable[[TrialResult], str | None]] = {
    "calibration": calibration_figure,
    "saccade": saccade_figure,
    "pursuit": pursuit_figure,
    "optokinetic": optokinetic_figure,
    "positional": positional_figure,
    "caloric": caloric_figure,
    "impulse": impulse_figure,
}
GROUP_FIGURES: Mapping[str, Callable[[GroupResult, Analysis], str | None]] = {
    "gaze": gaze_figure,
    "caloric": calorics_figure,
    "impulse": impulse_group_figure,
}


def kind_figure(trial: TrialResult) -> str | None:
    """The picture of a trial as its kind is drawn; its traces where the kind has no own picture."""
    return FIGURES.get(trial.kind, trial_figure)(trial)


def kind_caption(trial: TrialResult) -> str:
    """What the picture of a trial shows; that of plain traces where its kind has no own words."""
    own = trial.evidence is not None and trial.evidence.own is not None
    return str(captions().get(trial.kind if own else "", captions()["traces"]))


def group_caption(group: GroupResult) -> str:
    """What the picture of a group shows."""
    return str(captions()["group"].get(group.kind, ""))


@cache
def captions() -> dict[str, Any]:
    """The words below each kind's picture, and those of the groups in a table of their own."""
    text = (files(__package__) / "captions.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)
