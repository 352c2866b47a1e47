"""Calibration: gain, offset, cross-talk, linearity and what is left, for each eye and plane."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from slowphase.eye.calibration import (
    LEAST_WEIGHT,
    Calibration,
    PlaneFit,
    fit_calibration,
    to_degrees,
)
from slowphase.eye.calibration_settings import CalibrationSettings
from slowphase.eye.settings import EyeSettings
from slowphase.eye.track import track
from slowphase.foundation.arrays import FloatArray
from slowphase.foundation.reasons import worst_grade
from slowphase.measures.interval import NOTHING, Estimate, Maker, symmetric, t_quantile
from slowphase.measures.measure import Measure
from slowphase.measures.prepare import blank
from slowphase.measures.result import Evidence, Quality, TrialResult
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.statistics import spread_estimate
from slowphase.recording.trial import Recording, Trial

PLANE_NAMES = {"h": "horizontal", "v": "vertical"}
UNITS = {"px": "{pixel}"}  # UCUM writes what it has no unit for in braces
KEPT = ("reversed_to_target", "calibration_unsure")  # refused, and yet worth a look
DEFINITIONS = {"gain": "recorded_per_deg", "offset": "recorded_straight_ahead"}
UNTOLD = ("gain", "offset", "crosstalk", "fixations")  # of a plane without targets
OWN = ("gain", "offset", "crosstalk", "linearity", "residual", "fixations")


def measure_calibration(trial: Trial, eye: EyeSettings, settings: MeasureSettings) -> TrialResult:
    """Every channel's fit as measures, and how alike the eyes moved.

    Sets the reasons of ``fit_calibration``, and ``target_times_found``, ``calibration_off``,
    ``not_linear``, ``known_roughly``, ``targets_in_one_plane``.
    """
    own = settings.battery.calibration
    fit = fit_calibration(trial, eye, own)
    why = trial.recording.why if trial.recording else ()
    if fit.refused is not None or not fit.planes:
        reason = fit.refused or "eye_not_seen"
        return _without_measures(trial, (*why, reason))
    if fit.steps is not None and not _timed(trial):
        why = (*why, "target_times_found")
    make = Maker(trial.id, why)
    measures = [
        m for role, plane in fit.planes.items() for m in plane_measures(make, role, plane, own, fit)
    ]
    measures += conjugacy_measures(make, fit)
    return _with_evidence(trial, fit, measures, why, eye)


def no_calibration(make: Maker, why: str) -> list[Measure]:
    """The measures of a calibration that shows nothing."""
    sides = [f"{side}/horizontal" for side in ("right", "left")]
    return [
        make(name, NOTHING, "1" if name == "gain" else "deg", of=of, why=(why,))
        for of in sides
        for name in ("gain", "offset")
    ]


def _without_measures(trial: Trial, why: tuple[str, ...]) -> TrialResult:
    reasons = tuple(dict.fromkeys(why))
    measures = tuple(no_calibration(Maker(trial.id, why[:-1]), why[-1]))
    return replace(blank(trial, Quality(0.0, worst_grade(reasons), reasons)), measures=measures)


def _timed(trial: Trial) -> bool:
    channels = trial.recording.channels if trial.recording else {}
    told = {"hold_s", "start_at_s"} <= trial.stimulus.keys()
    return told or "target_h" in channels or "target_v" in channels


def plane_measures(
    make: Maker, role: str, fit: PlaneFit, settings: CalibrationSettings, whole: Calibration
) -> list[Measure]:
    """The measures of one channel, each missing with the fit's reason where it was refused."""
    _, plane, side = role.split("_")
    of = f"{side}/{PLANE_NAMES[plane]}"
    raw = UNITS.get(fit.unit, fit.unit)
    units = {"gain": "1" if fit.unit == "deg" else f"{raw}/deg", "offset": raw, "crosstalk": "%",
             "linearity": "deg", "residual": "deg", "fixations": "1"}  # fmt: skip
    tells = fit.refused is not None or bool(np.isfinite(fit.parameters[1]))
    found, why = (
        _estimates(fit, whole, settings),
        _cautions(fit, whole, settings),
    )
    return [
        make(
            name,
            found.get(name, NOTHING),
            units[name],
            of=of,
            definition=DEFINITIONS.get(name),
            why=_reasons(name, fit, found, why),
        )
        for name in (OWN if tells else UNTOLD)
    ]


def _reasons(
    name: str, fit: PlaneFit, found: Mapping[str, Estimate], why: tuple[str, ...]
) -> tuple[str, ...]:
    if fit.refused is not None:
        return (fit.refused,)
    if name not in found:
        return ("targets_in_one_plane",)
    return () if name == "fixations" else why


def _estimates(
    fit: PlaneFit, whole: Calibration, settings: CalibrationSettings
) -> dict[str, Estimate]:
    """Whatever the fit tells; a refused one only tells what is worth a look."""
    if fit.refused is not None and fit.refused not in KEPT:
        return {}
    quantile = t_quantile(fit.degrees)
    error = np.sqrt(np.diag(fit.covariance))
    offset, gain, cross = fit.parameters
    used = float(np.sum(fit.weight > LEAST_WEIGHT))
    found = {
        "offset": symmetric(float(offset), float(error[0]), quantile),
        "fixations": Estimate(used, used, used),
    }
    if np.isfinite(gain):
        found["gain"] = symmetric(float(gain), float(error[1]), quantile)
        found["linearity"] = linearity(fit, whole, settings)
        found["residual"] = spread_estimate(scatter_deg(fit), fit.degrees)
    if np.isfinite(cross):
        found |= _crosstalk(fit, quantile)
    return found


