"""One caloric irrigation: culmination, duration, effect of fixation, spontaneous nystagmus."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.measures.caloric_culmination import (
    Culmination,
    Windows,
    culmination,
    end_of_response,
    reverses,
    stretches,
    time_error_s,
)
from slowphase.measures.caloric_curve import (
    FACTOR,
    LEVEL,
    Curve,
    Irrigation,
    fit_curve,
    fixated,
)
from slowphase.measures.caloric_settings import CaloricSettings
from slowphase.measures.interval import NOTHING, Estimate, Maker, symmetric, t_quantile
from slowphase.measures.measure import Measure
from slowphase.measures.prepare import (
    Prepared,
    missing,
    not_converged,
    number,
    result,
    roughly,
    too_little,
)
from slowphase.measures.result import TrialResult
from slowphase.measures.spontaneous import centre

STRONGEST = "strongest_10_s"
NAMES = [
    ("peak", "deg/s"),
    ("peak_without_nystagmus", "deg/s"),
    ("response", "deg/s"),
    ("spontaneous", "deg/s"),
    ("peak_time", "s"),
    ("duration", "s"),
    ("fixation_index", "1"),
]


@dataclass(frozen=True, slots=True)
class CaloricShape:
    """What the picture of an irrigation shows; times (s) on the recording's clock.

    ``curve_deg_s`` (g,) is slow phase without fixation at ``time_s`` (g,), ``level_deg_s`` the
    spontaneous nystagmus (None where it is not known), ``top_s`` the culmination from and to.
    ``warmth`` is ``warm``, ``cool`` or empty for neither; ``quantile`` made the intervals of the
    velocities from their standard errors.
    """

    irrigation: Irrigation
    time_s: FloatArray
    curve_deg_s: FloatArray
    level_deg_s: float | None
    top_s: tuple[float, float] | None
    warmth: str
    quantile: float


@dataclass(frozen=True, slots=True)
class Found:
    """All that was found of one irrigation, for its measures.

    ``expected`` is the sign that its slow phase should have, 0 where it is neither warm nor cool.
    """

    curve: Curve
    windows: Windows
    top: Culmination
    irrigation: Irrigation
    expected: float
    quantile: float


def measure_caloric(prepared: Prepared) -> TrialResult:
    """Culmination (with and without the spontaneous nystagmus, and in the expected direction),
    its time, duration of the response, fixation index, and the nystagmus before it.

    Sets ``too_short``, ``spontaneous_unknown``, ``irrigation_time_unknown``,
    ``temperature_neutral``, ``caloric_reversed``, ``caloric_premature``,
    ``caloric_turns_early``, ``no_caloric_response``, ``culmination_at_edge``,
    ``fixation_too_early``, ``fixation_not_seen``, ``no_fixation``, ``response_outlasts``,
    ``vertical_response``, ``known_roughly``, ``not_converged``.
    """
    settings, keys = prepared.settings.battery.caloric, prepared.trial.stimulus
    if too_little(prepared):
        return result(prepared, no_caloric(prepared.maker(), "too_short"))
    irrigation = irrigation_of(prepared)
    curve = fit_curve(prepared, irrigation, settings)
    windows = stretches(curve, settings)
    top = culmination(curve, windows, settings)
    if top is None:
        return result(prepared, no_caloric(prepared.maker(), "too_short"))
    found = Found(
        curve,
        windows,
        top,
        irrigation,
        expected_sign(keys, settings),
        t_quantile(curve.fit.degrees),
    )
    make = replace(prepared.maker(), why=(*prepared.why, *not_converged(curve.fit)))
    measures = [
        *peak_measures(make, found, settings),
        *time_measures(make, found, settings),
        fixation_index(make, found, settings),
        *vertical_peak(make, prepared, found, settings),
    ]
    measured = result(prepared, measures, fit_deg_s=fitted_deg_s(prepared, found, settings))
    if measured.evidence is None:
        return measured
    return replace(
        measured, evidence=replace(measured.evidence, own=shape_of(found, keys, settings))
    )


def no_caloric(make: Maker, why: str) -> list[Measure]:
    """The measures of an irrigation that shows nothing, each missing for one reason."""
    return missing(make, NAMES, why)


def irrigation_of(prepared: Prepared) -> Irrigation:
    """When the irrigation and the fixation took place; None for what lies outside the recording."""
    keys, time_s = prepared.trial.stimulus, prepared.recording.time_s
    flow = span_of(keys, "irrigation")
    target = span_of(keys, "fixation")
    if flow is not None and flow[0] >= time_s[-1]:
        flow = None
    both = target is not None and target[1] is not None
    return Irrigation(flow, (target[0], float(target[1] or 0.0)) if target and both else None)


def span_of(keys: Mapping[str, object], name: str) -> tuple[float, float | None] | None:
    """From when to when (s) something lasted, by its one key ``…_s`` or its two; None without."""
    span = keys.get(f"{name}_s")
    if isinstance(span, list | tuple) and len(span) == 2:
        return float(span[0]), float(span[1])
    start, stop = number(keys, f"{name}_start_s"), number(keys, f"{name}_stop_s")
    if not np.isfinite(start):
        return None
    return start, stop if np.isfinite(stop) else None


def expected_sign(keys: Mapping[str, object], settings: CaloricSettings) -> float:
    """Sign of the slow phase that ear and temperature call for; 0 where they tell none.

    The quick phase beats to the warm ear and away from the cool one: a warm right ear moves the
    slow phase to the left (negative).
    """
    warmer = number(keys, "temperature_c") - settings.body_c
    side = {"right": 1.0, "left": -1.0}.get(str(keys.get("ear")), 0.0)
    if not abs(warmer) > settings.neutral_c:
        return 0.0
    return -side * float(np.sign(warmer))


def warmth_of(keys: Mapping[str, object], settings: CaloricSettings) -> str:
    """``warm`` or ``cool`` beside the body; empty where it is neither."""
    sign = expected_sign(keys, settings)
    if sign == 0.0:
        return ""
    return "warm" if (sign < 0) == (keys.get("ear") == "right") else "cool"


def peak_measures(make: Maker, found: Found, settings: CaloricSettings) -> list[Measure]:
    """Culmination with and without the spontaneous nystagmus, in the expected direction, and
    that nystagmus."""
    top, quantile = found.top, found.quantile
    why = (*timing_reasons(found, settings), *roughly(top.raw[1], settings.rough_deg_s))
    raw = symmetric(*top.raw, quantile)
    return [
        make("peak", raw, "deg/s", definition=STRONGEST, why=why),
        without_nystagmus(make, found, why),
        response_measure(make, found, why, settings),
        spontaneous_measure(make, found),
    ]


def without_nystagmus(make: Maker, found: Found, why: tuple[str, ...]) -> Measure:
    """The culmination without the spontaneous nystagmus, signed as slow phase."""
    name = "peak_without_nystagmus"
    if found.top.alone is None:
        return make(name, NOTHING, "deg/s", definition=STRONGEST, why=("spontaneous_unknown",))
    estimate = symmetric(*found.top.alone, found.quantile)
    return make(name, estimate, "deg/s", definition=STRONGEST, why=why)


def response_measure(
    make: Maker, found: Found, why: tuple[str, ...], settings: CaloricSettings
) -> Measure:
    """The culmination in the direction that ear and temperature call for; wrong-way is negative.

    Without the spontaneous nystagmus, or with it and ``spontaneous_unknown``.
    """
    if found.expected == 0.0:
        return make("response", NOTHING, "deg/s", why=("temperature_neutral",))
    value, error = found.top.response
    signed = found.expected * value
    if found.top.alone is None:
        why = (*why, "spontaneous_unknown")
    if abs(value) <= settings.response_sd * error:
        why = (*why, "no_caloric_response")
    elif signed < 0:
        why = (*why, "caloric_reversed")
    estimate = symmetric(signed, error, found.quantile)
    return make("response", estimate, "deg/s", definition="expected_direction", why=why)


def spontaneous_measure(make: Maker, found: Found) -> Measure:
    """Slow phase before the response, signed; missing where nothing was recorded before it."""
    if not found.curve.anchored:
        why = ("irrigation_time_unknown",) if found.irrigation.flow_s is None else ()
        return make("spontaneous", NOTHING, "deg/s", why=(*why, "spontaneous_unknown"))
    fit = found.curve.fit
    level, error = float(fit.parameters[LEVEL]), float(fit.standard_errors[LEVEL])
    estimate = symmetric(level, error, found.quantile)
    return make("spontaneous", estimate, "deg/s", definition="before_irrigation")


def timing_reasons(found: Found, settings: CaloricSettings) -> tuple[str, ...]:
    """What the time of the culmination says against the value."""
    top, why = found.top, []
    flow, target = found.irrigation.flow_s, found.irrigation.fixation_s
    if not seen_surely(found, settings):
        return ()
    if top.at_edge:
        why.append("culmination_at_edge")
    if target is not None and target[0] < top.centre_s + settings.fixation_early_s:
        why.append("fixation_too_early")
    if flow is not None and top.centre_s < flow[0] + settings.premature_peak_s:
        why.append("caloric_premature")
    if flow is not None and found.curve.anchored:
        until_s = flow[0] + settings.reversal_within_s
        if reverses(found.curve, found.windows, top, until_s, settings):
            why.append("caloric_turns_early")
    return tuple(why)


def seen_surely(found: Found, settings: CaloricSettings) -> bool:
    """Whether there is a response at all."""
    value, error = found.top.response
    return abs(value) > settings.response_sd * error


def time_measures(make: Maker, found: Found, settings: CaloricSettings) -> list[Measure]:
    """Time of the culmination and end of the response, both from the start of the irrigation."""
    names = [("peak_time", "s"), ("duration", "s")]
    flow = found.irrigation.flow_s
    if flow is None:
        return missing(make, names, "irrigation_time_unknown")
    if not seen_surely(found, settings):
        return missing(make, names, "no_caloric_response")
    return [peak_time(make, found, flow[0]), duration(make, found, flow[0], settings)]


def peak_time(make: Maker, found: Found, start_s: float) -> Measure:
    """Middle of the culmination, from the start of the irrigation; interval from its bend."""
    error = time_error_s(found.curve, found.windows, found.top.index)
    value = found.top.centre_s - start_s
    if error is None:
        why = ("culmination_at_edge",) if found.top.at_edge else ("not_identifiable",)
        return make("peak_time", NOTHING, "s", why=why)
    limits = symmetric(value, error, found.quantile)
    first, last = found.windows.centre_s[[0, -1]] - start_s
    low, high = max(limits.low or 0.0, float(first)), min(limits.high or 0.0, float(last))
    return make("peak_time", Estimate(value, min(low, value), max(high, value)), "s")


def duration(make: Maker, found: Found, start_s: float, settings: CaloricSettings) -> Measure:
    """How long after the start of the irrigation the response has fallen to a tenth."""
    if not found.curve.anchored:
        return make("duration", NOTHING, "s", why=("spontaneous_unknown",))
    ended = end_of_response(found.curve, found.top, settings)
    if ended is None:
        return make("duration", NOTHING, "s", why=("response_outlasts",))
    estimate = symmetric(ended[0] - start_s, ended[1], found.quantile)
    return make("duration", estimate, "s", definition="to_a_tenth")


def fixation_index(make: Maker, found: Found, settings: CaloricSettings) -> Measure:
    """Slow phase with fixation over slow phase without it at the same time, by the curve."""
    curve, target = found.curve, found.irrigation.fixation_s
    if target is None:
        return make("fixation_index", NOTHING, "1", why=("no_fixation",))
    if curve.fixated_s < settings.fixation_seen_s:
        return make("fixation_index", NOTHING, "1", why=("fixation_not_seen",))
    during = (curve.time_s >= target[0]) & (curve.time_s <= target[1])
    speed = abs(float(np.mean(curve.whole_deg_s[during])))
    if speed < settings.fixation_min_deg_s:
        return make("fixation_index", NOTHING, "1", why=("response_too_small",))
    factor, error = float(curve.fit.parameters[FACTOR]), float(curve.fit.standard_errors[FACTOR])
    why = ("fixation_too_early",) if target[0] < found.top.centre_s else ()
    return make("fixation_index", symmetric(factor, error, found.quantile), "1", why=why)


def vertical_peak(
    make: Maker, prepared: Prepared, found: Found, settings: CaloricSettings
) -> list[Measure]:
    """Vertical slow phase during the culmination, where a vertical eye shows enough of it."""
    if prepared.vertical is None:
        return []
    pieces = prepared.vertical.pieces
    near = np.abs(pieces.time_s - found.top.centre_s) <= 0.5 * settings.culmination_s
    if near.sum() < prepared.settings.pieces_min:
        return []
    fit = centre(pieces.only(near), prepared.settings)
    velocity, error = float(fit.parameters[0]), float(fit.standard_errors[0])
    surely = abs(velocity) - settings.response_sd * error > abs(found.top.response[0])
    why = ("vertical_response",) if surely else ()
    estimate = symmetric(velocity, error, t_quantile(fit.degrees))
    return [make("peak", estimate, "deg/s", of="vertical", definition="in_culmination", why=why)]


def fitted_deg_s(prepared: Prepared, found: Found, settings: CaloricSettings) -> FloatArray:
    """The curve at every sample, with fixation where it took place, shape (n,)."""
    curve, time_s = found.curve, prepared.recording.time_s
    inside, settling = fixated(time_s, found.irrigation, settings)
    whole = np.interp(time_s, curve.time_s, curve.whole_deg_s)
    factor = np.where(inside, curve.fit.parameters[FACTOR], 1.0)
    return whole * np.interp(time_s, time_s[~settling], factor[~settling])


def shape_of(found: Found, keys: Mapping[str, object], settings: CaloricSettings) -> CaloricShape:
    """What the picture shows, of a trial with these keys."""
    half, curve = 0.5 * settings.culmination_s, found.curve
    return CaloricShape(
        irrigation=found.irrigation,
        time_s=curve.time_s,
        curve_deg_s=curve.whole_deg_s,
        level_deg_s=curve.level_deg_s if curve.anchored else None,
        top_s=(found.top.centre_s - half, found.top.centre_s + half),
        warmth=warmth_of(keys, settings),
        quantile=found.quantile,
    )
