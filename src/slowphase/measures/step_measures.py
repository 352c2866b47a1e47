"""The measures of one spin, from its joint fit."""

from dataclasses import replace

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.measures.interval import (
    NOTHING,
    Estimate,
    Maker,
    propagate,
    proportional,
    symmetric,
    t_quantile,
)
from slowphase.measures.measure import Measure
from slowphase.measures.plain import plain_time_constant
from slowphase.measures.prepare import (
    Prepared,
    carry,
    known_head,
    missing,
    not_converged,
    poorly,
    result,
    roughly,
    too_little,
    with_unknown_gaze,
)
from slowphase.measures.reflex import Drive, resample_motion
from slowphase.measures.result import TrialResult
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.step import (
    BIAS,
    FIRST,
    GAZE,
    Change,
    StepFit,
    StepModel,
    both_directions,
    find_changes,
    fit_step,
    from_rest,
    response_parameters,
)
from slowphase.measures.step_response import response_alone
from slowphase.measures.step_shape import NO_MISFIT, Misfit, find_misfit

MOTION_HZ = 50.0  # grid of the chair's motion: ramps last tenths of a second
GAIN, CONSTANT, DECAY, DURATION, AREA = range(5)
RAW = "time_constant_raw"
RESPONSE_NAMES = [
    ("gain", "1", "peak_of_own_response"),
    ("time_constant", "s", "one_over_e"),
    ("decay", "s", "model"),
    (RAW, "s", "raw_37_percent"),
    ("duration", "s", "to_1_deg_s"),
    ("cumulative_eye_position", "deg", "to_reversal"),
]
POOR = {"time_constant": CONSTANT, "decay": DECAY}
ROUGH = {"gain": (GAIN, False), "time_constant": (CONSTANT, True)}


def measure_step(prepared: Prepared) -> TrialResult:
    """Gain and time constant of each response, side differences, bias and gaze slope."""
    make = prepared.maker()
    settings = prepared.settings
    head = known_head(prepared.recording, settings)
    motion = None
    if head is not None:
        motion = from_rest(resample_motion(prepared.recording.time_s, head, MOTION_HZ), settings)
    changes = find_changes(motion, settings) if motion else ()
    if too_little(prepared) or motion is None or not changes:
        why = "too_short" if too_little(prepared) else "no_motion"
        return result(prepared, no_step(make, why))
    fit = fit_step(prepared.pieces, motion, changes, settings)
    there = [responds(fit, index, prepared) for index in range(len(changes))]
    # Where nothing responds no lapse can be told: the eye wanders, alert or not.
    lapse = fit.lapse & any(there)
    lapsed: tuple[str, ...] = ("lapses_left_out",) if lapse.any() else ()
    lapsed = (*lapsed, *not_converged(fit.fit))
    if goes_with_the_chair(fit, settings):
        lapsed = (*lapsed, "wrong_way")
    make = Maker(make.trial, (*lapsed, *make.why))
    everywhere = prepared.recording.time_s[:, None]
    fitted = StepModel(Drive(motion, everywhere), changes, 0.0)(fit.fit.parameters)
    misfits = [
        find_misfit(prepared.pieces, fit, change, settings) if here else NO_MISFIT
        for change, here in zip(changes, there, strict=True)
    ]
    for change, misfit in zip(changes, misfits, strict=True):
        fitted = fitted + given_back(prepared.recording.time_s, change, misfit)
    found = result(
        prepared,
        step_measures(make, fit, there, misfits, prepared),
        fit_deg_s=fitted,
        lapse=lapse,
        outlier=((fit.fit.weight < settings.outlier_weight) | fit.lapse) & ~lapse,
        why=lapsed,
    )
    drive = Drive(motion, prepared.pieces.node_times_s())
    own = both_directions(fit.fit.parameters, changes)
    carried = carry(prepared, fit.fit, own, drive=drive, changes=changes, responds=any(there))
    return replace(found, carried=carried)


def given_back(time_s: FloatArray, change: Change, misfit: Misfit) -> FloatArray:
    """What the misfit adds to the fitted slow phase at each time, shape (n,)."""
    since = time_s - change.stop_s
    inside = (since >= 0) & (time_s < change.until_s)
    return np.where(inside, -np.sign(change.size_deg_s) * misfit.at(np.maximum(since, 0.0)), 0.0)


