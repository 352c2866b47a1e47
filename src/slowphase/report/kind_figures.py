"""Which module draws which kind of trial or group. A new kind adds its file and one line here."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from slowphase.report.calibration_figure import calibration_figure
from slowphase.report.optokinetic_figure import optokinetic_figure
from slowphase.report.pursuit_figure import pursuit_figure
from slowphase.report.saccade_figure import saccade_figure
from slowphase.report.trial_figure import trial_figure

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from slowphase.analysis.result import Analysis
    from slowphase.measures.result import GroupResult, TrialResult

FIGURES: Mapping[str, Callable[[TrialResult], str | None]] = {
    # tests with targets and scenes
    "calibration": calibration_figure,
    "optokinetic": optokinetic_figure,
    "pursuit": pursuit_figure,
    "saccade": saccade_figure,
}
GROUP_FIGURES: Mapping[str, Callable[[GroupResult, Analysis], str | None]] = {}


def kind_figure(trial: TrialResult) -> str | None:
    """The picture of a trial as its kind is drawn; its traces where the kind has no own picture."""
    return FIGURES.get(trial.kind, trial_figure)(trial)


def kind_caption(trial: TrialResult) -> str:
    """What the picture of a trial shows; that of plain traces where its kind has no own words."""
    own = trial.evidence is not None and trial.evidence.own is not None
    return captions().get(trial.kind if own else "", captions()["traces"])


@cache
def captions() -> dict[str, str]:
    """The words below each kind's picture."""
    text = (files(__package__) / "captions.toml").read_text(encoding="utf-8")
    return dict(tomllib.loads(text))
