"""What is left of a fit: white scatter, an eye that wanders, and a response that waxes and wanes.

Residuals of slow-phase velocity are alike over seconds, because the eye drifts and because
alertness does. Taking them as independent would make every interval too narrow, and would weigh
what is slow as much as what is sure. The residuals of blocks of time are modelled as

    drift (SD s, correlation exp(-lag/tau))
    +  response x waver (SD w, correlation exp(-lag/waver_s))
    +  white noise (variance f / weight of the block)

and s, tau, w and f are weighed by their restricted likelihood (Patterson, Thompson 1971), which
allows for what the fitted parameters have already taken away, and by a wide prior of what eyes do.
All that the residuals allow take part, since a short recording cannot tell them apart.
"""

from dataclasses import dataclass, replace

import numpy as np

from slowphase.eye.runs import numbers_of_runs
from slowphase.foundation.arrays import FloatArray
from slowphase.foundation.median import median
from slowphase.measures.settings import MeasureSettings

TAUS_S = (0.8, 2.0, 6.0)  # grid of the drift's memory
RATIOS = (0.02, 0.15, 0.8, 4.0, 20.0, 100.0)  # grid of its variance over that of a block
WHITE_LOG_SD = 0.5  # of the white factor between blocks beyond that between neighbours
WAVERS = (0.0, 0.005, 0.01, 0.02, 0.04, 0.08)  # grid of the waver: beyond it are lapses
BLOCKS_MAX = 75  # the work grows with its third power
BLOCK_S = 0.3  # shortest block: a few pieces


@dataclass(frozen=True, slots=True)
class NoisePrior:
    """What is believed of eyes beforehand: medians and SD of the logarithms.

    The drift of slow-phase velocity (deg/s) and its memory (s), and the waxing and waning of the
    response: its usual relative size, the scale of a half-Cauchy distribution, alert and drowsy,
    and its memory. ``unseen`` is the SD of what lapses add to it where they cannot be seen.
    ``degrees_min`` is what that is worth in degrees of freedom; residuals above
    ``believed_weight`` take part, neighbours are those within ``neighbour_s``.
    """

    drift_deg_s: float
    drift_log_sd: float
    memory_s: float
    memory_log_sd: float
    waver: float
    waver_s: float
    waver_drowsy: float
    degrees_min: float
    believed_weight: float
    neighbour_s: float
    unseen: float = 0.0

    def of_the_drowsy(self) -> "NoisePrior":
        """What is believed where alertness was seen to lapse."""
        return replace(self, waver=self.waver_drowsy)

    def penalty(self, drift_deg_s: FloatArray, memory_s: FloatArray) -> FloatArray:
        """-2 log of the prior density of drifts, up to a constant."""
        size = np.log(np.maximum(drift_deg_s, 1e-12) / self.drift_deg_s) / self.drift_log_sd
        memory = np.log(memory_s / self.memory_s) / self.memory_log_sd
        return np.asarray(size**2 + memory**2)


def noise_prior(settings: MeasureSettings) -> NoisePrior:
    """What is believed of the noise beforehand."""
    return NoisePrior(
        drift_deg_s=settings.drift_deg_s,
        drift_log_sd=settings.drift_log_sd,
        memory_s=settings.drift_memory_s,
        memory_log_sd=settings.drift_memory_log_sd,
        waver=settings.waver,
        waver_s=settings.waver_s,
        waver_drowsy=settings.waver_drowsy,
        degrees_min=settings.noise_degrees_min,
        believed_weight=settings.noise_weight,
        neighbour_s=settings.noise_neighbour_s,
    )


USUAL_EYES = noise_prior(MeasureSettings())


