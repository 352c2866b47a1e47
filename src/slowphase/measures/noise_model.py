"""What is left of a fit: white scatter, an eye that wanders, and a response that waxes and wanes.

Residuals of slow-phase velocity are alike over seconds, because the eye drifts and because
alertness does. Taking them as independent would make every interval too narrow, and would weigh
what is slow as much as what is sure. The residuals of blocks of time are modelled as

    drift (SD s, correlation exp(-lag/tau))  +  response x waver (SD w, correlation exp(-lag/waver_s))
    +  white noise (variance f / weight of the block)

and s, tau, w and f are weighed by their restricted likelihood (Patterson, Thompson 1971), which
allows for what the fitted parameters have already taken away, and by a wide prior of what eyes do.
All that the residuals allow take part, since a short recording cannot tell them apart.
"""

from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray

TAUS_S = (0.7, 1.5, 3.0, 6.0, 12.0)
RATIOS = (0.01, 0.05, 0.2, 0.6, 2.0, 6.0, 20.0, 80.0)
WAVERS = (0.0, 0.01, 0.02, 0.04, 0.08, 0.16)
BLOCKS_MAX = 120
BLOCK_S = 0.3
NEIGHBOUR_S = 0.5


@dataclass(frozen=True, slots=True)
class NoisePrior:
    """What is believed of eyes beforehand: medians and SD of the logarithms.

    The drift of slow-phase velocity (deg/s) and its memory (s), and the waxing and waning of the
    response: its usual relative size, from which it is an exponential distribution, and memory.
    """

    drift_deg_s: float = 0.3
    drift_log_sd: float = 0.8
    memory_s: float = 2.0
    memory_log_sd: float = 0.8
    waver: float = 0.02
    waver_s: float = 10.0

    def penalty(self, drift_deg_s: float, memory_s: float) -> float:
        """-2 log of the prior density of a drift, up to a constant."""
        size = np.log(max(drift_deg_s, 1e-12) / self.drift_deg_s) / self.drift_log_sd
        memory = np.log(memory_s / self.memory_s) / self.memory_log_sd
        return float(size**2 + memory**2)


USUAL_EYES = NoisePrior()


@dataclass(frozen=True, slots=True)
class NoiseModel:
    """Noise of a fit: drift variances (deg/s)² for each correlation time of ``TAUS_S``, and
    ``white``, which multiplies the known variance. ``span_s`` is the time that they were found in.
    ``waver`` is the relative SD of the response's strength, alike over ``waver_s``.
    """

    drift_variance: tuple[float, ...]
    white: float
    span_s: float
    waver: float = 0.0
    waver_s: float = 10.0

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

    def correlation(self, time_s: FloatArray, response: FloatArray | None = None) -> FloatArray:
        """Covariance between times of the drift and of the waver, shape (n, n), in (deg/s)².

        ``response`` (n,) is the fitted response at those times.
        """
        lag = np.abs(time_s[:, None] - time_s[None, :])
        total = np.zeros_like(lag)
        for variance, tau in zip(self.drift_variance, TAUS_S, strict=True):
            if variance > 1e-3 * self.drift_deg_s**2:
                total += variance * np.exp(-lag / tau)
        if self.waver > 0 and response is not None:
            total += np.outer(response, response) * self.waver**2 * np.exp(-lag / self.waver_s)
        return total

    def degrees(self, parameters: int) -> float:
        """Degrees of freedom left for Student's t: independent stretches less parameters."""
        own_s = max(2 * self.drift_s, 1.0)
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
    time_s: FloatArray,
    inverse: FloatArray,
    residual: FloatArray,
    jacobian: FloatArray,
    prior: NoisePrior = USUAL_EYES,
    response: FloatArray | None = None,
) -> NoiseModel:
    """The noise model of one fit's residuals.

    ``inverse`` (p,) is the weight of each observation in the fit, its known variance inverted;
    ``jacobian`` is (p, k). Within a block the residuals of neighbours tell the white noise, which
    long blocks would average away. ``response`` (p,) is what alertness would make wax and wane.
    """
    span = float(time_s[-1] - time_s[0])
    length = max(BLOCK_S, span / BLOCKS_MAX)
    columns = jacobian if response is None else np.column_stack([jacobian, response])
    blocks = sum_blocks(time_s, inverse, residual, columns, length)
    nothing = (0.0,) * len(TAUS_S)
    if blocks.time_s.size < jacobian.shape[1] + 4:
        return NoiseModel(nothing, max(_white(blocks), 1.0), span)
    neighbours = _neighbours(time_s, inverse, residual)
    if response is None:
        variances, white = _drifts(blocks, prior, None)
        return NoiseModel(variances, max(white, neighbours), span)
    own = Blocks(blocks.time_s, blocks.weight, blocks.residual, blocks.jacobian[:, :-1])
    lag = np.abs(own.time_s[:, None] - own.time_s[None, :])
    wave = np.outer(blocks.jacobian[:, -1], blocks.jacobian[:, -1]) * np.exp(-lag / prior.waver_s)
    variances, white = _drifts(own, prior, None)
    waver = _waver(own, prior, variances, white, wave)
    if waver > 0:
        variances, white = _drifts(own, prior, waver**2 * wave)
    return NoiseModel(variances, max(white, neighbours), span, waver, prior.waver_s)


