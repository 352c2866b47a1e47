"""One trace from the two eyes, each weighed by how well it is seen at the time."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from slowphase.eye.noise import SECOND_DIFFERENCE, blockwise_sd, position_noise_deg
from slowphase.eye.settings import EyeSettings
from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.foundation.median import median
from slowphase.recording.eyes import is_alive


@dataclass(frozen=True, slots=True)
class Fused:
    """The fused trace, arrays of shape (n,).

    ``position_deg`` is NaN where no eye is left; ``noise_deg`` the SD of its white noise at every
    sample; ``changed`` is True at the first sample of another set of eyes.
    """

    position_deg: FloatArray
    noise_deg: FloatArray
    changed: BoolArray


def fuse(eyes: list[FloatArray], sampling_hz: float, settings: EyeSettings) -> Fused:
    """Weighted mean of the eyes.

    ``eyes`` holds arrays of shape (n,), NaN where lost. Each eye weighs by the inverse of its
    noise variance at the time. Before they are averaged, each is shifted by its slowly changing
    difference from the usual mean, so that the trace does not jump when the weights change or an
    eye is lost.
    """
    alive = [eye for eye in eyes if is_alive(eye)]
    if len(alive) < 2:
        return _alone((alive or eyes)[0], sampling_hz, settings)
    seen = [np.isfinite(eye) for eye in alive]
    both = np.logical_and.reduce(seen)
    if not both.any():
        return _alone(
            max(alive, key=lambda eye: int(np.isfinite(eye).sum())), sampling_hz, settings
        )
    usual = [max(position_noise_deg(eye), settings.quietest_deg) ** -2 for eye in alive]
    mean = sum(w * eye for w, eye in zip(usual, alive, strict=True)) / sum(usual)
    weights = [_weight(eye, sampling_hz, settings) for eye in alive]
    total = np.zeros(both.size)
    weighed = np.zeros(both.size)
    for eye, finite, weight in zip(alive, seen, weights, strict=True):
        shifted = eye + slow_shift(mean - eye, sampling_hz, settings.shift_block_s)
        weighed += np.where(finite, weight * shifted, 0.0)
        total += np.where(finite, weight, 0.0)
    known = total > 0
    safe = np.where(known, total, 1.0)
    return Fused(
        np.where(known, weighed / safe, np.nan),
        np.where(known, safe, min(map(np.min, weights))) ** -0.5,
        _changes(seen),
    )


def local_noise(position_deg: FloatArray, sampling_hz: float, settings: EyeSettings) -> FloatArray:
    """White noise (SD, deg) of a position trace at every sample, shape (n,)."""
    if position_deg.size < 3:
        return np.full(position_deg.size, settings.quietest_deg)
    second = np.zeros(position_deg.size)
    second[1:-1] = np.diff(position_deg, 2)
    finite = np.isfinite(second)
    sd = blockwise_sd(second, finite, sampling_hz, settings.weight_block_s)
    return np.maximum(sd / SECOND_DIFFERENCE, settings.quietest_deg)


def slow_shift(difference: FloatArray, sampling_hz: float, block_s: float) -> FloatArray:
    """Block medians of the difference between mean and eye, interpolated to every sample."""
    n = difference.size
    count = max(1, round(n / (block_s * sampling_hz)))
    edges = np.linspace(0, n, count + 1).astype(int)
    centre, shift = [], []
    for a, b in pairwise(edges.tolist()):
        part = difference[a:b]
        known = np.flatnonzero(np.isfinite(part))
        if known.size == part.size > 0:
            centre.append(a + (part.size - 1) / 2)
            shift.append(median(part))
        elif known.size:
            centre.append(a + known.mean())
            shift.append(median(part[known]))
    return np.interp(np.arange(n), centre, shift)


def _weight(eye: FloatArray, sampling_hz: float, settings: EyeSettings) -> FloatArray:
    return np.asarray(local_noise(eye, sampling_hz, settings) ** -2.0)


def _changes(seen: list[BoolArray]) -> BoolArray:
    changed = np.zeros(seen[0].size, dtype=bool)
    for finite in seen:
        changed[1:] |= finite[1:] != finite[:-1]
    return changed


def _alone(eye: FloatArray, sampling_hz: float, settings: EyeSettings) -> Fused:
    noise = local_noise(eye, sampling_hz, settings)
    return Fused(eye, noise, np.zeros(eye.size, dtype=bool))
