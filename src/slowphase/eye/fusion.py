"""One trace from the two eyes."""

from itertools import pairwise

import numpy as np

from slowphase.eye.noise import position_noise_deg
from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.recording.eyes import is_alive

BLOCK_S = 5.0


def fuse(eyes: list[FloatArray], sampling_hz: float) -> tuple[FloatArray, BoolArray]:
    """Weighted mean of the eyes, and where the set of eyes in it changes.

    ``eyes`` holds arrays of shape (n,), NaN where lost. Each eye weighs by the inverse of its
    noise variance. Where one eye is lost the other goes on alone, shifted by the slowly changing
    difference between it and the mean, so that the trace does not jump; the second array is True
    at the first sample of each such change. Returns NaN where no eye is left.
    """
    seen = [np.isfinite(eye) for eye in eyes]
    usable = [i for i, eye in enumerate(eyes) if is_alive(eye)]
    if len(usable) < 2:
        index = usable[0] if usable else 0
        return eyes[index], np.zeros(eyes[index].size, dtype=bool)
    weights = [1.0 / max(position_noise_deg(eyes[i]), 0.01) ** 2 for i in usable]
    both = np.logical_and.reduce([seen[i] for i in usable])
    values = [np.where(seen[i], eyes[i], 0.0) for i in usable]
    mean = sum(w * v for w, v in zip(weights, values, strict=True)) / sum(weights)
    fused = np.where(both, mean, np.nan)
    if not both.any():
        return _longest(eyes)
    for i in usable:
        alone = seen[i] & ~np.isfinite(fused)
        if alone.any():
            shift = slow_shift(mean - np.where(both, eyes[i], np.nan), sampling_hz)
            fused = np.where(alone, eyes[i] + shift, fused)
    state = sum((k + 1) * seen[i].astype(int) for k, i in enumerate(usable))
    changed = np.zeros(fused.size, dtype=bool)
    changed[1:] = np.diff(state) != 0
    return fused, changed


def slow_shift(difference: FloatArray, sampling_hz: float) -> FloatArray:
    """Block medians of the difference between mean and eye, interpolated to every sample."""
    n = difference.size
    count = max(1, round(n / (BLOCK_S * sampling_hz)))
    edges = np.linspace(0, n, count + 1).astype(int)
    parts = [difference[a:b] for a, b in pairwise(edges)]
    centre, median = [], []
    for a, part in zip(edges[:-1], parts, strict=True):
        known = np.flatnonzero(np.isfinite(part))
        if known.size:
            centre.append(a + known.mean())
            median.append(np.median(part[known]))
    return np.interp(np.arange(n), centre, median)


def _longest(eyes: list[FloatArray]) -> tuple[FloatArray, BoolArray]:
    eye = max(eyes, key=lambda trace: int(np.isfinite(trace).sum()))
    return eye, np.zeros(eye.size, dtype=bool)
