"""Measures of several trials together: ratios, and repeats weighed by inverse variance."""

from dataclasses import replace

import numpy as np

from slowphase.foundation.reasons import reasons, worst_grade
from slowphase.measures.interval import Z95, Estimate
from slowphase.measures.measure import Measure
from slowphase.measures.result import TrialResult
from slowphase.measures.weighted import weighted

ON_A_LOG_SCALE = ("time_constant", "decay")
INHERITED = (
    "low_alertness",
    "few_usable_samples",
    "under_one_cycle",
    "head_rebuilt",
    "poorly_determined",
    "shape_differs",
    "not_converged",
    "noisy_trace",
    "noise_hides_quick_phases",
    "slow_quick_phases",
    "roving_eyes",
    "strength_changes",
    "light_leak",
    "repeats_disagree",
)

# Cautions that end with the part: a ratio of two velocities knows no scale, and what is made of a
# rough value has an interval of its own.
OF_THE_PART = ("calibration_off", "known_roughly")


def ratio_estimate(dark: Measure, fixed: Measure, *, signed: bool = False) -> Estimate:
    """100 (1 - fixed / dark) and its interval by Fieller's theorem.

    Gains are never negative, so that suppression ends at 100 %; of ``signed`` values the ratio
    may be negative.
    """
    way = np.sign(dark.value or 0.0) or 1.0
    a, b = way * float(fixed.value or 0.0), way * float(dark.value or 0.0)
    va, vb = standard_error(fixed) ** 2, standard_error(dark) ** 2
    value = 100.0 * (1.0 - a / b)
    g = Z95**2 * vb / b**2
    if g >= 1.0:
        return Estimate(value)
    middle = (a / b) / (1 - g)
    reach = Z95 / (1 - g) * np.sqrt(max((va + (a / b) ** 2 * vb - g * va), 0.0)) / b
    least = middle - reach if signed else max(middle - reach, 0.0)
    return Estimate(
        value,
        float(min(100.0 * (1.0 - middle - reach), value)),
        float(max(100.0 * (1.0 - least), value)),
    )


def measure_of(result: TrialResult, name: str) -> Measure:
    """The measure of that name of a trial."""
    return next(measure for measure in result.measures if measure.name == name)


def inherited(measures: list[Measure]) -> tuple[str, ...]:
    """The reasons of the parts that hold for what is made of them, each once."""
    codes = (code for measure in measures for code in measure.why if code in INHERITED)
    return tuple(dict.fromkeys(codes))


def cautions(measures: list[Measure]) -> tuple[str, ...]:
    """What is inherited, and every other caution of the parts but those of `OF_THE_PART`."""
    codes = tuple(dict.fromkeys(code for measure in measures for code in measure.why))
    own = inherited(measures)
    return tuple(
        code
        for code in codes
        if code in own or (reasons()[code].grade == "caution" and code not in OF_THE_PART)
    )


def standard_error(measure: Measure) -> float:
    """Standard error back from the 95 % interval; the upper half, which no floor has cut."""
    if measure.value is None or measure.high is None:
        return float("inf")
    return max((measure.high - measure.value) / Z95, 1e-9)


def combined(measures: list[Measure]) -> Measure:
    """One measure from repeats, weighed by inverse variance; the first one's labels.

    Standard errors are read back from the intervals as if those were normal, which for few degrees
    of freedom is on the wide side. Time constants, whose intervals are symmetric on the logarithm,
    are combined there. The reasons are those of all, and the grade follows from them.

    Repeats that surely differ by more than their intervals allow (chi-squared, `SURELY`) are
    widened by Birge's ratio and set ``repeats_disagree``; others keep what the weights say.
    """
    known = [measure for measure in measures if measure.value is not None]
    if len(known) < 2:
        return known[0] if known else measures[0]
    on_log = known[0].name in ON_A_LOG_SCALE
    mean = weighted(*(_logs(known) if on_log else _plain(known)))
    reach = Z95 * mean.held
    ends = (mean.value - reach, mean.value + reach) if np.isfinite(reach) else (None, None)
    value, low, high = (_back(end, on_log=on_log) for end in (mean.value, *ends))
    codes = (code for measure in known for code in measure.why)
    why = tuple(dict.fromkeys((*codes, *(("repeats_disagree",) if mean.disagree else ()))))
    return replace(known[0], value=value, low=low, high=high, grade=worst_grade(why), why=why)


def _plain(known: list[Measure]) -> tuple[list[float], list[float]]:
    """Values and standard errors."""
    return [measure.value or 0.0 for measure in known], [standard_error(m) for m in known]


def _logs(known: list[Measure]) -> tuple[list[float], list[float]]:
    """Logarithms of the values, and their standard errors."""
    values = [float(np.log(measure.value or np.nan)) for measure in known]
    highs = [float(np.log(measure.high or np.inf)) for measure in known]
    errors = [max(high - value, 1e-9) / Z95 for value, high in zip(values, highs, strict=True)]
    return values, errors


def _back(value: float | None, *, on_log: bool) -> float | None:
    """A value or a limit from the scale on which it was combined."""
    return float(np.exp(min(value, 700.0))) if on_log and value is not None else value
