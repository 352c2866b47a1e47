"""What many values say together: centre, spread, share and slope, with 95 % intervals.

median        ± t·1.2533·s/√n                     s sample SD; 1.2533 = √(π/2), normal values
spread s      s·√(n − 1)/√χ²                        normal values; chi-square of n − 1
share         Wilson's score interval             (Wilson 1927 J Am Stat Assoc 22:209)
slope         least squares, residual SD, t with n − 2 degrees of freedom
"""

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.measures.interval import NOTHING, Z95, Estimate, symmetric, t_quantile

MEDIAN_ERROR = float(np.sqrt(np.pi / 2))  # of a median over that of a mean, normal values
LEAST_SHARE = 0.01  # of the degrees of freedom: the expansion may fall under 0 for very few


def median_estimate(values: FloatArray) -> Estimate:
    """Median of n values; without an interval if there is one, without a value if none."""
    if values.size == 0:
        return Estimate(None)
    middle = float(np.median(values))
    if values.size < 2:
        return Estimate(middle)
    return symmetric(middle, median_error(values), t_quantile(values.size - 1))


def median_error(values: FloatArray) -> float:
    """Standard error of the median of two values or more, from their spread."""
    return MEDIAN_ERROR * float(np.std(values, ddof=1)) / values.size**0.5


def never_negative(estimate: Estimate) -> Estimate:
    """The estimate of what cannot be below 0."""
    low = None if estimate.low is None else max(estimate.low, 0.0)
    return Estimate(estimate.value, low, estimate.high)


def spread_of(values: FloatArray) -> Estimate:
    """Standard deviation of n values; without a value if there are fewer than two."""
    if values.size < 2:
        return Estimate(None)
    return spread_estimate(float(np.std(values, ddof=1)), values.size - 1.0)


def chi_square_quantile(z: float, degrees: float) -> float:
    """Quantile of chi-square at the normal quantile ``z`` (Wilson, Hilferty 1931).

    An upper limit of a spread made of it is right to 1 % from 10 degrees of freedom on, and up to
    9 % too high at 3.
    """
    spread = 2.0 / (9.0 * degrees)
    return degrees * max((1.0 - spread + z * spread**0.5) ** 3, LEAST_SHARE)


def spread_estimate(sd: float, degrees: float) -> Estimate:
    """A standard deviation of normal values with its 95 % interval."""
    if not degrees > 0:
        return NOTHING
    low = sd * (degrees / chi_square_quantile(Z95, degrees)) ** 0.5
    return Estimate(sd, low, sd * (degrees / chi_square_quantile(-Z95, degrees)) ** 0.5)


def share_estimate(yes: int, count: int) -> Estimate:
    """Share of ``yes`` among ``count`` in percent; without a value if there are none."""
    if count == 0:
        return Estimate(None)
    share, added = yes / count, Z95**2 / count
    middle = (share + added / 2.0) / (1.0 + added)
    reach = Z95 * (share * (1.0 - share) / count + added / (4.0 * count)) ** 0.5 / (1.0 + added)
    return Estimate(
        100.0 * share, 100.0 * max(min(middle - reach, share), 0.0),
        100.0 * min(max(middle + reach, share), 1.0),
    )  # fmt: skip


def slope_estimate(x: FloatArray, y: FloatArray) -> Estimate:
    """Slope of y on x by least squares; at least three points at two places."""
    apart = x - x.mean()
    power = float(apart @ apart)
    slope = float(apart @ y) / power
    rest = y - y.mean() - slope * apart
    error = (float(rest @ rest) / (x.size - 2) / power) ** 0.5
    return symmetric(slope, error, t_quantile(x.size - 2))
