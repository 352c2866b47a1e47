"""Limits by rank, for which nothing is assumed of the values.

The ranks of the 2.5th and 97.5th percentile are the nearest to p·(n + 1). The interval of a limit
is a pair of ranks by the binomial distribution: of n people, the number below a true percentile is
binomial. For n = 120: ranks 3 and 118, 90 % intervals 1–7 and 114–120.
"""

import math
from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray

OUTER = 0.025  # what lies below the lower and above the upper limit
CONFIDENCE = 0.90  # of the intervals of limits


@dataclass(frozen=True, slots=True)
class Ranks:
    """Ranks (from 1) of the two limits, and of the ends of their intervals."""

    lower: int
    upper: int
    lower_interval: tuple[int, int]
    upper_interval: tuple[int, int]


def ranks(count: int) -> Ranks:
    """The ranks for ``count`` people; raises `ValueError` below 120, where no interval exists."""
    low, high = _interval(count)
    lower = math.floor(OUTER * (count + 1) + 0.5)
    return Ranks(lower, count + 1 - lower, (low, high), (count + 1 - high, count + 1 - low))


def quantile(values: FloatArray, share: float) -> float:
    """The value at rank share·(n + 1), straight between two ranks."""
    return float(np.quantile(values, share, method="weibull"))


def _interval(count: int) -> tuple[int, int]:
    """The narrowest ranks that leave at most half the error on either side."""
    from scipy.stats import binom

    tail = (1.0 - CONFIDENCE) / 2.0
    below = binom.cdf(np.arange(count), count, OUTER)
    low = int(np.sum(below <= tail))
    high = int(np.argmax(1.0 - below <= tail)) + 1
    if low < 1:
        raise ValueError(f"{count} people are too few for an interval by rank; 120 are needed")
    return low, high
