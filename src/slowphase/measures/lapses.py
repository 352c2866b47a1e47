"""Lapses of alertness: stretches in which the response is weaker than the alert one."""

import numpy as np

from slowphase.eye.noise import robust_sd
from slowphase.eye.quickphase import running_median
from slowphase.eye.runs import runs_of
from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.measures.regression import Fit
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.strength import alert_level, strength_levels


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
    and gaze term; ``fit`` and ``noise`` (p,) tell how uncertain a piece is. Strength is followed in
    levels, for each direction of the response on its own, since one may be weaker for good. A
    lapse is where it lies below the alert level by ``lapse_depth`` for ``lapse_min_s``.
    """
    sd = np.hypot(noise, fit.noise.white**0.5 * fit.scatter)
    strong = float(np.percentile(np.abs(predicted), 95))
    drift = quiet_drift(time_s, response - predicted, predicted, fit, settings)
    wandering = fit.noise.with_drift(drift)
    telling = np.abs(predicted) > settings.lapse_telling_share * strong
    if telling.sum() < settings.lapse_pieces_min or strong < settings.lapse_response_deg_s:
        return np.zeros(time_s.size, dtype=bool), 0.0
    weak = np.zeros(time_s.size, dtype=bool)
    for way in (1.0, -1.0):
        own = np.flatnonzero(telling & (way * predicted > 0))
        if own.size >= settings.lapse_pieces_min:
            level, information = strength_levels(
                time_s[own], response[own], predicted[own], sd[own], wandering, settings
            )
            alert = alert_level(level, information, settings.alert_share, settings.lapse_depth / 2)
            weak[own] = level < (1.0 - settings.lapse_depth) * alert
    start, stop = runs_of(weak | (~telling & _between(weak, telling)))
    lapse = np.zeros(time_s.size, dtype=bool)
    for a, b in zip(start, stop, strict=True):
        if time_s[b - 1] - time_s[a] >= settings.lapse_min_s:
            margin = settings.lapse_window_s / 2
            lapse |= (time_s >= time_s[a] - margin) & (time_s <= time_s[b - 1] + margin)
    return lapse, strength_spread(time_s, response, predicted, sd, drift, settings)


def strength_spread(
    time_s: FloatArray,
    response: FloatArray,
    predicted: FloatArray,
    sd: FloatArray,
    drift_deg_s: float,
    settings: MeasureSettings,
) -> float:
    """SD of the response's local strength beyond its own error; 0.0 where nothing tells."""
    strength, error = local_strength(time_s, response, predicted, sd, settings.lapse_window_s)
    error = np.hypot(error, drift_deg_s / np.maximum(np.abs(predicted), 1e-3))
    telling = np.isfinite(strength) & (error < settings.lapse_strength_error_max)
    if telling.sum() < settings.lapse_pieces_min:
        return 0.0
    scatter = robust_sd(strength[telling])
    return max(scatter**2 - float(np.median(error[telling])) ** 2, 0.0) ** 0.5


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
    quiet = np.abs(predicted) < settings.lapse_quiet_share * strong
    if quiet.sum() < settings.lapse_quiet_pieces_min:
        return fit.noise.drift_deg_s
    smooth = median_within(time_s, residual, settings.lapse_window_s)
    return min(fit.noise.drift_deg_s, robust_sd(smooth[quiet]))


def find_dips(
    time_s: FloatArray, speed: FloatArray, error: float, settings: MeasureSettings
) -> BoolArray:
    """Pieces of lapses in a response that can only decay, shape (p,).

    ``speed`` is the response (deg/s, positive), ``error`` the SD of its wandering. Where it sinks
    below what it later reaches, deeper than ``lapse_depth`` of the response and than ``lapse_sd``
    errors, it has lapsed: from the sharp fall before, or from the beginning where there was none,
    and for ``lapse_min_s`` at least. A lapse that lasts until the next change of velocity leaves
    no such mark.
    """
    lapse = np.zeros(time_s.size, dtype=bool)
    if time_s.size < settings.lapse_pieces_min:
        return lapse
    smooth = median_within(time_s, speed, settings.lapse_window_s)
    later = np.maximum.accumulate(smooth[::-1])[::-1]
    floor = np.maximum(settings.lapse_depth * later, settings.lapse_sd * error)
    start, stop = runs_of(
        (later - smooth > floor) & (later > settings.lapse_dip_share * smooth.max())
    )
    margin = settings.lapse_window_s / 2
    for a, b in zip(start, stop, strict=True):
        since = last_fall_s(time_s[: a + 1], smooth[: a + 1], error, settings)
        if time_s[b - 1] - since >= settings.lapse_min_s:
            lapse |= (time_s >= since - margin) & (time_s <= time_s[b - 1] + margin)
    return lapse


def last_fall_s(
    time_s: FloatArray, smooth: FloatArray, error: float, settings: MeasureSettings
) -> float:
    """When a decaying speed last fell more sharply than any reflex decays.

    The first time where it never did. ``smooth`` and ``time_s`` have shape (m,).
    """
    after = np.interp(time_s + settings.lapse_fall_s, time_s, smooth)
    fall = smooth - after
    sharp = (after < settings.lapse_fall_share * smooth) & (fall > settings.lapse_fall_sd * error)
    found = np.flatnonzero(sharp)
    middle = settings.lapse_fall_s / 2
    return float(time_s[found[-1]]) + middle if found.size else float(time_s[0])


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


def _between(weak: BoolArray, telling: BoolArray) -> BoolArray:
    """True between two weak pieces with no telling piece that is not weak in between."""
    index = np.flatnonzero(telling)
    if index.size == 0:
        return np.zeros(weak.size, dtype=bool)
    after = np.searchsorted(index, np.arange(weak.size))
    left, right = np.maximum(after - 1, 0), np.minimum(after, index.size - 1)
    inside = (after > 0) & (after < index.size)
    return inside & weak[index[left]] & weak[index[right]]
