"""A robust straight line through few points: Tukey's bisquare from a start of least deviations."""

from dataclasses import dataclass

import numpy as np

from slowphase.eye.noise import MAD_TO_SD
from slowphase.foundation.arrays import FloatArray

ROUNDS = 60  # most iterations of either part
STILL = 1e-9  # a relative change of the fit under this ends it
LEAST = 1e-9  # as good as 0, and still a number to divide by


@dataclass(frozen=True, slots=True)
class RobustLine:
    """Parameters (p,), their covariance (p, p), and for each point residual and weight (k,).

    ``scale`` is the robust SD of the residuals, ``degrees`` the degrees of freedom that the
    weights leave.
    """

    parameters: FloatArray
    covariance: FloatArray
    residual: FloatArray
    weight: FloatArray
    scale: float
    degrees: float


def robust_line(
    columns: FloatArray, values: FloatArray, outlier_sd: float, least_scale: float
) -> RobustLine:
    """Bisquare M-estimate of values (k,) on columns (k, p), with Huber's covariance.

    The scale is the median size of the residuals without the p − 1 smallest, which the fit itself
    makes small, over 0.6745, and at least ``least_scale``. Covariance: K²·[Σψ²/(k − p)]/[Σψ′/k]²
    ·(XᵀX)⁻¹ (Huber 1981, Robust Statistics, from memory; held against a general-purpose library in
    the tests).
    """
    size = columns.shape[1]
    start = least_deviations(columns, values)
    scale = max(_mad(values - columns @ start, size), least_scale, LEAST)
    parameters = start
    for _ in range(ROUNDS):
        weight = bisquare((values - columns @ parameters) / (outlier_sd * scale))
        moved = weighted(columns, values, weight)
        done = np.abs(moved - parameters).max() <= STILL * max(np.abs(moved).max(), 1.0)
        parameters = moved
        scale = max(_mad(values - columns @ parameters, size), least_scale, LEAST)
        if done:
            break
    residual = values - columns @ parameters
    weight = bisquare(residual / (outlier_sd * scale))
    covariance = _covariance(columns, residual / scale, outlier_sd) * scale**2
    degrees = max(float(np.sum(weight > 0)) - size, 1.0)
    return RobustLine(parameters, covariance, residual, weight, scale, degrees)


def least_deviations(columns: FloatArray, values: FloatArray) -> FloatArray:
    """Parameters of the least sum of absolute deviations, by reweighting, shape (p,)."""
    parameters = weighted(columns, values, np.ones(values.size))
    usual = max(float(np.median(np.abs(values - np.median(values)))), LEAST)
    for _ in range(ROUNDS):
        size = np.maximum(np.abs(values - columns @ parameters), 1e-4 * usual)
        parameters = weighted(columns, values, 1.0 / size)
    return parameters


def bisquare(share: FloatArray) -> FloatArray:
    """Weights of residuals as shares of the distance at which nothing is left, shape (k,)."""
    return np.where(np.abs(share) < 1.0, (1.0 - share**2) ** 2, 0.0)


def weighted(columns: FloatArray, values: FloatArray, weight: FloatArray) -> FloatArray:
    """Weighted least squares, shape (p,)."""
    root = np.sqrt(weight)
    return np.asarray(np.linalg.lstsq(columns * root[:, None], values * root, rcond=None)[0])


def _mad(residual: FloatArray, size: int) -> float:
    """SD from the residuals' median size; ``size`` of them are next to 0 by the fit itself."""
    return MAD_TO_SD * float(np.median(np.sort(np.abs(residual))[min(size, residual.size) - 1 :]))


def _covariance(columns: FloatArray, share: FloatArray, outlier_sd: float) -> FloatArray:
    count, size = columns.shape
    u = share / outlier_sd
    inside = np.abs(u) < 1.0
    psi = np.where(inside, share * (1.0 - u**2) ** 2, 0.0)
    slope = np.where(inside, (1.0 - u**2) * (1.0 - 5.0 * u**2), 0.0)
    mean_slope = max(float(slope.mean()), 0.1)
    spread = float(np.sum(psi**2)) / max(count - size, 1)
    # Huber's correction for few points per parameter
    factor = 1.0 + size / count * float(np.var(slope)) / mean_slope**2
    return np.asarray(factor**2 * spread / mean_slope**2 * np.linalg.pinv(columns.T @ columns))