def step_measures(
    make: Maker, fit: StepFit, there: list[bool], misfits: list[Misfit], prepared: Prepared
) -> list[Measure]:
    """Every measure of a fitted spin; a response that was not recorded is present and missing."""
    quantile = t_quantile(fit.fit.degrees)
    gaze_slope = float(fit.fit.parameters[GAZE])
    covariance = with_unknown_gaze(fit.fit.covariance, BIAS, gaze_slope, prepared)
    errors = np.sqrt(np.maximum(np.diag(covariance), 0.0))
    measures: list[Measure] = []
    for index in range(len(fit.changes)):
        measures += response_measures(
            make, fit, index, quantile, there[index], misfits[index], prepared
        )
    for of in {"per", "post"} - {change.of for change in fit.changes}:
        measures += _missing_response(make, of, "not_recorded")
    measures += side_differences(make, fit, quantile, there, misfits, prepared)
    bias = symmetric(float(fit.fit.parameters[BIAS]), float(errors[BIAS]), quantile)
    slope = symmetric(float(fit.fit.parameters[GAZE]), float(errors[GAZE]), quantile)
    floor = Estimate(*(max(limit or 0.0, 0.0) for limit in (slope.value, slope.low, slope.high)))
    measures += [
        make(
            "bias",
            bias,
            "deg/s",
            definition="straight_ahead",
            why=poorly(float(errors[BIAS]), prepared.settings.velocity_error_max_deg_s),
        ),
        make("gaze_slope", floor, "/s"),
    ]
    return measures


def responds(fit: StepFit, index: int, prepared: Prepared) -> bool:
    """Whether a response stands out from its own uncertainty."""
    settings = prepared.settings
    gain, error = fit.fit.parameters[FIRST + 2 * index], fit.fit.standard_errors[FIRST + 2 * index]
    return bool(gain > max(settings.response_sd * error, settings.step_response_min))


def goes_with_the_chair(fit: StepFit, settings: MeasureSettings) -> bool:
    """Whether the gains of all responses are surely negative."""
    gains, errors = fit.fit.parameters[FIRST::2], fit.fit.standard_errors[FIRST::2]
    sure = gains < -np.maximum(settings.response_sd * errors, settings.step_response_min)
    return bool(np.all(sure))


def response_of(parameters: FloatArray, change: Change, index: int, misfit: Misfit) -> FloatArray:
    """Gain, log time constant, log decay, duration and area of one response, shape (5,)."""
    gain, decay, adaptation = response_parameters(parameters, index)
    alone = response_alone(change, abs(gain), decay, adaptation, misfit)
    return np.array(
        [
            np.copysign(alone.gain, gain),
            np.log(max(alone.time_constant_s, 1e-3)),
            np.log(decay),
            alone.duration_s,
            alone.cumulative_deg,
        ]
    )


def misfit_errors(fit: StepFit, index: int, misfit: Misfit) -> FloatArray:
    """Standard errors that the smoothed misfit adds, in the order of `response_of`."""
    change = fit.changes[index]
    alone = response_alone(change, *fit.response_parameters(index), misfit)
    at_peak = misfit.error_at(alone.peak_at_s)
    at_crossing = misfit.error_at(alone.peak_at_s + alone.time_constant_s)
    fall = max(alone.fall_deg_s2, 1e-3)
    seconds = np.hypot(at_crossing, at_peak / np.e) / fall
    constant = seconds / max(alone.time_constant_s, 1e-3)
    return np.array([at_peak / abs(change.size_deg_s), constant, 0.0, seconds, 0.0])


def response_measures(
    make: Maker,
    fit: StepFit,
    index: int,
    quantile: float,
    there: bool,
    misfit: Misfit,
    prepared: Prepared,
) -> list[Measure]:
    """The measures of one response."""
    change = fit.changes[index]
    value, error = propagate(
        lambda p: response_of(p, change, index, misfit), fit.fit.parameters, fit.fit.covariance
    )
    error = np.hypot(error, misfit_errors(fit, index, misfit))
    gain = symmetric(value[GAIN], error[GAIN], quantile)
    if not there:
        gain = Estimate(gain.value, min(gain.low or 0.0, 0.0), gain.high)
    estimates = [
        gain,
        proportional(float(np.exp(value[CONSTANT])), error[CONSTANT], quantile),
        proportional(float(np.exp(value[DECAY])), error[DECAY], quantile),
        plain_time_constant(prepared.pieces, change, prepared.settings),
        symmetric(value[DURATION], error[DURATION], quantile),
        symmetric(value[AREA], error[AREA], quantile),
    ]
    measures = []
    shape = differs_in_shape(misfit, prepared.settings)
    for (name, unit, definition), estimate in zip(RESPONSE_NAMES, estimates, strict=True):
        shown = estimate if there or name == "gain" else NOTHING
        poor = name in POOR and error[POOR[name]] > prepared.settings.log_error_max
        poor = poor or (name == "gain" and error[GAIN] > prepared.settings.gain_error_max)
        why = response_reasons(name, estimate, there, poor, shape)
        if there and name in ROUGH:
            place, log = ROUGH[name]
            limit = prepared.settings.rough_log if log else rough_gain(value, prepared.settings)
            why = (*why, *roughly(float(error[place]), limit))
        measures.append(
            make(
                name,
                shown,
                unit,
                definition=definition,
                of=change.of,
                exciting=change.exciting,
                why=why,
            )
        )
    return measures