@dataclass(frozen=True, slots=True)
class NoiseModel:
    """Noise of a fit: drift variances (deg/s)² for each correlation time of ``TAUS_S``, and
    ``white``, which multiplies the known variance. ``span_s`` is the time that they were found in.
    ``waver`` is the relative SD of the response's strength, alike over ``waver_s``;
    ``degrees_min`` is what the prior is worth.
    """

    drift_variance: tuple[float, ...]
    white: float
    span_s: float
    waver: float = 0.0
    waver_s: float = USUAL_EYES.waver_s
    degrees_min: float = USUAL_EYES.degrees_min

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

    def drift_covariance(self, time_s: FloatArray) -> FloatArray:
        """Covariance of the drift between times, shape (n, n), in (deg/s)²."""
        lag = np.abs(time_s[:, None] - time_s[None, :])
        total = np.zeros_like(lag)
        for variance, tau in zip(self.drift_variance, TAUS_S, strict=True):
            if variance > 1e-3 * self.drift_deg_s**2:
                total += variance * np.exp(-lag / tau)
        return total

    def waver_covariance(self, time_s: FloatArray) -> FloatArray:
        """Covariance of the response's relative strength between times, shape (n, n)."""
        lag = np.abs(time_s[:, None] - time_s[None, :])
        return np.asarray(self.waver**2 * np.exp(-lag / self.waver_s))

    def with_drift(self, drift_deg_s: float) -> "NoiseModel":
        """The same noise with a drift of another SD."""
        share = (drift_deg_s / self.drift_deg_s) ** 2 if self.drift_deg_s > 0 else 0.0
        return replace(self, drift_variance=tuple(share * v for v in self.drift_variance))

    def degrees(self, parameters: int) -> float:
        """Degrees of freedom left for Student's t: independent stretches less parameters."""
        own_s = max(2 * self.drift_s, 1.0)
        return max(self.span_s / own_s - parameters, self.degrees_min)


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
    index = numbers_of_runs(number)
    total = np.asarray(np.bincount(index, weights=weight), dtype=float)
    keep = total > 1e-9 * max(float(total.max()), 1e-300)
    safe = np.where(keep, total, 1.0)

    def mean(values: FloatArray) -> FloatArray:
        return np.bincount(index, weights=weight * values) / safe

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
        white = max(_white(blocks), 1.0)
        return NoiseModel(nothing, white, span, degrees_min=prior.degrees_min)
    wave = None
    if response is not None:
        own = blocks.jacobian[:, -1]
        lag = np.abs(blocks.time_s[:, None] - blocks.time_s[None, :])
        wave = np.outer(own, own) * block_correlation(lag, length, prior.waver_s)
        blocks = replace(blocks, jacobian=blocks.jacobian[:, :-1])
    neighbours = _neighbours(time_s, inverse, residual, prior.neighbour_s)
    variances, white, waver = _averaged(blocks, (length, neighbours), prior, wave)
    white, waver = max(white, neighbours), float(np.hypot(waver, prior.unseen))
    return NoiseModel(variances, white, span, waver, prior.waver_s, prior.degrees_min)


def _averaged(
    blocks: Blocks, known: tuple[float, float], prior: NoisePrior, wave: FloatArray | None
) -> tuple[tuple[float, ...], float, float]:
    """Drift variance of each memory, white factor and waver, averaged over what is likely.

    ``known`` is the length of the blocks (s) and the white factor that neighbours show: a much
    larger one between blocks is no white noise, however short the drift's memory is.
    ``wave`` (n, n) is the covariance of a waver of 1; None where there is no response.
    """
    length_s, neighbours = known
    wavers = np.array(WAVERS if wave is not None else WAVERS[:1])
    typical = median(1.0 / blocks.weight)
    lag = np.abs(blocks.time_s[:, None] - blocks.time_s[None, :])
    basis = column_space(blocks.jacobian)
    shape = (len(TAUS_S), len(RATIOS), wavers.size)
    criteria, scales = np.zeros(shape), np.zeros(shape)
    # The scale multiplies the waver as well, and is near the white factor that neighbours show.
    wavers = wavers / max(neighbours, 1e-12) ** 0.5
    added = (
        np.zeros((wavers.size, *lag.shape)) if wave is None else wavers[:, None, None] ** 2 * wave
    )
    added[:, range(lag.shape[0]), range(lag.shape[0])] += 1.0 / blocks.weight
    for i, tau in enumerate(TAUS_S):
        alike = typical * block_correlation(lag, length_s, tau)
        for j, ratio in enumerate(RATIOS):
            criteria[i, j], scales[i, j] = restricted_likelihood(
                ratio * alike + added, blocks.residual, basis
            )
    drifts = typical * np.array(RATIOS)[None, :, None] * scales
    criteria += prior.penalty(np.sqrt(drifts), np.array(TAUS_S)[:, None, None])
    criteria += 2 * np.log1p(wavers**2 * scales / prior.waver**2) - 2 * np.log(grid_steps(wavers))
    criteria += (np.log(np.maximum(scales / max(neighbours, 1e-12), 1.0)) / WHITE_LOG_SD) ** 2
    weight = np.exp(-0.5 * (criteria - criteria.min()))
    weight /= weight.sum()
    variances = np.sum(weight * drifts, axis=(1, 2))
    waver = float(np.sqrt(np.sum(weight * scales * wavers**2)))
    return tuple(variances.tolist()), float(np.sum(weight * scales)), waver


