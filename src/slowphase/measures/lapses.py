"""Lapses of alertness: stretches in which the response is weaker than the alert one."""

import numpy as np

from slowphase.eye.noise import robust_sd
from slowphase.eye.quickphase import running_median
from slowphase.eye.runs import runs_of
from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.foundation.median import median, quantile
from slowphase.measures.regression import Fit
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.strength import alert_level, strength_levels

BRIEF = 3  # pieces: fewer are a remainder of a quick phase


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
    strong = strong_response(predicted)
    drift = quiet_drift(time_s, response - predicted, predicted, fit, settings)
    wandering = fit.noise.with_drift(drift)
    telling = np.abs(predicted) > settings.lapse_telling_share * strong
    if telling.sum() < settings.lapse_pieces_min or hides_lapses(predicted, settings):
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


def strong_response(predicted: FloatArray) -> float:
    """Speed (deg/s) of the response where it is strong: the 95th percentile of its model (p,)."""
    return quantile(np.abs(predicted), 0.95)


def hides_lapses(predicted: FloatArray, settings: MeasureSettings) -> bool:
    """Whether a response is too weak to show a lapse."""
    return strong_response(predicted) < settings.lapse_response_deg_s


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
    return max(scatter**2 - median(error[telling]) ** 2, 0.0) ** 0.5


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
    quiet = np.abs(predicted) < settings.lapse_quiet_share * strong_response(predicted)
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
    errors, it has lapsed: from the beginning if that was within ``lapse_early_s``. After a fall
    that no reflex shows, ``lapse_rise`` of what it later reaches is enough, and it has lapsed from
    there, for ``lapse_min_s`` at least. One that grows from the beginning, by as much, had lapsed
    when the chair changed. A lapse that lasts until the next change leaves no such mark.
    """
    lapse = np.zeros(time_s.size, dtype=bool)
    if time_s.size < settings.lapse_pieces_min:
        return lapse
    smooth = median_within(time_s, speed, settings.lapse_window_s)
    later = np.maximum.accumulate(smooth[::-1])[::-1]
    missing, surely = later - smooth, settings.lapse_sd * error
    start, stop = runs_of(
        (missing > np.maximum(settings.lapse_rise * later, surely))
        & (later > settings.lapse_dip_share * smooth.max())
    )
    margin, free = settings.lapse_window_s / 2, 0
    for a, b in zip(start.tolist(), stop.tolist(), strict=True):
        fell = fall_s(time_s[free : a + 1], smooth[free : a + 1], error, settings)
        deep = bool(np.any(missing[a:b] > np.maximum(settings.lapse_depth * later[a:b], surely)))
        early = time_s[a] - time_s[0] <= settings.lapse_early_s
        since = float(time_s[0 if early else a]) if fell is None else fell
        if deep if fell is None else time_s[b - 1] - since >= settings.lapse_min_s:
            lapse |= (time_s >= since - margin) & (time_s <= time_s[b - 1] + margin)
            free = b
    scatter = np.hypot(error, robust_sd(np.diff(speed)) / 2**0.5)
    for followed, sd in ((smooth, error), (running_median(speed, BRIEF), scatter)):
        lapse |= time_s <= _grown_s(time_s, followed, sd, settings) + margin
    return lapse


def find_falls(
    time_s: FloatArray,
    expected: FloatArray,
    missing: FloatArray,
    error: float,
    settings: MeasureSettings,
) -> BoolArray:
    """Pieces of lapses in which a response falls off its robust fit at once, shape (p,).

    ``expected`` is the fitted response (deg/s, positive), ``missing`` what is wanting to it. A
    response of another shape leaves the fit gradually; a lapse does so within ``lapse_fall_s``.
    """
    lapse = np.zeros(time_s.size, dtype=bool)
    if time_s.size < settings.lapse_pieces_min:
        return lapse
    smooth = median_within(time_s, missing, settings.lapse_window_s)
    floor = np.maximum(settings.lapse_depth * expected, settings.lapse_sd * error)
    telling = expected > settings.lapse_dip_share * expected.max()
    start, stop = runs_of((smooth > floor) & telling)
    margin = settings.lapse_window_s / 2
    whole = np.flatnonzero(smooth <= settings.lapse_whole * floor)
    for a, b in zip(start.tolist(), stop.tolist(), strict=True):
        before = whole[whole < a]
        since = float(time_s[before[-1]]) if before.size else float(time_s[0])
        sudden = time_s[a] - since <= settings.lapse_fall_s
        if sudden and time_s[b - 1] - since >= settings.lapse_min_s:
            lapse |= (time_s > since) & (time_s <= time_s[b - 1] + margin)
    return lapse


def _grown_s(time_s: FloatArray, speed: FloatArray, sd: float, settings: MeasureSettings) -> float:
    """Until when a response that lapsed before it began is still growing; -inf where it is not."""
    later = np.maximum.accumulate(speed[::-1])[::-1]
    floor = np.maximum(settings.lapse_rise * later, settings.lapse_sd * sd)
    start, stop = runs_of(later - speed > floor)
    long = np.flatnonzero(stop - start >= BRIEF)
    if long.size == 0 or time_s[start[long[0]]] - time_s[0] > settings.lapse_min_s:
        return -np.inf
    first, end = int(start[long[0]]), int(stop[long[0]])
    fell = fall_s(time_s[: first + 1], speed[: first + 1], sd, settings)
    return float(time_s[end - 1]) if fell is None else -np.inf


def fall_s(
    time_s: FloatArray, smooth: FloatArray, error: float, settings: MeasureSettings
) -> float | None:
    """When a decaying speed fell most, where no reflex decays so sharply; None if it never did.

    ``smooth`` and ``time_s`` have shape (m,).
    """
    after = np.interp(time_s + settings.lapse_fall_s, time_s, smooth)
    fall = smooth - after
    sharp = (after < settings.lapse_fall_share * smooth) & (fall > settings.lapse_fall_sd * error)
    if not sharp.any():
        return None
    share = np.where(sharp, fall / np.maximum(smooth, 1e-9), 0.0)
    # A fall in no time is as deep wherever the window holds it: it lies where they all overlap.
    middle = median(time_s[share > 0.9 * share.max()])
    return middle + settings.lapse_fall_s / 2


def median_within(time_s: FloatArray, values: FloatArray, window_s: float) -> FloatArray:
    """Running median over as many pieces as usually fill the window, shape (n,)."""
    usual = median(np.diff(time_s))
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
