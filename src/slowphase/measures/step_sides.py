"""The two exciting directions across two spins: each side has one ``per`` and one ``post``."""

import numpy as np

from slowphase.measures.interval import NOTHING, Z95, Estimate, Maker
from slowphase.measures.measure import Measure, Side
from slowphase.measures.pooling import combined, inherited, standard_error
from slowphase.measures.prepare import alike, number
from slowphase.measures.result import PairResult, TrialResult
from slowphase.measures.settings import MeasureSettings

SIDES: tuple[Side, ...] = ("right", "left")


def pair_sides(
    results: tuple[TrialResult, ...], settings: MeasureSettings
) -> tuple[PairResult, ...]:
    """The first spin to the right with the first alike to the left: same vision, same velocity."""
    spins = [trial for trial in results if trial.kind == "step" and trial.measures]
    ways = {way: [t for t in spins if t.stimulus.get("direction") == way] for way in SIDES}
    for right in ways["right"]:
        for left in ways["left"]:
            same = alike(left, right, "velocity_deg_s", settings.peak_tolerance)
            if same and left.vision == right.vision:
                return (sides_pair(right, left),)
    return ()


def sides_pair(right: TrialResult, left: TrialResult) -> PairResult:
    """Asymmetry of gain (%) and difference of time constants (s), right minus left exciting.

    The two responses of each exciting direction are combined by inverse variance first.
    """
    make = Maker(f"{right.id}~{left.id}")
    gains = [pooled((right, left), "gain", side) for side in SIDES]
    constants = [pooled((right, left), "time_constant", side) for side in SIDES]
    asymmetry, difference = gain_asymmetry(*gains), constant_difference(*constants)
    measures = (
        make("asymmetry", asymmetry, "%", definition="gain", why=_why(asymmetry, gains)),
        make(
            "time_constant_difference",
            difference,
            "s",
            definition="one_over_e",
            why=_why(difference, constants),
        ),
    )
    conditions = {"velocity_deg_s": number(right.stimulus, "velocity_deg_s")}
    return PairResult("step_sides", right.id, left.id, measures, conditions)


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
    reach = Z95 * 200.0 * float(error) / (r + l_) ** 2
    value = 100.0 * (r - l_) / (r + l_)
    return Estimate(value, value - reach, value + reach)


def constant_difference(right: Measure | None, left: Measure | None) -> Estimate:
    """Right minus left (s), with the interval from both."""
    if right is None or left is None:
        return NOTHING
    value = float(right.value or 0.0) - float(left.value or 0.0)
    reach = Z95 * float(np.hypot(standard_error(right), standard_error(left)))
    return Estimate(value, value - reach, value + reach)


def _why(estimate: Estimate, parts: list[Measure | None]) -> tuple[str, ...]:
    reasons = inherited([part for part in parts if part is not None])
    return ("no_response", *reasons) if estimate.value is None else reasons
