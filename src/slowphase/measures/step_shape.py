"""Where a step response departs from the fitted shape.

Real reflexes saturate, have two stages, or stop short where the silenced side gives no more. The
joint fit, being robust, then follows the tail. What it misses after each change of velocity is
smoothed, judged against the noise, and given back to the response in so far as it is real.
"""

from dataclasses import dataclass

import numpy as np

from slowphase.eye.slowphase import Pieces
from slowphase.foundation.arrays import FloatArray
from slowphase.measures.noise_model import NoiseModel
from slowphase.measures.step import Change, StepFit

GRID_S = 0.25
NARROWEST_S = 0.5
WIDENING = 0.08
WIDEST_S = 4.0
MEDIAN_OF = 5
CHANCE = 1.5  # mean square of misfit over noise that chance alone reaches now and then


@dataclass(frozen=True, slots=True)
class Misfit:
    """Departure of one response from its fitted shape, at times since its ramp ended.

    ``value`` and ``error`` (deg/s, shape (m,)) are positive where the response is stronger than
    the fit; ``share`` (0 to 1) is how much of it is beyond chance.
    """

    time_s: FloatArray
    value: FloatArray
    error: FloatArray
    share: float

    def at(self, time_s: FloatArray) -> FloatArray:
        """What must be added to the fitted shape; it dies out after the recording's end."""
        inside = np.interp(time_s, self.time_s, self.value)
        late = np.maximum(time_s - self.time_s[-1], 0.0)
        return self.share * inside * np.exp(-late / WIDEST_S)

    def error_at(self, time_s: float) -> float:
        """Standard error (deg/s) of what is added at one time."""
        return self.share * float(np.interp(time_s, self.time_s, self.error))


NO_MISFIT = Misfit(np.array([0.0, 1.0]), np.zeros(2), np.zeros(2), 0.0)


def find_misfit(pieces: Pieces, fit: StepFit, change: Change) -> Misfit:
    """The smoothed misfit of one response, with its error under the fit's noise model."""
    inside = (pieces.time_s >= change.stop_s) & (pieces.time_s < change.until_s)
    if inside.sum() < 4 * MEDIAN_OF:
        return NO_MISFIT
    since = pieces.time_s[inside] - change.stop_s
    missed = -np.sign(change.size_deg_s) * fit.fit.residual[inside]
    sd = np.hypot(pieces.noise_deg_s[inside], fit.fit.scatter)
    grid = np.arange(0.0, float(since[-1]) + GRID_S, GRID_S)
    rows = smoother(since, sd**-2.0, grid)
    value = rows @ running_median(missed)
    error = smoothed_error(rows, since, sd, fit.fit.noise)
    chance = float(np.mean((value / error) ** 2))
    return Misfit(grid, value, error, max(0.0, 1.0 - CHANCE / chance) if chance > 0 else 0.0)


def smoother(time_s: FloatArray, weight: FloatArray, grid_s: FloatArray) -> FloatArray:
    """Rows of a local straight-line smoother, shape (m, p); windows widen with time."""
    width = np.minimum(NARROWEST_S + WIDENING * grid_s, WIDEST_S)
    lag = time_s[None, :] - grid_s[:, None]
    kernel = weight * np.exp(-0.5 * (lag / width[:, None]) ** 2) + 1e-12 * weight
    s0, s1, s2 = (np.sum(kernel * lag**k, axis=1, keepdims=True) for k in range(3))
    determinant = s0 * s2 - s1**2
    flat = determinant < 1e-4 * s0 * s2
    line = kernel * (s2 - s1 * lag) / np.where(flat, 1.0, determinant)
    return np.where(flat, kernel / s0, line)


def smoothed_error(
    rows: FloatArray, time_s: FloatArray, sd: FloatArray, noise: NoiseModel
) -> FloatArray:
    """Standard error of each smoothed value, shape (m,)."""
    white = noise.white * (rows**2 @ sd**2)
    drift = np.einsum("ij,jk,ik->i", rows, noise.correlation(time_s), rows)
    return np.sqrt(np.maximum(white + drift, 1e-12))


def running_median(values: FloatArray, size: int = MEDIAN_OF) -> FloatArray:
    """Median of each value and its neighbours, so that overlooked quick phases do not count."""
    half = size // 2
    padded = np.pad(values, half, mode="edge")
    return np.median(np.lib.stride_tricks.sliding_window_view(padded, size), axis=1)
