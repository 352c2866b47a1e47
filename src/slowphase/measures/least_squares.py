"""Plain nonlinear least squares to the last digits, with classical standard errors.

For data without priors, outliers or correlation; the robust engine is `regression`.
"""

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.measures.model import Model

POLISHING = 60  # most iterations


def certified_fit(
    model: Model, start: FloatArray, observed: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Plain least squares: parameters and their classical standard errors, shape (k,) each.

    For data without priors, outliers or correlation.
    """
    from scipy.optimize import least_squares

    solution = least_squares(
        lambda p: observed - model(p),
        start,
        jac=lambda p: -central_jacobian(model, p),
        method="lm",
        x_scale="jac",
        xtol=1e-15,
        ftol=1e-15,
        gtol=1e-15,
        max_nfev=20000,
    )
    parameters = polished(model, np.asarray(solution.x, dtype=float), observed)
    jacobian = central_jacobian(model, parameters)
    dof = observed.size - parameters.size
    variance = float(np.sum((observed - model(parameters)) ** 2)) / dof
    _, singular, rows = np.linalg.svd(jacobian, full_matrices=False)
    covariance = (rows.T / singular**2) @ rows * variance
    return parameters, np.sqrt(np.diag(covariance))


def polished(model: Model, parameters: FloatArray, observed: FloatArray) -> FloatArray:
    """Gauss-Newton steps from a solution until they no longer shrink: the last few digits.

    A solver stops when the sum of squares stands still, which it does for half the digits of the
    parameters.
    """
    last = np.inf
    for _ in range(POLISHING):
        jacobian = central_jacobian(model, parameters)
        step = np.linalg.lstsq(jacobian, observed - model(parameters), rcond=None)[0]
        size = float(np.max(np.abs(step) / np.maximum(np.abs(parameters), 1e-300)))
        if not size < last:
            break
        parameters, last = parameters + step, size
    return parameters


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
