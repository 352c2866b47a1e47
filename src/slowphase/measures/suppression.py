"""Suppression by fixation: what two trials say together."""

from slowphase.measures.interval import NOTHING, Maker
from slowphase.measures.measure import Measure
from slowphase.measures.pooling import combined, inherited, measure_of, ratio_estimate
from slowphase.measures.prepare import alike, number
from slowphase.measures.result import PairResult, TrialResult
from slowphase.measures.settings import MeasureSettings

TARGET = "head-fixed target"
LIMITED = ("frequency_hz", "peak_velocity_deg_s")


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
    limits = (settings.frequency_tolerance, settings.peak_tolerance)
    return all(alike(other, fixed, key, limit) for key, limit in zip(LIMITED, limits, strict=True))


def suppression_pair(
    dark: tuple[TrialResult, ...], fixed: TrialResult, settings: MeasureSettings
) -> PairResult:
    """Suppression from the modulated part, and from the peak speeds of the whole response."""
    make = Maker(f"{dark[0].id}~{fixed.id}")
    responding = [t for t in dark if "no_response" not in measure_of(t, "gain").why] or list(dark)
    gain_dark = combined([measure_of(trial, "gain") for trial in responding])
    peak_dark = combined([measure_of(trial, "peak_speed") for trial in responding])
    why = inherited([measure_of(trial, "gain") for trial in (*responding, fixed)])
    measures = (
        ratio_measure(make, "suppression", gain_dark, measure_of(fixed, "gain"), why, settings),
        ratio_measure(
            make,
            "suppression_whole",
            peak_dark,
            measure_of(fixed, "peak_speed"),
            why,
            settings,
            gain=gain_dark,
        ),
    )
    conditions = {key: number(fixed.stimulus, key) for key in LIMITED}
    return PairResult("suppression", dark[0].id, fixed.id, measures, conditions)


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
