"""Intervals of a standard deviation, from the chi-square distribution."""

from slowphase.measures.interval import NOTHING, Estimate

Z95 = 1.959963984540054  # two-sided 95 % of the normal distribution
LEAST_SHARE = 0.01  # of the degrees of freedom: the expansion may fall under 0 for very few


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
