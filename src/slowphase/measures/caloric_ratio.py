"""Ratios of sums of caloric responses, with Fieller's interval."""

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.measures.interval import NOTHING, Z95, Estimate, symmetric


def weighted_sum(factors: FloatArray, values: FloatArray, errors: FloatArray) -> Estimate:
    """Σ factor·value with its 95 % interval; without one where an error is NaN (typed values)."""
    value, error = float(factors @ values), float(np.sqrt(np.sum((factors * errors) ** 2)))
    return symmetric(value, error, Z95) if np.isfinite(error) else Estimate(value)


def ratio_pct(
    above: FloatArray, below: FloatArray, values: FloatArray, errors: FloatArray
) -> Estimate:
    """100·Σ above·value / Σ below·value; arrays (m,), errors independent.

    Interval by Fieller's theorem (1954); nothing where the lower sum is not surely above 0. Errors
    that are NaN leave the value without an interval.
    """
    over, under = float(above @ values), float(below @ values)
    if not under > 0:
        return NOTHING
    ratio, variance = over / under, errors**2
    if not np.isfinite(errors).all():
        return Estimate(100.0 * ratio)
    v_over, v_under = float(above**2 @ variance), float(below**2 @ variance)
    both = float((above * below) @ variance)
    g = Z95**2 * v_under / under**2
    if g >= 1.0:
        return NOTHING
    inner = v_over - 2 * ratio * both + ratio**2 * v_under
    inner -= g * (v_over - both**2 / v_under) if v_under > 0 else 0.0
    shift = g * both / v_under if v_under > 0 else 0.0
    middle = (ratio - shift) / (1 - g)
    reach = Z95 / (1 - g) / under * float(np.sqrt(max(inner, 0.0)))
    return Estimate(100.0 * ratio, 100.0 * (middle - reach), 100.0 * (middle + reach))