def rough_gain(value: FloatArray, settings: MeasureSettings) -> float:
    """Standard error beyond which the gain of a response is known roughly."""
    return max(settings.rough_step * abs(float(value[GAIN])), settings.rough_gain_least)


def differs_in_shape(misfit: Misfit, settings: MeasureSettings) -> bool:
    """Whether what the model misses just after the change is more than chance."""
    early = misfit.time_s <= settings.shape_within_s
    return bool(np.max(misfit.share[early]) > settings.shape_share)


def response_reasons(
    name: str,
    estimate: Estimate,
    there: bool,
    poor: bool,
    shape: bool,
) -> tuple[str, ...]:
    """Why one measure of a response is missing or less than sound."""
    if not there:
        return ("no_response", "poorly_determined") if poor and name == "gain" else ("no_response",)
    if estimate.value is None:
        return ("hidden_by_nystagmus",) if name == RAW else ("not_identifiable",)
    why = ("shape_differs",) if shape and name != RAW else ()
    return (*why, "poorly_determined") if poor or (shape and name == "decay") else why


def side_differences(
    make: Maker,
    fit: StepFit,
    quantile: float,
    there: list[bool],
    misfits: list[Misfit],
    prepared: Prepared,
) -> list[Measure]:
    """Asymmetry of gain (%) and difference of time constants (s), right minus left exciting."""
    if len(there) < 2 or not all(there):
        reason = "no_response" if len(there) == 2 else "not_recorded"
        return missing(make, [("asymmetry", "%"), ("time_constant_difference", "s")], reason)
    right = 0 if fit.changes[0].exciting == "right" else 1

    def differences(parameters: FloatArray) -> FloatArray:
        both = [
            response_of(parameters, change, i, misfits[i]) for i, change in enumerate(fit.changes)
        ]
        gains = [both[right][GAIN], both[1 - right][GAIN]]
        constants = np.exp([both[right][CONSTANT], both[1 - right][CONSTANT]])
        share = (gains[0] - gains[1]) / (gains[0] + gains[1])
        return np.array([100.0 * share, constants[0] - constants[1]])

    value, error = propagate(differences, fit.fit.parameters, fit.fit.covariance)
    error = np.hypot(error, side_misfit_errors(fit, misfits))
    shape = any(differs_in_shape(misfit, prepared.settings) for misfit in misfits)
    why: tuple[str, ...] = ("shape_differs",) if shape else ()
    return [
        make("asymmetry", symmetric(value[0], error[0], quantile), "%", definition="gain", why=why),
        make(
            "time_constant_difference",
            symmetric(value[1], error[1], quantile),
            "s",
            definition="one_over_e",
            why=why,
        ),
    ]


def side_misfit_errors(fit: StepFit, misfits: list[Misfit]) -> FloatArray:
    """What the smoothed misfits add to the errors of both side differences, shape (2,)."""
    alone = [
        response_alone(change, *fit.response_parameters(i), misfits[i])
        for i, change in enumerate(fit.changes)
    ]
    errors = [misfit_errors(fit, i, misfit) for i, misfit in enumerate(misfits)]
    gains = [response.gain for response in alone]
    asymmetry = np.hypot(gains[1] * errors[0][GAIN], gains[0] * errors[1][GAIN])
    seconds = np.hypot(
        *(e[CONSTANT] * r.time_constant_s for e, r in zip(errors, alone, strict=True))
    )
    return np.array([200.0 * asymmetry / sum(gains) ** 2, seconds])


def _missing_response(make: Maker, of: str, why: str) -> list[Measure]:
    return [
        make(name, NOTHING, unit, definition=definition, of=of, why=(why,))
        for name, unit, definition in RESPONSE_NAMES
    ]


def no_step(make: Maker, why: str) -> list[Measure]:
    """The measures of a trial that shows nothing, each missing for one reason."""
    trial = [
        ("asymmetry", "%"),
        ("time_constant_difference", "s"),
        ("bias", "deg/s"),
        ("gaze_slope", "/s"),
    ]
    return [
        *_missing_response(make, "per", why),
        *_missing_response(make, "post", why),
        *missing(make, trial, why),
    ]
