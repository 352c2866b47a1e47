"""Suppression by fixation: what two trials say together."""

import numpy as np

from slowphase.measures.interval import NOTHING, Estimate, Maker
from slowphase.measures.measure import Measure
from slowphase.measures.prepare import number
from slowphase.measures.result import PairResult, TrialResult
from slowphase.measures.settings import MeasureSettings

QUANTILE = 1.96
TARGET = "head-fixed target"


def pair_suppression(
    results: tuple[TrialResult, ...], settings: MeasureSettings
) -> tuple[PairResult, ...]:
    """Each trial with a head-fixed target beside the dark trials of its frequency and peak."""
    pairs = []
    for fixed in results:
        if fixed.kind != "sinusoid" or fixed.vision != TARGET or not fixed.measures:
            continue
        dark = [other for other in results if _matches(other, fixed, settings)]
        if dark:
            pairs.append(suppression_pair(tuple(dark), fixed, settings))
    return tuple(pairs)


def _matches(other: TrialResult, fixed: TrialResult, settings: MeasureSettings) -> bool:
    if other.kind != "sinusoid" or other.vision != "dark" or not other.measures:
        return False
    limits = {
        "frequency_hz": settings.frequency_tolerance,
        "peak_velocity_deg_s": settings.peak_tolerance,
    }
    return all(
        abs(number(other.stimulus, key) - number(fixed.stimulus, key))
        <= limit * abs(number(fixed.stimulus, key))
        for key, limit in limits.items()
    )


def suppression_pair(
    dark: tuple[TrialResult, ...], fixed: TrialResult, settings: MeasureSettings
) -> PairResult:
    """Suppression from the modulated part, and from the peak speeds of the whole response."""
    make = Maker(f"{dark[0].id}~{fixed.id}")
    gain_dark = combined([measure_of(trial, "gain") for trial in dark])
    peak_dark = combined([measure_of(trial, "peak_speed") for trial in dark])
    inherited = tuple(
        code
        for trial in (*dark, fixed)
        for code in measure_of(trial, "gain").why
        if code in ("low_alertness", "few_usable_samples", "under_one_cycle", "head_rebuilt")
    )
    measures = (
        ratio_measure(
            make, "suppression", gain_dark, measure_of(fixed, "gain"), inherited, settings
        ),
        ratio_measure(
            make,
            "suppression_whole",
            peak_dark,
            measure_of(fixed, "peak_speed"),
            inherited,
            settings,
            gain=gain_dark,
        ),
    )
    return PairResult("suppression", dark[0].id, fixed.id, measures)


def ratio_measure(
    make: Maker,
    name: str,
    dark: Measure,
    fixed: Measure,
    why: tuple[str, ...],
    settings: MeasureSettings,
    *,
    gain: Measure | None = None,
) -> Measure:
    """100 (1 - fixed / dark), interval from both; missing when nothing responds in the dark."""
    definition = "modulated_gain" if gain is None else "peak_speeds"
    response = gain or dark
    if (
        dark.value is None
        or fixed.value is None
        or "no_response" in response.why
        or dark.value <= 0
    ):
        reason = "no_response" if "no_response" in response.why else "partner_missing"
        return make(name, NOTHING, "%", definition=definition, why=(*why, reason))
    if response.value is not None and response.value < settings.dark_gain_min:
        why = (*why, "dark_gain_low")
    return make(name, ratio_estimate(dark, fixed), "%", definition=definition, why=why)


def ratio_estimate(dark: Measure, fixed: Measure, *, signed: bool = False) -> Estimate:
    """100 (1 - fixed / dark) and its interval by Fieller's theorem.

    Gains are never negative, so that suppression ends at 100 %; of ``signed`` values the ratio
    may be negative.
    """
    way = np.sign(dark.value or 0.0) or 1.0
    a, b = way * float(fixed.value or 0.0), way * float(dark.value or 0.0)
    va, vb = standard_error(fixed) ** 2, standard_error(dark) ** 2
    value = 100.0 * (1.0 - a / b)
    g = QUANTILE**2 * vb / b**2
    if g >= 1.0:
        return Estimate(value)
    middle = (a / b) / (1 - g)
    reach = QUANTILE / (1 - g) * np.sqrt(max((va + (a / b) ** 2 * vb - g * va), 0.0)) / b
    least = middle - reach if signed else max(middle - reach, 0.0)
    return Estimate(
        value,
        float(min(100.0 * (1.0 - middle - reach), value)),
        float(max(100.0 * (1.0 - least), value)),
    )


def measure_of(result: TrialResult, name: str) -> Measure:
    """The measure of that name of a trial."""
    return next(measure for measure in result.measures if measure.name == name)


def standard_error(measure: Measure) -> float:
    """Standard error back from the 95 % interval; the upper half, which no floor has cut."""
    if measure.value is None or measure.high is None:
        return float("inf")
    return max((measure.high - measure.value) / QUANTILE, 1e-9)


def combined(measures: list[Measure]) -> Measure:
    """One measure from repeats, weighed by inverse variance; the first one's labels."""
    known = [measure for measure in measures if measure.value is not None]
    if len(known) < 2:
        return known[0] if known else measures[0]
    weight = np.array([standard_error(measure) ** -2.0 for measure in known])
    value = float(np.sum(weight * [measure.value for measure in known]) / weight.sum())
    reach = QUANTILE * float(weight.sum()) ** -0.5
    first = known[0]
    why = tuple(dict.fromkeys(code for measure in known for code in measure.why))
    return Measure(
        first.id,
        first.name,
        value,
        value - reach,
        value + reach,
        first.unit,
        first.definition,
        first.of,
        first.exciting,
        first.grade,
        why,
    )
