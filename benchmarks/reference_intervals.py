"""Do the limits of a clinic's own intervals hold what they claim?

Groups of healthy people are drawn from known populations: normal, gamma (shape 4) and lognormal
(SD 0.4 of the logarithm). `covered` is the share of 90 % intervals of the lower and upper limit
that hold the true 2.5th and 97.5th percentile; `outside` is the share of a new population beyond
the limits, mean over all groups and the range of 90 % of the groups. Below 120 people the robust
method, from 120 by rank. Rows `by age`: values whose mean falls and whose spread grows over 20–80
years, limits by the smooth curve, averaged over six ages. Seeds are fixed in advance.
"""

from concurrent.futures import ProcessPoolExecutor

import numpy as np
from scipy import stats
from threadpoolctl import threadpool_limits

from slowphase.reference.intervals.age_curve import age_curves
from slowphase.reference.intervals.ranks import ranks
from slowphase.reference.intervals.robust import robust_limits

SEED = 20261125
GROUPS, AGED_GROUPS = 2000, 60
COUNTS, AGED_COUNTS = (20, 40, 120, 400), (120, 400)
POPULATIONS = {
    "normal": stats.norm(0.5, 0.1),
    "gamma": stats.gamma(4.0, scale=3.0),
    "lognormal": stats.lognorm(0.4, scale=12.0),
}
AGES = np.array([25.0, 35.0, 45.0, 55.0, 65.0, 75.0])


def run(groups: int = GROUPS, aged: int = AGED_GROUPS) -> list[dict[str, object]]:
    """One row for each population and number of people, and one for each number by age."""
    rows = [_plain(name, count, groups) for name in POPULATIONS for count in COUNTS]
    with ProcessPoolExecutor() as pool:
        for count in AGED_COUNTS:
            found = np.stack(list(pool.map(_aged, [(count, k) for k in range(aged)], chunksize=5)))
            rows.append(_row("by age", count, "age_curve", found))
    return rows


def _plain(name: str, count: int, groups: int) -> dict[str, object]:
    population = POPULATIONS[name]
    rng = np.random.default_rng([SEED, count, list(POPULATIONS).index(name)])
    values = population.rvs(size=(groups, count), random_state=rng)
    truth = population.ppf([0.025, 0.975])
    with threadpool_limits(1):
        method, limits, low, high = (_robust if count < 120 else _by_rank)(values)
    outside = population.cdf(limits[:, 0]) + population.sf(limits[:, 1])
    covered = [(ends[0] <= true) & (true <= ends[1])
               for ends, true in zip((low, high), truth, strict=True)]  # fmt: skip
    return _row(name, count, method, np.column_stack([*covered, outside]))


def _robust(values: np.ndarray):
    found = robust_limits(values)
    low, high = found.intervals(values.shape[1])
    limits = np.column_stack([found.lower[:, 0], found.upper[:, 0]])
    return "robust", limits, [end[:, 0] for end in low], [end[:, 0] for end in high]


def _by_rank(values: np.ndarray):
    ordered, place = np.sort(values, axis=1), ranks(values.shape[1])
    limits = ordered[:, [place.lower - 1, place.upper - 1]]
    low, high = ([ordered[:, rank - 1] for rank in pair]
                 for pair in (place.lower_interval, place.upper_interval))  # fmt: skip
    return "nonparametric", limits, low, high


def _aged(task: tuple[int, int]) -> np.ndarray:
    count, number = task
    rng = np.random.default_rng([SEED, count, number])
    ages = rng.uniform(20.0, 80.0, count)
    values = _mean(ages) + _sd(ages) * rng.standard_normal(count)
    with threadpool_limits(1):
        found = age_curves(ages, values, AGES, (2.5, 50.0, 97.5))
    truth = _mean(AGES)[:, None] + _sd(AGES)[:, None] * stats.norm.ppf([0.025, 0.975])
    ends = found.limit_intervals
    covered = (ends[:, :, 0] <= truth) & (truth <= ends[:, :, 1])
    z = (found.values[:, [0, -1]] - _mean(AGES)[:, None]) / _sd(AGES)[:, None]
    outside = stats.norm.cdf(z[:, 0]) + stats.norm.sf(z[:, 1])
    return np.array([*covered.mean(axis=0), outside.mean()])


def _mean(ages: np.ndarray) -> np.ndarray:
    return 0.55 - 0.002 * np.maximum(ages - 40.0, 0.0)


def _sd(ages: np.ndarray) -> np.ndarray:
    return 0.08 + 0.0005 * (ages - 20.0)


def _row(name: str, count: int, method: str, found: np.ndarray) -> dict[str, object]:
    low, high = np.percentile(100.0 * found[:, 2], [5.0, 95.0])
    return {
        "population": name,
        "people": count,
        "method": method,
        "groups": len(found),
        "lower_covered_pct": round(100.0 * float(found[:, 0].mean()), 1),
        "upper_covered_pct": round(100.0 * float(found[:, 1].mean()), 1),
        "outside_pct": round(100.0 * float(found[:, 2].mean()), 2),
        "outside_from_pct": round(float(low), 1),
        "outside_to_pct": round(float(high), 1),
    }
