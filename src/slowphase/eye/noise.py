"""How noisy a position trace is."""

import numpy as np

from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.foundation.median import median, quantile

MAD_TO_SD = 1.4826  # of normal values
SMALLEST = 1e-6  # as good as 0, and still a number to divide by
READ_HZ = 100.0  # samples looked at per second: more tell no more of a block
LOOKED_AT = 20_000  # differences: their median is then sure to 1 %
SECOND_DIFFERENCE = 6.0**0.5  # SD of a second difference of white noise over the noise's own


def robust_sd(values: FloatArray) -> float:
    """Standard deviation from the median absolute deviation; 0.0 for an empty array."""
    finite = values[np.isfinite(values)]
    if finite.size == 0:
        return 0.0
    return MAD_TO_SD * median(np.abs(finite - median(finite)))


def position_noise_deg(position_deg: FloatArray) -> float:
    """White noise of a position trace (SD, deg) from its second differences.

    A second difference removes any straight slow phase; its SD is sqrt(6) times that of the
    samples. Quick phases are rare enough for the median to ignore them. Coarse steps of the
    recorder may leave the median at 0: then the smaller nine tenths of the differences tell.
    ``position_deg`` has shape (n,) and may hold NaN.
    """
    if position_deg.size < 3:
        return 0.0
    stop = position_deg.size - 2
    stride = max(1, stop // LOOKED_AT)
    first, middle, last = (position_deg[at : stop + at : stride] for at in range(3))
    second = np.abs((last - middle) - (middle - first))
    second = second[np.isfinite(second)]
    if second.size == 0:
        return 0.0
    spread = MAD_TO_SD * median(second)
    if spread == 0.0:
        small = second[second <= quantile(second, 0.9)]
        spread = float(np.sqrt(np.mean(small**2)))
    return spread / SECOND_DIFFERENCE


def blockwise_sd(
    values: FloatArray, keep: BoolArray, sampling_hz: float, block_s: float
) -> FloatArray:
    """Robust SD of ``values`` around zero at every sample, from blocks of about ``block_s``.

    About ``READ_HZ`` samples per second are looked at. Blocks in which less than a fifth of them
    are kept take the median of the others; between block centres the SD is interpolated.
    Shapes (n,).
    """
    stride = max(1, int(sampling_hz / READ_HZ))
    size = np.where(keep, np.abs(values), np.inf)[::stride]
    count = max(1, round(values.size / (block_s * sampling_hz)))
    length = -(-size.size // count)
    padded = np.full(count * length, np.inf)
    padded[: size.size] = size
    ordered = np.sort(padded.reshape(count, length), axis=1)
    kept = np.isfinite(ordered).sum(axis=1)
    enough = kept > max(5, 0.2 * length)
    if not enough.any():
        return np.full(values.size, max(robust_sd(values), SMALLEST))
    scale = MAD_TO_SD * ordered[np.arange(count), kept // 2]
    typical = median(scale[enough])
    scale = np.maximum(np.where(enough, scale, typical), max(0.2 * typical, SMALLEST))
    centres = (np.arange(count) + 0.5) * length * stride
    return np.asarray(np.interp(np.arange(values.size), centres, scale), dtype=float)
