"""From pairs of sessions of stable people to retest variability.

    SD of paired differences      over the differences second − first
    retest (practice) effect      their mean
    ICC                           two-way, agreement, single measurement: ICC(2,1) of Shrout and
                                  Fleiss 1979, interval of McGraw and Wong 1996 (both memory)
    proportional bias             slope of the difference on the mean (Bland, Altman 1986, memory)
    growth of the spread          slope of the size of the difference on the mean

The correlation of the paired differences is shrunk toward none by the share that few pairs make up
(Schäfer, Strimmer 2005, memory), so that it can be used with more measures than pairs.
"""

from __future__ import annotations

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.measures.interval import Estimate
from slowphase.measures.statistics import slope_estimate

LEAST_SLOPE = 5  # pairs for a slope with an interval: two are spent on the line
EVEN = 1e-9  # relative spread of the means below which there is no slope


def icc_agreement(values: FloatArray) -> Estimate:
    """ICC(2,1) with its 95 % interval; ``values`` has shape (people, sessions).

    Without a value where there are fewer than three people or nothing varies.
    """
    people, sessions = values.shape
    if people < 3:
        return Estimate(None)
    between, sittings, rest = mean_squares(values)
    whole = between + (sessions - 1) * rest + sessions * (sittings - rest) / people
    if not whole > 0.0:
        return Estimate(None)
    value = (between - rest) / whole
    low, high = _icc_interval(value, people, sessions, (between, sittings, rest))
    return Estimate(value, min(low, value), max(high, value))


def mean_squares(values: FloatArray) -> tuple[float, float, float]:
    """Mean squares between people, between sessions, and of the rest."""
    people, sessions = values.shape
    mean = values.mean()
    rows, columns = values.mean(axis=1) - mean, values.mean(axis=0) - mean
    rest = values - mean - rows[:, None] - columns[None, :]
    return (
        float(sessions * rows @ rows) / (people - 1),
        float(people * columns @ columns) / (sessions - 1),
        float(np.sum(rest**2)) / ((people - 1) * (sessions - 1)),
    )


def _icc_interval(
    value: float, people: int, sessions: int, squares: tuple[float, float, float]
) -> tuple[float, float]:
    from scipy.special import fdtri

    between, sittings, rest = squares
    if not rest > 0.0:
        return value, value
    n, k = people, sessions
    value = min(value, 1.0 - 1e-12)
    a = k * value / (n * (1 - value))
    b = 1 + k * value * (n - 1) / (n * (1 - value))
    v = (a * sittings + b * rest) ** 2 / (
        (a * sittings) ** 2 / (k - 1) + (b * rest) ** 2 / ((n - 1) * (k - 1))
    )
    upper, lower = fdtri(n - 1, v, 0.975), fdtri(v, n - 1, 0.975)
    common = k * sittings + (k * n - k - n) * rest
    return (
        float(n * (between - upper * rest) / (upper * common + n * between)),
        float(n * (lower * between - rest) / (common + n * lower * between)),
    )


def bias_slope(values: FloatArray) -> Estimate:
    """Change of the difference by the mean of a pair; ``values`` has shape (people, 2)."""
    return _slope(values, values[:, 1] - values[:, 0])


def spread_slope(values: FloatArray) -> Estimate:
    """Growth of the size of the difference by the mean of a pair."""
    difference = values[:, 1] - values[:, 0]
    return _slope(values, np.abs(difference - difference.mean()))


def _slope(values: FloatArray, against: FloatArray) -> Estimate:
    means = values.mean(axis=1)
    even = float(np.ptp(means)) <= EVEN * float(np.max(np.abs(means), initial=0.0))
    if values.shape[0] < LEAST_SLOPE or even:
        return Estimate(None)
    return slope_estimate(means, against)


def shrunk_correlation(differences: FloatArray) -> FloatArray:
    """Correlation of columns, shrunk toward none; ``differences`` (people, m), NaN where missing.

    Pairs of columns that share fewer than three people count as not correlated.
    """
    m = differences.shape[1]
    plain, noise = np.eye(m), np.zeros((m, m))
    for i in range(m):
        for j in range(i):
            both = np.isfinite(differences[:, i]) & np.isfinite(differences[:, j])
            r, count = _correlation(differences[both, i], differences[both, j])
            plain[i, j] = plain[j, i] = r
            noise[i, j] = (1.0 - r**2) ** 2 / max(count - 1, 1)
    lower = np.tril_indices(m, -1)
    power = float(np.sum(plain[lower] ** 2))
    kept = 1.0 - min(1.0, float(np.sum(noise[lower])) / power) if power else 0.0
    return _positive(np.eye(m) + kept * (plain - np.eye(m)))


def _correlation(x: FloatArray, y: FloatArray) -> tuple[float, int]:
    if x.size < 3 or not (np.ptp(x) > 0.0 and np.ptp(y) > 0.0):
        return 0.0, max(x.size, 2)
    return float(np.corrcoef(x, y)[0, 1]), x.size


def _positive(matrix: FloatArray) -> FloatArray:
    """The matrix without negative variances, 1 on the diagonal."""
    values, vectors = np.linalg.eigh(matrix)
    fixed = (vectors * np.maximum(values, 1e-6)) @ vectors.T
    scale = np.sqrt(np.diag(fixed))
    made: FloatArray = fixed / np.outer(scale, scale)
    return made
