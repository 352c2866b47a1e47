"""Alertness: a factor on everything vestibular, with lapses.

Alert to drowsy took the step gain from 0.53 to 0.49 and sinusoidal gains down by 0.1 (Matta,
Enticott 2004, abstract read); a deep lapse goes further, and its depth here is chosen.
"""

from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import BoolArray, FloatArray


@dataclass(frozen=True, slots=True)
class Alertness:
    """``throughout`` is the factor of the whole session; lapses multiply it further.

    Lapses come ``lapses_per_min`` times a minute, last about ``lapse_s``, and leave between
    ``lapse_low`` and ``lapse_high`` of the response. ``lapse_share_limit`` bounds their share of
    a trial. ``waver`` is the relative spread of slow fluctuations around 1 that last about
    ``waver_s``; the true measures are those of their mean.

    Three further signs of the drowsy are off: ``roving_deg`` at ``roving_hz`` (see ``roving.py``),
    and the shares ``quick_rate`` and ``quick_speed`` that are left of the rate and the peak speed
    of quick phases in the dark.
    """

    throughout: float = 1.0
    lapses_per_min: float = 0.0
    lapse_s: float = 8.0
    lapse_low: float = 0.3
    lapse_high: float = 0.7
    edge_s: float = 0.8
    lapse_share_limit: float = 0.35
    waver: float = 0.0
    waver_s: float = 12.0
    roving_deg: float = 0.0
    roving_hz: float = 0.3
    quick_rate: float = 1.0
    quick_speed: float = 1.0


@dataclass(frozen=True, slots=True)
class Lapse:
    """One lapse: when it begins and ends, and the share of the response that is left."""

    start_s: float
    stop_s: float
    left: float


def draw_lapses(
    alertness: Alertness, duration_s: float, rng: np.random.Generator
) -> tuple[Lapse, ...]:
    """Lapses of one trial, at most the permitted share of it."""
    count = rng.poisson(alertness.lapses_per_min * duration_s / 60.0)
    starts = np.sort(rng.uniform(0.0, duration_s, count))
    lapses: list[Lapse] = []
    budget_s, end_s = alertness.lapse_share_limit * duration_s, 0.0
    for start_s in starts:
        length_s = min(alertness.lapse_s * rng.uniform(0.6, 1.6), budget_s)
        if start_s < end_s + 2.0 or length_s < 2.0:
            continue
        left = rng.uniform(alertness.lapse_low, alertness.lapse_high)
        lapses.append(Lapse(float(start_s), float(start_s + length_s), float(left)))
        budget_s, end_s = budget_s - length_s, start_s + length_s
    return tuple(lapses)


def alert_factor(alertness: Alertness, lapses: tuple[Lapse, ...], time_s: FloatArray) -> FloatArray:
    """The factor at every time, shape (n,), with smooth edges around each lapse."""
    factor = np.full(time_s.shape, alertness.throughout)
    width = alertness.edge_s / 4.0
    for lapse in lapses:
        inside = np.clip(np.stack([time_s - lapse.start_s, lapse.stop_s - time_s]), -40, 40)
        depth = np.prod(1.0 / (1.0 + np.exp(-inside / width)), axis=0)
        factor *= 1.0 - (1.0 - lapse.left) * depth
    return factor


def lapse_mask(lapses: tuple[Lapse, ...], time_s: FloatArray) -> BoolArray:
    """Where a lapse is going on, shape (n,)."""
    mask = np.zeros(time_s.shape, dtype=bool)
    for lapse in lapses:
        mask |= (time_s >= lapse.start_s) & (time_s <= lapse.stop_s)
    return mask
