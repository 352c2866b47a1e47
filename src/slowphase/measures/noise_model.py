"""What is left of a fit: white scatter, and a slow wandering of the eye that outlasts a beat.

Residuals of slow-phase velocity are alike over seconds, because the eye drifts. Taking them as
independent would make every interval too narrow. The residuals of blocks of time are modelled as

    drift (SD s, correlation exp(-lag/tau))  +  white noise (variance f / weight of the block)

and s, tau and f are weighed by their restricted likelihood (Patterson, Thompson 1971), which
allows for what the fitted parameters have already taken away. All of them that the residuals
allow take part, since a short recording cannot tell them apart.
"""

from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray

TAUS_S = (0.7, 1.7, 4.0, 10.0, 25.0)
RATIOS = (0.0, 0.3, 1.0, 3.0, 10.0, 40.0, 200.0)
BLOCKS_MAX = 120
BLOCK_S = 1.0
NEIGHBOUR_S = 0.5


@dataclass(frozen=True, slots=True)
class NoiseModel:
    """Noise of a fit: drift variances (deg/s)² for each correlation time of ``TAUS_S``, and
    ``white``, which multiplies the known variance. ``span_s`` is the time that they were found in.
    """

    drift_variance: tuple[float, ...]
    white: float
    span_s: float

    @property
    def drift_deg_s(self) -> float:
        """SD of the drift."""
        return sum(self.drift_variance) ** 0.5

    @property
    def drift_s(self) -> float:
        """Correlation time of the drift, averaged by variance; the shortest where there is none."""
        total = sum(self.drift_variance)
        pairs = zip(self.drift_variance, TAUS_S, strict=True)
        return sum(v * tau for v, tau in pairs) / total if total > 0 else TAUS_S[0]

    def correlation(self, time_s: FloatArray) -> FloatArray:
        """Covariance of the drift between times, shape (n, n), in (deg/s)²."""
        lag = np.abs(time_s[:, None] - time_s[None, :])
        total = np.zeros_like(lag)
        for variance, tau in zip(self.drift_variance, TAUS_S, strict=True):
            if variance > 1e-3 * self.drift_deg_s**2:
                total += variance * np.exp(-lag / tau)
        return total

    def degrees(self, parameters: int) -> float:
        """Degrees of freedom left for Student's t: independent stretches less parameters."""
        own_s = max(2 * self.drift_s, BLOCK_S)
        return max(self.span_s / own_s - parameters, 4.0)


@dataclass(frozen=True, slots=True)
class Blocks:
    """Sums over blocks of time: mean time (n,), weight (n,), mean residual (n,), mean Jacobian
    (n, k)."""

    time_s: FloatArray
    weight: FloatArray
    residual: FloatArray
    jacobian: FloatArray


def sum_blocks(
    time_s: FloatArray,
    weight: FloatArray,
    residual: FloatArray,
    jacobian: FloatArray,
    length_s: float,
) -> Blocks:
    """Weighted means within consecutive blocks of ``length_s``; empty blocks are left out.

    ``weight`` (p,) is the inverse variance of each observation, 0 where it is not used.
    """
    number = np.floor((time_s - time_s[0]) / length_s).astype(np.int64)
    used, index = np.unique(number, return_inverse=True)
    total = np.asarray(np.bincount(index, weights=weight, minlength=used.size), dtype=float)
    keep = total > 1e-9 * max(float(total.max()), 1e-300)
    safe = np.where(keep, total, 1.0)

    def mean(values: FloatArray) -> FloatArray:
        return np.bincount(index, weights=weight * values, minlength=used.size) / safe

    columns = np.column_stack([mean(column) for column in jacobian.T])
    return Blocks(mean(time_s)[keep], total[keep], mean(residual)[keep], columns[keep])


def estimate_noise(
    time_s: FloatArray, inverse: FloatArray, residual: FloatArray, jacobian: FloatArray
) -> NoiseModel:
    """The noise model of one fit's residuals.

    ``inverse`` (p,) is the weight of each observation in the fit, its known variance inverted;
    ``jacobian`` is (p, k). Within a block the residuals of neighbours tell the white noise, which
    long blocks would average away.
    """
    span = float(time_s[-1] - time_s[0])
    length = max(BLOCK_S, span / BLOCKS_MAX)
    blocks = sum_blocks(time_s, inverse, residual, jacobian, length)
    size = blocks.time_s.size
    nothing = (0.0,) * len(TAUS_S)
    if size < jacobian.shape[1] + 4:
        return NoiseModel(nothing, max(_white(blocks), 1.0), span)
    criteria, drifts, whites = _likelihoods(blocks)
    weight = np.exp(-0.5 * (criteria - criteria.min()))
    weight /= weight.sum()
    variances = (weight * drifts).sum(axis=1)
    white = max(float(np.sum(weight * whites)), _neighbours(time_s, inverse, residual))
    return NoiseModel(tuple(map(float, variances)), white, span)


def _neighbours(time_s: FloatArray, inverse: FloatArray, residual: FloatArray) -> float:
    """White factor from the differences between neighbours (von Neumann's ratio)."""
    close = (np.diff(time_s) < NEIGHBOUR_S) & (inverse[1:] > 0) & (inverse[:-1] > 0)
    if not close.any():
        return 1.0
    variance = 1.0 / inverse[1:][close] + 1.0 / inverse[:-1][close]
    return float(np.mean(np.diff(residual)[close] ** 2 / variance))


def _likelihoods(blocks: Blocks) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Criterion, drift variance and white factor for every tau and ratio, shape (taus, ratios)."""
    typical = float(np.median(1.0 / blocks.weight))
    lag = np.abs(blocks.time_s[:, None] - blocks.time_s[None, :])
    shape = (len(TAUS_S), len(RATIOS))
    criteria, drifts, whites = np.full(shape, np.inf), np.zeros(shape), np.zeros(shape)
    for i, tau in enumerate(TAUS_S):
        alike = typical * np.exp(-lag / tau)
        for j, ratio in enumerate(RATIOS):
            covariance = ratio * alike
            covariance[np.diag_indices(lag.shape[0])] += 1.0 / blocks.weight
            criterion, factor = restricted_likelihood(covariance, blocks.residual, blocks.jacobian)
            criteria[i, j], whites[i, j] = criterion, factor
            drifts[i, j] = ratio * typical * factor
    return criteria, drifts, whites


def restricted_likelihood(
    covariance: FloatArray, residual: FloatArray, jacobian: FloatArray
) -> tuple[float, float]:
    """-2 log of the restricted likelihood, its scale profiled out, and that scale.

    ``covariance`` is (n, n) up to the scale, ``jacobian`` (n, k) the directions already fitted.
    """
    scaled = jacobian / np.maximum(np.linalg.norm(jacobian, axis=0), 1e-12)
    lower = np.linalg.cholesky(covariance)
    whitened = np.linalg.solve(lower, np.column_stack([residual, scaled]))
    basis, singular, _ = np.linalg.svd(whitened[:, 1:], full_matrices=False)
    rank = int(np.sum(singular > 1e-6 * singular[0]))
    basis = basis[:, :rank]
    left = whitened[:, 0] - basis @ (basis.T @ whitened[:, 0])
    free = residual.size - rank
    scale = float(left @ left) / free
    log_det = 2 * float(np.sum(np.log(np.diag(lower))))
    log_fit = 2 * float(np.sum(np.log(singular[:rank])))
    return free * np.log(max(scale, 1e-300)) + log_det + log_fit, scale


def _white(blocks: Blocks) -> float:
    return float(np.mean(blocks.weight * blocks.residual**2)) if blocks.weight.size else 1.0
