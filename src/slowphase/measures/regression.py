"""Robust nonlinear least squares with priors and cluster-robust uncertainty.

One engine for every fit. Observations far from the model lose their weight (Tukey's bisquare),
scatter beyond the known noise is estimated, weak parameters are held by priors, and the
covariance allows for residuals that are alike within a cluster (a "sandwich", Liang, Zeger 1986).
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray, IntArray

Model = Callable[[FloatArray], FloatArray]
MAD_TO_SD = 1.4826
BISQUARE = 4.685  # 95 % efficiency for normal residuals (Holland, Welsch 1977)


@dataclass(frozen=True, slots=True)
class Prior:
    """Normal prior on each parameter, shape (k,): an infinite SD says nothing."""

    mean: FloatArray
    sd: FloatArray

    def rows(self, parameters: FloatArray) -> FloatArray:
        """Standardised distance of each parameter from its prior, shape (k,)."""
        return (parameters - self.mean) / self.sd


@dataclass(frozen=True, slots=True)
class Data:
    """Observations of shape (p,) with the SD of their known noise and their cluster number.

    ``share`` (0 or 1, or between) is a weight given in advance: 0 leaves an observation out.
    """

    observed: FloatArray
    noise: FloatArray
    cluster: IntArray
    share: FloatArray


@dataclass(frozen=True, slots=True)
class Fit:
    """Result: parameters (k,), covariance (k, k), and per observation residual and weight.

    ``scatter`` is the SD beyond the known noise, ``clusters`` the number of clusters with weight,
    ``converged`` what the solver says.
    """

    parameters: FloatArray
    covariance: FloatArray
    residual: FloatArray
    weight: FloatArray
    scatter: float
    clusters: int
    converged: bool

    @property
    def standard_errors(self) -> FloatArray:
        """Square root of the covariance's diagonal, shape (k,)."""
        return np.sqrt(np.maximum(np.diag(self.covariance), 0.0))


def robust_fit(
    model: Model,
    start: FloatArray,
    data: Data,
    prior: Prior,
    *,
    rounds: int = 6,
    robust: bool = True,
) -> Fit:
    """Fit ``model`` (parameters (k,) to predictions (p,)) to ``data``.

    Rounds alternate a weighted least-squares fit with new weights; they end early once the
    parameters stand still.
    """
    parameters = np.asarray(start, dtype=float)
    weight = data.share.astype(float)
    scatter = _scatter(data.observed - model(parameters), data)
    converged = False
    for number in range(rounds):
        sd = np.hypot(data.noise, scatter)
        previous = parameters
        parameters, converged = _least_squares(model, parameters, data, prior, weight, sd)
        residual = data.observed - model(parameters)
        scatter = _scatter(residual, data)
        if robust:
            weight = data.share * bisquare(residual / np.hypot(data.noise, scatter))
        moved = np.abs(parameters - previous) <= 1e-4 * (np.abs(previous) + 1e-3)
        if number >= 2 and moved.all():
            break
    sd = np.hypot(data.noise, scatter)
    covariance, clusters = _sandwich(model, parameters, data, prior, weight, sd)
    return Fit(parameters, covariance, residual, weight, scatter, clusters, converged)


def bisquare(standardised: FloatArray) -> FloatArray:
    """Tukey's weight: 1 at 0, 0 beyond ``BISQUARE`` standard deviations."""
    return np.maximum(0.0, 1.0 - (standardised / BISQUARE) ** 2) ** 2


def certified_fit(
    model: Model, start: FloatArray, observed: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Plain least squares: parameters and their classical standard errors, shape (k,) each.

    For references with certified values and for data without clusters.
    """
    from scipy.optimize import least_squares

    solution = least_squares(
        lambda p: observed - model(p),
        start,
        method="lm",
        x_scale="jac",
        xtol=1e-15,
        ftol=1e-15,
        gtol=1e-15,
        max_nfev=20000,
    )
    jacobian = central_jacobian(model, solution.x)
    dof = observed.size - solution.x.size
    variance = float(np.sum(solution.fun**2)) / dof
    _, singular, rows = np.linalg.svd(jacobian, full_matrices=False)
    covariance = (rows.T / singular**2) @ rows * variance
    return np.asarray(solution.x, dtype=float), np.sqrt(np.diag(covariance))


def central_jacobian(model: Model, parameters: FloatArray) -> FloatArray:
    """Central differences of the model's predictions, shape (p, k)."""
    columns = []
    for index, value in enumerate(parameters):
        step = 6e-6 * max(abs(value), 1e-3)
        up, down = parameters.copy(), parameters.copy()
        up[index] += step
        down[index] -= step
        columns.append((model(up) - model(down)) / (up[index] - down[index]))
    return np.column_stack(columns)


def _least_squares(
    model: Model,
    start: FloatArray,
    data: Data,
    prior: Prior,
    weight: FloatArray,
    sd: FloatArray,
) -> tuple[FloatArray, bool]:
    from scipy.optimize import least_squares

    root = np.sqrt(weight) / sd

    def rows(parameters: FloatArray) -> FloatArray:
        return np.concatenate([root * (data.observed - model(parameters)), prior.rows(parameters)])

    solution = least_squares(
        rows, start, method="lm", x_scale="jac", xtol=1e-6, ftol=1e-8, max_nfev=40 * start.size
    )
    return np.asarray(solution.x, dtype=float), bool(solution.success)


def _scatter(residual: FloatArray, data: Data) -> float:
    """SD that must be added to the known noise to explain the middle of the residuals."""
    used = data.share > 0
    if not used.any():
        return 1.0
    size, noise = np.abs(residual[used]), data.noise[used]
    total = MAD_TO_SD * float(np.median(size))
    known = float(np.median(noise))
    return max((max(total**2 - known**2, 0.0)) ** 0.5, 0.05 * total, 1e-3)


def _sandwich(
    model: Model,
    parameters: FloatArray,
    data: Data,
    prior: Prior,
    weight: FloatArray,
    sd: FloatArray,
) -> tuple[FloatArray, int]:
    jacobian = central_jacobian(model, parameters)
    residual = data.observed - model(parameters)
    scaled = jacobian * (np.sqrt(weight) / sd)[:, None]
    information = np.diag(prior.sd**-2.0)
    bread = np.linalg.pinv(scaled.T @ scaled + information)
    scores = jacobian * (weight * residual / sd**2)[:, None]
    used = np.unique(data.cluster[weight > 0])
    index = np.searchsorted(used, data.cluster)
    inside = weight > 0
    sums = np.zeros((used.size, parameters.size))
    np.add.at(sums, index[inside], scores[inside])
    free = float(np.trace(bread @ (scaled.T @ scaled)))
    correction = used.size / max(used.size - free, 1.0)
    meat = correction * (sums.T @ sums) + information
    return bread @ meat @ bread, int(used.size)
