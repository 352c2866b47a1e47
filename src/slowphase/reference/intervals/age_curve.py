"""Limits that change with age: smooth quantile curves without crossing (He 1997, from memory).

value = m(age) + s(age)·e: the median curve m is a natural cubic spline fitted by median regression,
the spread s a line fitted in the same way to the distances from m, and the percentiles of e are by
rank over all people. So every limit rests on everybody, and curves cannot cross. Median regression
is a linear programme, which SciPy solves exactly.
"""

from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray

KNOTS = (0.10, 0.50, 0.90)  # quantiles of age; Harrell's placement for three, from memory
SMALLEST_SPREAD = 0.05  # of the median spread: a line may not cross zero within the ages
DRAWS, SEED = 400, 20261125


@dataclass(frozen=True, slots=True)
class AgeCurves:
    """Percentile curves at some ages: arrays (ages, percentiles); intervals (ages, 2, 2).

    ``limit_intervals`` holds for each age the 90 % interval of the first and of the last
    percentile.
    """

    ages: FloatArray
    percentiles: tuple[float, ...]
    values: FloatArray
    limit_intervals: FloatArray


def age_curves(
    ages: FloatArray, values: FloatArray, at: FloatArray, percentiles: tuple[float, ...]
) -> AgeCurves:
    """The curves of people of these ages, at the ages ``at``, with bootstrap intervals."""
    fitted = quantile_curves(ages, values, at, percentiles)
    rng = np.random.default_rng([SEED, ages.size])
    drawn = rng.integers(0, ages.size, size=(DRAWS, ages.size))
    outer = (percentiles[0], percentiles[-1])
    repeats = np.stack([quantile_curves(ages[d], values[d], at, outer) for d in drawn])
    spread = np.percentile(repeats, [5.0, 95.0], axis=0)
    return AgeCurves(at, percentiles, fitted, np.moveaxis(spread, 0, 2))


def quantile_curves(
    ages: FloatArray, values: FloatArray, at: FloatArray, percentiles: tuple[float, ...]
) -> FloatArray:
    """The percentile curves at the ages ``at``; shape (ages, percentiles)."""
    knots = np.quantile(ages, KNOTS)
    shape, line = spline(ages, knots), _line(ages)
    middle = median_regression(shape, values)
    apart = values - shape @ middle
    slope = median_regression(line, np.abs(apart))
    least = SMALLEST_SPREAD * float(np.median(np.abs(apart)))
    spread = np.maximum(line @ slope, least)
    shares = np.array(percentiles) / 100.0
    outer = np.quantile(apart / spread, shares, method="weibull")
    return (spline(at, knots) @ middle)[:, None] + np.maximum(_line(at) @ slope, least)[
        :, None
    ] * outer


def apart_from_age(ages: FloatArray, values: FloatArray) -> FloatArray:
    """How far each value lies from the median of its age, in units of the spread at that age."""
    middle = quantile_curves(ages, values, ages, (25.0, 50.0, 75.0))
    return (values - middle[:, 1]) / (middle[:, 2] - middle[:, 0])


def median_regression(design: FloatArray, values: FloatArray) -> FloatArray:
    """The coefficients of least absolute deviations, by the dual linear programme."""
    from scipy.optimize import linprog

    found = linprog(
        -values,
        A_eq=design.T,
        b_eq=0.5 * design.sum(axis=0),
        bounds=(0.0, 1.0),
        method="highs",
    )
    if not found.success:
        raise ArithmeticError(f"the median regression did not end: {found.message}")
    return -np.asarray(found.eqlin.marginals)


def spline(ages: FloatArray, knots: FloatArray) -> FloatArray:
    """Natural cubic spline basis: 1, age, and one bend for each knot but two (straight beyond)."""
    scaled, places = _scaled(ages, knots), _scaled(knots, knots)
    last, before = places[-1], places[-2]
    bends = [
        _cube(scaled - place)
        - _cube(scaled - before) * (last - place) / (last - before)
        + _cube(scaled - last) * (before - place) / (last - before)
        for place in places[:-2]
    ]
    return np.column_stack([np.ones_like(scaled), scaled, *bends])


def _scaled(ages: FloatArray, knots: FloatArray) -> FloatArray:
    return (ages - knots[0]) / (knots[-1] - knots[0])


def _line(ages: FloatArray) -> FloatArray:
    return np.column_stack([np.ones_like(ages), (ages - 50.0) / 30.0])


def _cube(x: FloatArray) -> FloatArray:
    return np.maximum(x, 0.0) ** 3
