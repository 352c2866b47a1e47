"""The two exciting directions across two spins: each side has one ``per`` and one ``post``."""

import numpy as np

from slowphase.measures.interval import NOTHING, Estimate, Maker
from slowphase.measures.measure import Measure, Side
from slowphase.measures.result import PairResult, TrialResult
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.suppression import QUANTILE, combined, standard_error


def pair_sides(
    results: tuple[TrialResult, ...], settings: MeasureSettings
) -> tuple[PairResult, ...]:
    """One pair for the first spin to the right and the first to the left, if both are there."""
    del settings
    spins = [trial for trial in results if trial.kind == "step" and trial.measures]
    first: dict[object, TrialResult] = {}
    for trial in spins:
        first.setdefault(trial.stimulus.get("direction"), trial)
    if "right" not in first or "left" not in first:
        return ()
    return (sides_pair(first["right"], first["left"]),)


def sides_pair(right: TrialResult, left: TrialResult) -> PairResult:
    """Asymmetry of gain (%) and difference of time constants (s), right minus left exciting.

    The two responses of each exciting direction are combined by inverse variance first.
    """
    make = Maker(f"{right.id}~{left.id}")
    spins = (right, left)
    asymmetry = gain_asymmetry(pooled(spins, "gain", "right"), pooled(spins, "gain", "left"))
    difference = constant_difference(
        pooled(spins, "time_constant", "right"), pooled(spins, "time_constant", "left")
    )
    why = ("no_response",)
    return PairResult(
        "step_sides",
        right.id,
        left.id,
        (
            make("asymmetry", asymmetry, "%", definition="gain", why=_why(asymmetry, why)),
            make(
                "time_constant_difference",
                difference,
                "s",
                definition="one_over_e",
                why=_why(difference, why),
            ),
        ),
    )


def pooled(spins: tuple[TrialResult, ...], name: str, side: Side) -> Measure | None:
    """The responses of one exciting direction, combined; None where neither has a value."""
    found = [
        measure
        for trial in spins
        for measure in trial.measures
        if measure.name == name
        and measure.exciting == side
        and measure.value is not None
        and "no_response" not in measure.why
    ]
    return combined(found) if found else None


def gain_asymmetry(right: Measure | None, left: Measure | None) -> Estimate:
    """100 (R - L) / (R + L) and its interval by the delta method."""
    if right is None or left is None:
        return NOTHING
    r, l_ = float(right.value or 0.0), float(left.value or 0.0)
    error = np.hypot(l_ * standard_error(right), r * standard_error(left))
    reach = QUANTILE * 200.0 * float(error) / (r + l_) ** 2
    value = 100.0 * (r - l_) / (r + l_)
    return Estimate(value, value - reach, value + reach)


def constant_difference(right: Measure | None, left: Measure | None) -> Estimate:
    """Right minus left (s), with the interval from both."""
    if right is None or left is None:
        return NOTHING
    value = float(right.value or 0.0) - float(left.value or 0.0)
    reach = QUANTILE * float(np.hypot(standard_error(right), standard_error(left)))
    return Estimate(value, value - reach, value + reach)


def _why(estimate: Estimate, why: tuple[str, ...]) -> tuple[str, ...]:
    return why if estimate.value is None else ()
