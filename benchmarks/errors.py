"""One measured value beside its truth, and what many of them say together."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from slowphase.analysis.result import Analysis
from slowphase.measures.measure import Measure
from slowphase.physiology.simulate import TrialTruth
from slowphase.physiology.truth import FIXATING

from .aims import SMALLEST_TRUTH

FIXATED = " (target)"
RELATIVE = ("gain", "gain_right", "gain_left", "time_constant", "decay")
UNITS = {
    "phase": "deg",
    "asymmetry": "points",
    "suppression": "points",
    "gaze_slope": "1/s",
    "bias": "deg/s",
    "offset": "deg/s",
    "velocity": "deg/s",
}
STUDIED = (*RELATIVE, *UNITS)


@dataclass(frozen=True, slots=True)
class Compared:
    """One measure and its truth. ``error``, ``half_width`` are in ``unit``: percent of the truth
    for what is relative. Without a value both are infinite and ``covered`` is None. ``key`` is the
    measure's id within its ``trial``."""

    kind: str
    name: str
    unit: str
    error: float
    half_width: float = np.inf
    covered: bool | None = None
    grade: str = "unusable"
    trial: str = ""
    key: str = ""

    @property
    def given(self) -> bool:
        return bool(np.isfinite(self.error))


def error_unit(kind: str, name: str) -> str:
    """The unit of the error: with a target the truth of a gain is tiny, so it stays a ratio."""
    if name not in RELATIVE:
        return UNITS[name]
    return "ratio" if kind.endswith(FIXATED) else "%"


def scale(unit: str, true: float) -> float:
    """What an absolute error is multiplied with to be in that unit."""
    return 100.0 / max(abs(true), SMALLEST_TRUTH) if unit == "%" else 1.0


def difference(name: str, value: float, true: float) -> float:
    """Value less truth without its sign; phases on the circle."""
    apart = abs(value - true)
    return abs((apart + 180.0) % 360.0 - 180.0) if name == "phase" else apart


def compare(kind: str, measure: Measure, true: float, trial: str) -> Compared:
    """A measure beside its truth."""
    unit = error_unit(kind, measure.name)
    factor = scale(unit, true)
    error, half, covered = np.inf, np.inf, None
    if measure.value is not None:
        error = factor * difference(measure.name, measure.value, true)
        if measure.low is not None and measure.high is not None:
            half = factor * (measure.high - measure.low) / 2
            covered = bool(measure.low <= true <= measure.high)
    key = measure.id.split("/", 1)[1]
    return Compared(kind, measure.name, unit, error, half, covered, measure.grade, trial, key)


def compared(analysis: Analysis, truth: dict[str, TrialTruth]) -> Iterator[Compared]:
    """Every measure of a session that has a truth, missing ones included."""
    for trial in analysis.trials:
        fixated = trial.kind == "sinusoid" and trial.vision in FIXATING
        kind = trial.kind + FIXATED * fixated
        for measure in trial.measures:
            true = truth[trial.id].measures.get(measure.id.split("/", 1)[1])
            if true is not None and measure.name in STUDIED:
                yield compare(kind, measure, true, trial.id)
    for pair in analysis.pairs:
        for measure in pair.measures:
            true = truth[pair.fixation].measures.get(measure.name)
            if true is not None and measure.name in STUDIED:
                yield compare(pair.kind, measure, true, pair.fixation)


def summary(values: Iterable[Compared], digits: int = 3) -> dict[str, object]:
    """Errors (a missing value is worse than any other), shares, coverage and half width."""
    chosen = list(values)
    error = np.array([value.error for value in chosen])
    sound = np.array([value.error for value in chosen if value.grade == "sound"])
    half = [value.half_width for value in chosen if np.isfinite(value.half_width)]
    return {
        "n": len(chosen),
        "median": quantile(error, 50, digits),
        "p90": quantile(error, 90, digits),
        "worst_sound": _short(sound.max(), digits) if sound.size else None,
        "median_half_width": _short(float(np.median(half)), digits) if half else None,
    } | shares(chosen)


def shares(chosen: list[Compared]) -> dict[str, object]:
    """How many are given, sound and covered, in percent."""
    known = [value.covered for value in chosen if value.covered is not None]
    return {
        "given_pct": _percent([value.given for value in chosen]),
        "sound_pct": _percent([value.grade == "sound" for value in chosen]),
        "coverage_pct": _percent(known) if known else None,
    }


def quantile(error: np.ndarray, percent: float, digits: int = 3) -> float | None:
    """The error that this share stays within; None where that is a missing value."""
    if not error.size:
        return None
    # the next larger of two neighbours, since a missing value cannot be interpolated
    value = float(np.percentile(error, percent, method="higher"))
    return _short(value, digits) if np.isfinite(value) else None


def _percent(flags: list[bool]) -> float:
    return round(100 * float(np.mean(flags)), 1)


def _short(value: float, digits: int) -> float:
    return float(f"{value:.{digits}g}")
