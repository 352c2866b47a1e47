"""Which measures of a kind the terminal shows; the page shows all. All of kinds not named here."""

from collections.abc import Mapping

from slowphase.measures.measure import Measure
from slowphase.measures.result import TrialResult

BRIEF: Mapping[str, tuple[str, ...]] = {
    "caloric": ("peak", "response", "spontaneous", "fixation_index"),
    "gaze": ("velocity", "gaze", "rebound"),
    "impulse": ("gain", "impulses", "refused", "early_saccades", "late_saccades"),
}


def brief(trial: TrialResult) -> list[Measure]:
    """The measures of a trial that its line in the terminal names."""
    names = BRIEF.get(trial.kind)
    return [m for m in trial.measures if names is None or m.name in names]
