"""How late the eye is behind the head: the reflex's latency and the clocks' disagreement."""

from collections.abc import Sequence

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.measures.impulse.find import Push
from slowphase.measures.impulse.saccades import weighted_median_gain
from slowphase.measures.impulse.settings import ImpulseSettings
from slowphase.measures.impulse.signals import Signals


def lag_of(signals: Signals, pushes: Sequence[Push], settings: ImpulseSettings) -> float:
    """The lag (s) at which head times one gain is nearest to the eye, over all impulses.

    Nearest in absolute deviation, so that saccades count little; the usual latency where no lag is
    clearly better (an eye that does not answer).
    """
    usable = [push for push in pushes if push.stops]
    if not usable:
        return settings.lag_default_s
    count = round((settings.lag_max_s - settings.lag_min_s) / settings.lag_step_s) + 1
    lags = np.asarray(settings.lag_min_s + settings.lag_step_s * np.arange(count), dtype=float)
    misfit = np.sum([_misfit(signals, push, lags) for push in usable], axis=0)
    usual = float(np.interp(settings.lag_default_s, lags, misfit))
    best = int(np.argmin(misfit))
    if misfit[best] > settings.lag_gain * usual:
        return settings.lag_default_s
    return float(lags[best])


def _misfit(signals: Signals, push: Push, lags: FloatArray) -> FloatArray:
    """Sum of absolute deviations (deg) of one impulse at each lag, shape (m,)."""
    ends = [push.onset_s + lags[0], push.end_s + lags[-1]]
    part = slice(*np.searchsorted(signals.time_s, ends))
    seen = ~signals.hidden[part]
    time_s, eye = signals.time_s[part][seen], -signals.eye_deg_s[part][seen]
    return np.array([_deviation(signals, time_s - lag, eye) for lag in lags])


def _deviation(signals: Signals, time_s: FloatArray, eye: FloatArray) -> float:
    head = np.interp(time_s, signals.time_s, signals.smooth_head_deg_s)
    gain = weighted_median_gain(eye, head)
    return float(np.sum(np.abs(eye - gain * head)) / signals.sampling_hz)