def grid_steps(points: FloatArray) -> FloatArray:
    """What each point of an uneven, ascending grid stands for (trapezoidal rule), shape (n,).

    Without it a prior would favour the values at which the grid is dense. 1 for a single point.
    """
    if points.size == 1:
        return np.ones(1)
    middle = (points[1:] + points[:-1]) / 2
    return np.diff(middle, prepend=points[0], append=points[-1])


def _neighbours(
    time_s: FloatArray, inverse: FloatArray, residual: FloatArray, apart_s: float
) -> float:
    """White factor from the differences between neighbours (von Neumann's ratio)."""
    close = (np.diff(time_s) < apart_s) & (inverse[1:] > 0) & (inverse[:-1] > 0)
    if not close.any():
        return 1.0
    variance = 1.0 / inverse[1:][close] + 1.0 / inverse[:-1][close]
    return float(np.mean(np.diff(residual)[close] ** 2 / variance))


def block_correlation(lag_s: FloatArray, length_s: float, tau_s: float) -> FloatArray:
    """Covariance between means over blocks of a process exp(-lag/tau) of variance 1, (n, n).

    ``lag_s`` are the distances of the blocks' centres, 0 for a block and itself: long blocks
    average a short drift away, which its variance must not be blamed for.
    """
    x = length_s / tau_s
    own = 2.0 / x * (1.0 - (1.0 - np.exp(-x)) / x)
    across = np.exp(-np.maximum(lag_s, length_s) / tau_s) * (2.0 / x * np.sinh(x / 2.0)) ** 2
    return np.asarray(np.where(lag_s > 0, np.minimum(across, own), own))


def column_space(columns: FloatArray) -> FloatArray:
    """Orthonormal basis of the space of the columns (n, k), shape (n, rank)."""
    scaled = columns / np.maximum(np.linalg.norm(columns, axis=0), 1e-12)
    basis, singular, _ = np.linalg.svd(scaled, full_matrices=False)
    return np.asarray(basis[:, singular > 1e-6 * singular[0]])


def restricted_likelihood(
    covariances: FloatArray, residual: FloatArray, basis: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """-2 log of the restricted likelihood, its scale profiled out, and that scale.

    ``covariances`` is (m, n, n), each up to its scale; ``basis`` (n, r) spans the directions that
    are fitted already. Both results have shape (m,), the first up to one constant.
    """
    right = np.column_stack([residual, basis])
    solved = np.linalg.solve(covariances, np.broadcast_to(right, (len(covariances), *right.shape)))
    products = right.T @ solved
    inner, cross = products[:, 1:, 1:], products[:, 1:, :1]
    taken = np.sum(cross * np.linalg.solve(inner, cross), axis=(1, 2))
    free = residual.size - basis.shape[1]
    scale = np.maximum(products[:, 0, 0] - taken, 1e-300) / free
    log_det = np.linalg.slogdet(covariances)[1] + np.linalg.slogdet(inner)[1]
    return free * np.log(scale) + log_det, scale


def _white(blocks: Blocks) -> float:
    return float(np.mean(blocks.weight * blocks.residual**2)) if blocks.weight.size else 1.0
