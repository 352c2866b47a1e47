"""How noisy a position trace is."""

from itertools import pairwise

import numpy as np

from slowphase.foundation.arrays import BoolArray, FloatArray

MAD_TO_SD = 1.4826
SMALLEST = 1e-6


def robust_sd(values: FloatArray) -> float:
    """Standard deviation from the median absolute deviation; 0.0 for an empty array."""
    finite = values[np.isfinite(values)]
    if finite.size == 0:
        return 0.0
    return MAD_TO_SD * float(np.median(np.abs(finite - np.median(finite))))


def position_noise_deg(position_deg: FloatArray) -> float:
    """White noise of a position trace (SD, deg) from its second differences.

    A second difference removes any straight slow phase; its SD is sqrt(6) times that of the
    samples. Quick phases are rare enough for the median to ignore them. Coarse steps of the
    recorder may leave the median at 0: then the smaller nine tenths of the differences tell.
    ``position_deg`` has shape (n,) and may hold NaN.
    """
    if position_deg.size < 3:
        return 0.0
    second = np.abs(np.diff(position_deg, 2))
    second = second[np.isfinite(second)]
    if second.size == 0:
        return 0.0
    spread = MAD_TO_SD * float(np.median(second))
    if spread == 0.0:
        small = second[second <= np.quantile(second, 0.9)]
        spread = float(np.sqrt(np.mean(small**2)))
    return spread / 6.0**0.5


def blockwise_sd(values: FloatArray, keep: BoolArray, block: int) -> FloatArray:
    """Robust SD of ``values`` around zero at every sample, from blocks of ``block`` samples.

    Blocks in which less than a fifth of the samples are kept take the median of the others;
    between block centres the SD is interpolated. Shapes (n,).
    """
    n = values.size
    count = max(1, round(n / block))
    edges = np.linspace(0, n, count + 1).astype(int)
    scale: FloatArray = np.full(count, np.nan)
    for i, (a, b) in enumerate(pairwise(edges)):
        inside = np.abs(values[a:b][keep[a:b]])
        if inside.size > max(5, 0.2 * (b - a)):
            scale[i] = MAD_TO_SD * np.median(inside)
    if not np.isfinite(scale).any():
        return np.full(n, robust_sd(values), dtype=float)
    scale = np.where(np.isfinite(scale), scale, np.nanmedian(scale))
    scale = np.maximum(scale, max(0.2 * float(np.median(scale)), SMALLEST))
    centres = (edges[:-1] + edges[1:]) / 2
    return np.asarray(np.interp(np.arange(n), centres, scale), dtype=float)
