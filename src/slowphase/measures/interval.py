"""From a fit to measures with 95 % intervals."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.foundation.reasons import worst_grade
from slowphase.measures.measure import Measure, Side


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value with the limits of its 95 % interval; None where there is no such number."""

    value: float | None
    low: float | None = None
    high: float | None = None


NOTHING = Estimate(None)
Z95 = 1.959963984540054  # two-sided 95 % of the normal distribution
FEW_DEGREES = [12.7062, 4.3027, 3.1824, 2.7764]  # t tables, 1 to 4 degrees of freedom


def t_quantile(degrees: float) -> float:
    """Two-sided 95 % quantile of Student's t, to 0.001; between whole numbers below 4, a line.

    Expansion about the normal quantile (Abramowitz, Stegun 1964, 26.7.5): the statistics library
    that has it costs more to load than all else that a session needs.
    """
    if degrees < 4.0:
        return float(np.interp(degrees, [1.0, 2.0, 3.0, 4.0], FEW_DEGREES))
    z, n = Z95, degrees
    terms = (
        (z**3 + z) / 4,
        (5 * z**5 + 16 * z**3 + 3 * z) / 96,
        (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / 384,
        (79 * z**9 + 776 * z**7 + 1482 * z**5 - 1920 * z**3 - 945 * z) / 92160,
    )
    return z + sum(term / n**power for power, term in enumerate(terms, start=1))


def symmetric(value: float, standard_error: float, quantile: float) -> Estimate:
    """value ± quantile · standard error."""
    return Estimate(value, value - quantile * standard_error, value + quantile * standard_error)


def proportional(value: float, log_error: float, quantile: float) -> Estimate:
    """An interval that is symmetric on the logarithm, for values that cannot be negative."""
    factor = float(np.exp(min(quantile * log_error, 20.0)))
    return Estimate(value, value / factor, value * factor)


def propagate(
    function: Callable[[FloatArray], FloatArray], parameters: FloatArray, covariance: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Values of ``function`` (shape (q,)) and their standard errors by the delta method.

    Derivatives are central differences over half of each parameter's standard error.
    """
    columns = []
    for index, error in enumerate(np.sqrt(np.maximum(np.diag(covariance), 0.0))):
        step = max(0.5 * error, 1e-9)
        up, down = parameters.copy(), parameters.copy()
        up[index] += step
        down[index] -= step
        columns.append((function(up) - function(down)) / (2 * step))
    jacobian = np.column_stack(columns)
    variance = np.sum((jacobian @ covariance) * jacobian, axis=1)
    return function(parameters), np.sqrt(np.maximum(variance, 0.0))


@dataclass(frozen=True, slots=True)
class Maker:
    """Makes the measures of one trial, so that each line says only what is its own.

    ``why`` holds the reasons that every measure of the trial shares.
    """

    trial: str
    why: tuple[str, ...] = ()

    def __call__(
        self,
        name: str,
        estimate: Estimate,
        unit: str,
        *,
        definition: str | None = None,
        of: str | None = None,
        exciting: Side | None = None,
        why: tuple[str, ...] = (),
    ) -> Measure:
        """One measure; a missing value is graded ``unusable`` and must bring a reason."""
        reasons = tuple(dict.fromkeys((*why, *self.why)))
        value = _number(estimate.value)
        if value is None and not reasons:
            raise ValueError(f"{self.trial}/{name} is missing without a reason")
        return Measure(
            id="/".join(part for part in (self.trial, of, name) if part),
            name=name,
            value=value,
            low=_number(estimate.low) if value is not None else None,
            high=_number(estimate.high) if value is not None else None,
            unit=unit,
            definition=definition,
            of=of,
            exciting=exciting,
            grade="unusable" if value is None else worst_grade(reasons),
            why=reasons,
        )


def _number(value: float | None) -> float | None:
    """A plain finite float, or None."""
    return float(value) if value is not None and np.isfinite(value) else None