def _crosstalk(fit: PlaneFit, quantile: float) -> dict[str, Estimate]:
    """Movement of this channel for a target in the other plane, % of what its own plane makes."""
    cross, gain = float(fit.parameters[2]), float(fit.parameters[1])
    if not np.isfinite(gain):
        if fit.unit != "deg":
            return {}
        gain, slope = 1.0, np.array([0.0, 0.0, 1.0])
    else:
        slope = np.array([0.0, -cross / gain**2, 1.0 / gain])
    error = float(np.sqrt(slope @ np.nan_to_num(fit.covariance) @ slope))
    return {"crosstalk": symmetric(100.0 * cross / gain, 100.0 * error, quantile)}


def scatter_deg(fit: PlaneFit) -> float:
    """SD of the fixations in use about the line, deg, each weighed as in the fit."""
    total = float(np.sum(fit.weight * np.nan_to_num(fit.residual) ** 2))
    spent = float(np.isfinite(fit.parameters).sum())
    degrees = max(float(np.sum(fit.weight)) - spent, 1.0)
    return (total / degrees) ** 0.5 / abs(float(fit.parameters[1]))


def linearity(fit: PlaneFit, whole: Calibration, settings: CalibrationSettings) -> Estimate:
    """Largest deviation (deg) from the straight line of the mean fixation of one place.

    Its error comes from repeats of one place, which a bent recorder leaves alike; where they are
    few, from what fixations usually scatter.
    """
    if whole.steps is None:
        return NOTHING
    used = fit.weight > LEAST_WEIGHT
    places, index = np.unique(whole.steps.place_deg[used], axis=0, return_inverse=True)
    index = index.ravel()
    off: FloatArray = fit.residual[used] / abs(float(fit.parameters[1]))
    count = np.bincount(index, minlength=len(places))
    mean = np.bincount(index, weights=off, minlength=len(places)) / count
    repeats = float(off.size - len(places))
    spread = float(np.sqrt(np.sum((off - mean[index]) ** 2) / max(repeats, 1.0)))
    worst = int(np.argmax(np.abs(mean)))
    error = max(spread, settings.scatter_min_deg) / float(count[worst]) ** 0.5
    value = abs(float(mean[worst]))
    estimate = symmetric(value, error, t_quantile(max(repeats, fit.degrees)))
    return Estimate(value, max(estimate.low or 0.0, 0.0), estimate.high)


def _cautions(fit: PlaneFit, whole: Calibration, settings: CalibrationSettings) -> tuple[str, ...]:
    if fit.refused is not None or not np.isfinite(fit.parameters[1]):
        return ()
    why = []
    gain, error = float(fit.parameters[1]), fit.gain_error
    surely = abs(gain - 1.0) - t_quantile(fit.degrees) * error * abs(gain)
    if fit.unit == "deg" and abs(gain - 1.0) > settings.gain_off and surely > 0:
        why.append("calibration_off")
    if error > settings.gain_error_rough:
        why.append("known_roughly")
    bent = linearity(fit, whole, settings)
    if (bent.value or 0.0) > settings.linearity_deg and (bent.low or 0.0) > 0:
        why.append("not_linear")
    return tuple(why)


def conjugacy_measures(make: Maker, fit: Calibration) -> list[Measure]:
    """Root mean square difference (deg) of the eyes' fixations, each eye by its own calibration."""
    measures = []
    for plane, name in PLANE_NAMES.items():
        pair = [fit.planes.get(f"eye_{plane}_{side}") for side in ("right", "left")]
        right, left = pair
        if right is None or left is None:
            continue
        refused = next((one.refused for one in (right, left) if one.refused), None)
        if refused is None and not np.isfinite([right.parameters[1], left.parameters[1]]).all():
            continue
        found = NOTHING if refused else conjugacy(right, left)
        why = (refused,) if refused else ()
        if found.value is None and not why:
            why = ("eye_not_seen",)
        measures.append(make("conjugacy", found, "deg", of=name, why=why))
    return measures


def conjugacy(right: PlaneFit, left: PlaneFit) -> Estimate:
    """How far the eyes' fixations differ, RMS in deg, over those that both eyes made."""
    both = (right.weight > LEAST_WEIGHT) & (left.weight > LEAST_WEIGHT)
    if both.sum() <= 3:
        return NOTHING
    apart: FloatArray = right.residual[both] / right.parameters[1]
    apart = apart - left.residual[both] / left.parameters[1]
    degrees = float(both.sum()) - 2.0
    return spread_estimate(float(np.sum(apart**2) / degrees) ** 0.5, degrees)


@dataclass(frozen=True, slots=True)
class CalibrationView:
    """What a picture of a calibration shows: the fits, and the eyes in degrees."""

    calibration: Calibration
    recording: Recording


def _with_evidence(
    trial: Trial, fit: Calibration, measures: list[Measure], why: tuple[str, ...], eye: EyeSettings
) -> TrialResult:
    horizontal = [p.refused for role, p in fit.planes.items() if role.startswith("eye_h")]
    whole = horizontal if horizontal and all(horizontal) else []
    reasons = tuple(dict.fromkeys((*why, *(code for code in whole if code))))
    recording = trial.recording
    if recording is None:
        return _without_measures(trial, (*why, "eye_not_seen"))
    turned = to_degrees(recording, {side: fit.of_eye(side) for side in ("right", "left")})
    across, upright = track(turned, eye=trial.eye, settings=eye)
    shown = across or upright
    evidence = None
    if shown is not None:
        vertical = upright.trace if upright else None
        evidence = Evidence(shown.trace, vertical=vertical, own=CalibrationView(fit, turned))
    usable = shown.trace.usable_pct if shown else 0.0
    return replace(
        blank(trial, Quality(usable, worst_grade(reasons), reasons)),
        measures=tuple(measures),
        evidence=evidence,
        parts=(trial.id,),
    )