def _waver(
    blocks: Blocks,
    prior: NoisePrior,
    variances: tuple[float, ...],
    white: float,
    wave: FloatArray,
) -> float:
    """Relative SD of the response's strength (root of its mean square), given the drift."""
    drift = NoiseModel(variances, white, 0.0).correlation(blocks.time_s)
    drift[np.diag_indices(drift.shape[0])] += white / blocks.weight
    criteria = []
    for size in WAVERS:
        criterion, scale = restricted_likelihood(
            drift + size**2 * wave, blocks.residual, blocks.jacobian, fixed=True
        )
        criteria.append(criterion + 2 * size / prior.waver)
    weight = np.exp(-0.5 * (np.array(criteria) - min(criteria)))
    return float(np.sqrt(np.sum(weight * np.square(WAVERS)) / weight.sum()))


def _drifts(
    blocks: Blocks, prior: NoisePrior, waver: FloatArray | None
) -> tuple[tuple[float, ...], float]:
    """Drift variance of each memory and the white factor, averaged over what is likely."""
    criteria, drifts, whites = _likelihoods(blocks, prior, waver)
    weight = np.exp(-0.5 * (criteria - criteria.min()))
    weight /= weight.sum()
    variances = (weight * drifts).sum(axis=1)
    return tuple(map(float, variances)), float(np.sum(weight * whites))


def _neighbours(time_s: FloatArray, inverse: FloatArray, residual: FloatArray) -> float:
    """White factor from the differences between neighbours (von Neumann's ratio)."""
    close = (np.diff(time_s) < NEIGHBOUR_S) & (inverse[1:] > 0) & (inverse[:-1] > 0)
    if not close.any():
        return 1.0
    variance = 1.0 / inverse[1:][close] + 1.0 / inverse[:-1][close]
    return float(np.mean(np.diff(residual)[close] ** 2 / variance))


def _likelihoods(
    blocks: Blocks, prior: NoisePrior, waver: FloatArray | None
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Criterion, drift variance and white factor for every tau and ratio, shape (taus, ratios)."""
    typical = float(np.median(1.0 / blocks.weight))
    lag = np.abs(blocks.time_s[:, None] - blocks.time_s[None, :])
    shape = (len(TAUS_S), len(RATIOS))
    criteria, drifts, whites = np.full(shape, np.inf), np.zeros(shape), np.zeros(shape)
    for i, tau in enumerate(TAUS_S):
        alike = typical * np.exp(-lag / tau)
        for j, ratio in enumerate(RATIOS):
            covariance = ratio * alike
            if waver is not None:
                covariance += waver
            covariance[np.diag_indices(lag.shape[0])] += 1.0 / blocks.weight
            criterion, factor = restricted_likelihood(covariance, blocks.residual, blocks.jacobian)
            drifts[i, j], whites[i, j] = ratio * typical * factor, factor
            criteria[i, j] = criterion + prior.penalty(drifts[i, j] ** 0.5, tau)
    return criteria, drifts, whites


def restricted_likelihood(
    covariance: FloatArray, residual: FloatArray, jacobian: FloatArray, *, fixed: bool = False
) -> tuple[float, float]:
    """-2 log of the restricted likelihood, its scale profiled out unless fixed, and that scale.

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
    misfit = free * scale if fixed else free * np.log(max(scale, 1e-300))
    return misfit + log_det + log_fit, scale


def _white(blocks: Blocks) -> float:
    return float(np.mean(blocks.weight * blocks.residual**2)) if blocks.weight.size else 1.0
