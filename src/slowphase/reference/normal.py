"""The normal distribution, as far as placing a value needs it."""

from statistics import NormalDist

STANDARD = NormalDist()
Z95 = STANDARD.inv_cdf(0.975)


def percentile(value: float, mean: float, sd: float) -> float:
    """Place of a value among normally distributed ones, 0–100."""
    return 100.0 * NormalDist(mean, sd).cdf(value)


def probability_below(limit: float, value: float, low: float, high: float) -> float:
    """Probability that the true value lies below ``limit``.

    ``low``–``high`` is the 95 % interval around ``value``; each side is read as half of a normal
    distribution of its own width, so that lopsided intervals keep their meaning.
    """
    half_width = value - low if limit < value else high - value
    if half_width <= 0.0:
        return 1.0 if value < limit else 0.0
    return STANDARD.cdf(Z95 * (limit - value) / half_width)


def probability_outside(
    value: float, low: float, high: float, lower: float | None, upper: float | None
) -> float:
    """Probability that the true value lies below ``lower`` or above ``upper``."""
    below = 0.0 if lower is None else probability_below(lower, value, low, high)
    above = 0.0 if upper is None else 1.0 - probability_below(upper, value, low, high)
    return min(1.0, below + above)
