"""Limits of small groups: the robust method of Horn, Pesce and Copeland (1998).

Location: biweight with the constant 3.7, iterated. Spread: biweight with 205.6, and the location's
own uncertainty by the biweight with 3.7. Limits: location ± t·√(spread² + uncertainty²), as for the
next person of a group. (The paper was read in its abstract; formulae and constants are from
memory.) It supposes symmetry, so the values are made symmetric first (`symmetry.py`).

The interval of a limit comes from a simulation: groups of the same size are drawn from a normal
distribution, treated in the same way, power and all, and the distance of the true percentile from
the limit is kept in units of the spread. Its 5th and 95th percentile, with the group's own spread,
are the interval. The distances depend on the number of people alone.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.reference.intervals.ranks import CONFIDENCE
from slowphase.reference.intervals.symmetry import Symmetry, symmetry
from slowphase.reference.normal import Z95

NEAR_WEIGHTS, FAR_WEIGHTS = 3.7, 205.6
MAD_TO_SD = 0.6745
DRAWS, SEED = 4000, 20261125
ITERATIONS, SETTLED = 200, 1e-10


@dataclass(frozen=True, slots=True)
class RobustLimits:
    """Location and half width (of the central 95 %) of symmetric values, with the way back."""

    location: FloatArray
    reach: FloatArray
    way: Symmetry

    def at(self, z: float) -> FloatArray:
        """The value at a normal score; ±1.96 are the limits. Shape (…, 1)."""
        return self.way.back(self.location + self.reach * (z / Z95))

    @property
    def lower(self) -> FloatArray:
        """The 2.5th percentile; shape (…, 1)."""
        return self.at(-Z95)

    @property
    def upper(self) -> FloatArray:
        """The 97.5th percentile; shape (…, 1)."""
        return self.at(Z95)

    def intervals(self, count: int) -> tuple[tuple[FloatArray, FloatArray], ...]:
        """The 90 % intervals of the lower and of the upper limit of groups of ``count``."""
        low, high = distances(count)
        return tuple(
            (self.at(side * Z95 + ends[0]), self.at(side * Z95 + ends[1]))
            for side, ends in ((-1.0, low), (1.0, high))
        )


def robust_limits(values: FloatArray) -> RobustLimits:
    """The limits of each group; people are the last axis."""
    way = symmetry(values)
    location, reach = location_and_reach(way.to(values))
    return RobustLimits(location, reach, way)


def location_and_reach(values: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Biweight location and half width of the central 95 % of symmetric values."""
    from scipy.stats import t

    count = values.shape[-1]
    median = np.median(values, axis=-1, keepdims=True)
    scale = np.median(np.abs(values - median), axis=-1, keepdims=True) / MAD_TO_SD
    location = biweight_location(values, median, scale)
    spread = np.sqrt(count) * _biweight(values, median, FAR_WEIGHTS * scale)
    near = np.sqrt(count) * _biweight(values, median, NEAR_WEIGHTS * scale)
    uncertainty = _biweight(values, location, NEAR_WEIGHTS * near)
    quantile = float(t.ppf(0.975, count - 1))
    return location, quantile * np.sqrt(spread**2 + uncertainty**2)


def biweight_location(values: FloatArray, start: FloatArray, scale: FloatArray) -> FloatArray:
    """The weighted mean that its own weights leave where it is."""
    location = start
    for _ in range(ITERATIONS):
        u = (values - location) / (NEAR_WEIGHTS * scale)
        weight = np.where(np.abs(u) < 1.0, (1.0 - u**2) ** 2, 0.0)
        before = location
        location = (weight * values).sum(-1, keepdims=True) / weight.sum(-1, keepdims=True)
        if np.all(np.abs(location - before) <= SETTLED * scale):
            break
    return location


@cache
def distances(count: int) -> tuple[tuple[float, float], tuple[float, float]]:
    """Where the true percentiles lie about the limits of ``count`` people, in normal scores."""
    drawn = np.random.default_rng([SEED, count]).standard_normal((DRAWS, count))
    found = robust_limits(drawn)
    spread = (found.way.scale * found.reach / Z95)[:, 0]
    tails = [50.0 * (1.0 - CONFIDENCE), 50.0 * (1.0 + CONFIDENCE)]
    low = np.percentile((-Z95 - found.lower[:, 0]) / spread, tails)
    high = np.percentile((Z95 - found.upper[:, 0]) / spread, tails)
    return (float(low[0]), float(low[1])), (float(high[0]), float(high[1]))


def _biweight(values: FloatArray, centre: FloatArray, width: FloatArray) -> FloatArray:
    """Biweight spread over the root of the number of people."""
    u = (values - centre) / width
    inside = np.abs(u) < 1.0
    square = np.where(inside, u**2, 0.0)
    above = np.where(inside, square * (1.0 - square) ** 4, 0.0).sum(-1, keepdims=True)
    below = np.where(inside, (1.0 - square) * (1.0 - 5.0 * square), 0.0).sum(-1, keepdims=True)
    return width * np.sqrt(above / (below * np.maximum(1.0, below - 1.0)))
