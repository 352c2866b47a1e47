"""Where a step response departs from the fitted shape.

Real reflexes saturate, have two stages, or stop short where the silenced side gives no more. The
joint fit, being robust, then follows the tail. What it misses after each change of velocity is
smoothed, judged against the noise, and given back to the response in so far as it is real.
"""

from dataclasses import dataclass

import numpy as np

from slowphase.eye.quickphase import running_median
from slowphase.eye.slowphase import Pieces
from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.measures.noise_model import NoiseModel, estimate_noise
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.step import Change, StepFit, quiet_times

GRID_S = 0.25  # grid: half of the narrowest window
NARROWEST_S = 0.5  # width of the smoother at the ramp's end
WIDENING = 0.08  # its growth per second: what changes late changes slowly
WIDEST_S = 4.0  # its end
MEDIAN_OF = 5  # width of the median that takes out single pieces
NEIGHBOURS = 15  # width of the average of squared differences


@dataclass(frozen=True, slots=True)
class Misfit:
    """Departure of one response from its fitted shape, at times since its ramp ended.

    ``value`` and ``error`` (deg/s, shape (m,)) are positive where the response is stronger than
    the fit; ``share`` (0 to 1, shape (m,)) is how much of it is beyond chance; ``withheld`` (m,)
    is the size (deg/s) of what is not given back although it is more than the error explains.
    """

    time_s: FloatArray
    value: FloatArray
    error: FloatArray
    share: FloatArray
    withheld: FloatArray

    def at(self, time_s: FloatArray) -> FloatArray:
        """What must be added to the fitted shape; it dies out after the recording's end."""
        inside = np.interp(time_s, self.time_s, self.share * self.value)
        late = np.maximum(time_s - self.time_s[-1], 0.0)
        return inside * np.exp(-late / WIDEST_S)

    def error_at(self, time_s: float) -> float:
        """Standard error (deg/s) of what is added at one time."""
        total = np.hypot(self.share * self.error, self.withheld)
        return float(np.interp(time_s, self.time_s, total))


NO_MISFIT = Misfit(np.array([0.0, 1.0]), np.zeros(2), np.zeros(2), np.zeros(2), np.zeros(2))


def find_misfit(pieces: Pieces, fit: StepFit, change: Change, settings: MeasureSettings) -> Misfit:
    """The smoothed misfit of one response, with its error under the fit's noise model."""
    inside = (pieces.time_s >= change.stop_s) & (pieces.time_s < change.until_s)
    if inside.sum() < 4 * MEDIAN_OF:
        return NO_MISFIT
    since = pieces.time_s[inside] - change.stop_s
    missed = -np.sign(change.size_deg_s) * fit.fit.residual[inside]
    sd = np.hypot(pieces.noise_deg_s[inside], fit.fit.scatter)
    grid = np.arange(0.0, float(since[-1]) + GRID_S, GRID_S)
    kept = ~fit.lapse[inside]
    rows = smoother(since, np.where(kept, sd**-2.0, 0.0), grid)
    value = rows @ running_median(missed, MEDIAN_OF)
    noise = quiet_noise(pieces, fit, settings)
    error = smoothed_error(rows, since, local_sd(missed, sd), noise)
    local = local_mean(grid, (value / error) ** 2)
    near = within_reach(grid, since[kept])
    share = np.where(near, share_beyond_chance(local, settings.shape_chance), 0.0)
    excess = error * np.sqrt(np.maximum(local - 1.0, 0.0))
    return Misfit(grid, value, error, share, np.where(near, (1.0 - share) * excess, 0.0))


def within_reach(grid_s: FloatArray, time_s: FloatArray) -> BoolArray:
    """Grid points that have an observation within the smoother's width, shape (m,)."""
    if time_s.size == 0:
        return np.zeros(grid_s.size, dtype=bool)
    after = np.searchsorted(time_s, grid_s)
    left = np.abs(grid_s - time_s[np.maximum(after - 1, 0)])
    right = np.abs(time_s[np.minimum(after, time_s.size - 1)] - grid_s)
    return np.minimum(left, right) <= smoothing_width_s(grid_s)


def smoothing_width_s(grid_s: FloatArray) -> FloatArray:
    """SD (s) of the smoother's window at times since the ramp ended."""
    return np.minimum(NARROWEST_S + WIDENING * grid_s, WIDEST_S)


def local_mean(grid_s: FloatArray, values: FloatArray) -> FloatArray:
    """Mean of values within the smoother's window around each grid point, shape (m,)."""
    return smoother(grid_s, np.ones_like(grid_s), grid_s) @ values


def share_beyond_chance(mean_square: FloatArray, chance: float) -> FloatArray:
    """1 - (chance / z²)², z² the local mean square of the standardised misfit; 0 where negative."""
    return np.asarray(np.maximum(0.0, 1.0 - (chance / np.maximum(mean_square, chance)) ** 2))


def quiet_noise(pieces: Pieces, fit: StepFit, settings: MeasureSettings) -> NoiseModel:
    """The noise model of the times when no response is strong; the fit's own where they are few.

    A shape that does not fit would otherwise pass for a drifting eye.
    """
    quiet = ~fit.lapse & quiet_times(pieces.time_s, fit.changes, settings)
    if quiet.sum() < settings.step_quiet_pieces_min:
        return fit.fit.noise
    inverse = fit.fit.weight / np.hypot(pieces.noise_deg_s, fit.fit.scatter) ** 2
    level = np.ones((int(quiet.sum()), 1))
    return estimate_noise(pieces.time_s[quiet], inverse[quiet], fit.fit.residual[quiet], level)


def smoother(time_s: FloatArray, weight: FloatArray, grid_s: FloatArray) -> FloatArray:
    """Rows of a local straight-line smoother, shape (m, p); windows widen with time."""
    width = smoothing_width_s(grid_s)
    lag = time_s[None, :] - grid_s[:, None]
    kernel = weight * np.exp(-0.5 * (lag / width[:, None]) ** 2) + 1e-12 * weight.max()
    s0, s1, s2 = (np.sum(kernel * lag**k, axis=1, keepdims=True) for k in range(3))
    determinant = s0 * s2 - s1**2
    flat = determinant < 1e-4 * s0 * s2
    line = kernel * (s2 - s1 * lag) / np.where(flat, 1.0, determinant)
    return np.where(flat, kernel / s0, line)


def local_sd(missed: FloatArray, sd: FloatArray) -> FloatArray:
    """SD of one observation, no less than its neighbours' differences show, shape (p,).

    Fast nystagmus leaves short slow phases with remains of quick phases in them: just after a
    change of velocity the scatter is larger than the recording's.
    """
    squares = np.diff(missed, prepend=missed[:1]) ** 2 / 2
    local = np.convolve(squares, np.ones(NEIGHBOURS), "same") / np.convolve(
        np.ones_like(squares), np.ones(NEIGHBOURS), "same"
    )
    return np.sqrt(np.maximum(local, sd**2))


def smoothed_error(
    rows: FloatArray, time_s: FloatArray, sd: FloatArray, noise: NoiseModel
) -> FloatArray:
    """Standard error of each smoothed value, shape (m,)."""
    white = noise.white * (rows**2 @ sd**2)
    drift = np.sum((rows @ noise.drift_covariance(time_s)) * rows, axis=1)
    return np.sqrt(np.maximum(white + drift, 1e-12))
