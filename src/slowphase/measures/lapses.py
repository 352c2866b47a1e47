"""Lapses of alertness: stretches in which the response is weaker than the alert one."""

import numpy as np

from slowphase.eye.noise import robust_sd
from slowphase.eye.quickphase import running_median
from slowphase.eye.runs import runs_of
from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.measures.regression import Fit
from slowphase.measures.settings import MeasureSettings

QUIET_SHARE = 0.4
DIP_SHARE = 0.2  # of the peak: below it, later values are the largest of much noise


def find_lapses(
    time_s: FloatArray,
    response: FloatArray,
    predicted: FloatArray,
    fit: Fit,
    noise: FloatArray,
    settings: MeasureSettings,
) -> tuple[BoolArray, float]:
    """Pieces within lapses, and the spread of the response's local strength.

    ``response`` and ``predicted`` (shape (p,)) are slow-phase velocity and its model without bias
    and gaze term; ``fit`` and ``noise`` (p,) tell how uncertain a piece is. The local strength is
    the regression of the one on the other in a sliding window; a lapse is where it stays below
    the alert level, by ``lapse_depth`` and by ``lapse_sd`` of its own SD, for ``lapse_min_s``.
    """
    sd = np.hypot(noise, fit.scatter)
    strength, error = local_strength(time_s, response, predicted, sd, settings.lapse_window_s)
    drift = quiet_drift(time_s, response - predicted, predicted, fit, settings)
    error = np.hypot(error, drift / np.maximum(np.abs(predicted), 1e-3))
    telling = np.isfinite(strength) & (error < 0.25)
    if telling.sum() < 10:
        return np.zeros(time_s.size, dtype=bool), 0.0
    alert = float(np.median(strength[telling]))
    scatter = 1.4826 * float(np.median(np.abs(strength[telling] - alert)))
    spread = max(scatter**2 - float(np.median(error[telling])) ** 2, 0.0) ** 0.5
    low = alert - np.maximum(
        settings.lapse_depth * abs(alert), settings.lapse_sd * np.hypot(error, 0.02)
    )
    weak = telling & (strength < low)
    start, stop = runs_of(weak | (~telling & _between(weak)))
    lapse = np.zeros(time_s.size, dtype=bool)
    for a, b in zip(start, stop, strict=True):
        if time_s[b - 1] - time_s[a] >= settings.lapse_min_s:
            margin = settings.lapse_window_s / 2
            lapse |= (time_s >= time_s[a] - margin) & (time_s <= time_s[b - 1] + margin)
    return lapse, spread


def quiet_drift(
    time_s: FloatArray,
    residual: FloatArray,
    predicted: FloatArray,
    fit: Fit,
    settings: MeasureSettings,
) -> float:
    """SD (deg/s) of the eye's wandering, read while the response is small.

    While it is strong, a swing of alertness would pass for wandering.
    """
    strong = float(np.percentile(np.abs(predicted), 95))
    quiet = np.abs(predicted) < QUIET_SHARE * strong
    if quiet.sum() < 20:
        return fit.noise.drift_deg_s
    smooth = median_within(time_s, residual, settings.lapse_window_s)
    return min(fit.noise.drift_deg_s, robust_sd(smooth[quiet]))


def find_dips(
    time_s: FloatArray, speed: FloatArray, error: float, settings: MeasureSettings
) -> BoolArray:
    """Pieces in which a response that can only decay sinks below what it later reaches, (p,).

    ``speed`` is the response (deg/s, positive), ``error`` the SD of its wandering. A dip counts
    when it is deeper than ``lapse_depth`` of the response and than ``lapse_sd`` errors for
    ``lapse_min_s``. A lapse that lasts until the next change of velocity leaves no such mark.
    """
    lapse = np.zeros(time_s.size, dtype=bool)
    if time_s.size < 10:
        return lapse
    smooth = median_within(time_s, speed, settings.lapse_window_s)
    later = np.maximum.accumulate(smooth[::-1])[::-1]
    floor = np.maximum(settings.lapse_depth * later, settings.lapse_sd * error)
    start, stop = runs_of((later - smooth > floor) & (later > DIP_SHARE * smooth.max()))
    margin = settings.lapse_window_s / 2
    for a, b in zip(start, stop, strict=True):
        if time_s[b - 1] - time_s[a] >= settings.lapse_min_s:
            lapse |= (time_s >= time_s[a] - margin) & (time_s <= time_s[b - 1] + margin)
    return lapse


def median_within(time_s: FloatArray, values: FloatArray, window_s: float) -> FloatArray:
    """Running median over as many pieces as usually fill the window, shape (n,)."""
    usual = float(np.median(np.diff(time_s)))
    return running_median(values, max(3, round(window_s / max(usual, 1e-6))))


def local_strength(
    time_s: FloatArray,
    response: FloatArray,
    predicted: FloatArray,
    sd: FloatArray,
    window_s: float,
) -> tuple[FloatArray, FloatArray]:
    """Regression of response on prediction in a window around each piece, with its SE.

    Shapes (p,); NaN and infinity where the prediction is too small to tell.
    """
    weight = sd**-2.0
    cross = np.concatenate([[0.0], np.cumsum(weight * response * predicted)])
    power = np.concatenate([[0.0], np.cumsum(weight * predicted**2)])
    first = np.searchsorted(time_s, time_s - window_s / 2)
    last = np.searchsorted(time_s, time_s + window_s / 2)
    total = power[last] - power[first]
    known = total > 1e-9
    safe = np.where(known, total, 1.0)
    strength = np.where(known, (cross[last] - cross[first]) / safe, np.nan)
    return strength, np.where(known, safe**-0.5, np.inf)


def _between(weak: BoolArray) -> BoolArray:
    """True from a weak piece to the next weak piece when none in between is strong."""
    index = np.arange(weak.size)
    before = np.maximum.accumulate(np.where(weak, index, -1))
    after = np.minimum.accumulate(np.where(weak, index, weak.size)[::-1])[::-1]
    return (before >= 0) & (after < weak.size)
