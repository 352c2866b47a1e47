"""The limits of one group of people: by rank from 120, robust from 20, below that its values."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.reference.entry import AgePoint, Percentiles
from slowphase.reference.intervals.age_curve import age_curves, apart_from_age
from slowphase.reference.intervals.healthy import HealthyValue
from slowphase.reference.intervals.outliers import outliers
from slowphase.reference.intervals.ranks import quantile, ranks
from slowphase.reference.intervals.robust import robust_limits
from slowphase.reference.normal import STANDARD

BY_RANK, ROBUST = 120, 20  # people; EP28-A3c and Horn 1998, see docs/references.md
MANY = (2.5, 5.0, 10.0, 25.0, 50.0, 75.0, 90.0, 95.0, 97.5)
FEW = (2.5, 25.0, 50.0, 75.0, 97.5)
AGE_STEP = 5.0
Interval = tuple[float, float]


@dataclass(frozen=True, slots=True)
class GroupLimits:
    """The limits of one group, how they were made, and whose values stand apart.

    ``method`` is a code of ``words.toml``; ``limit_intervals`` are 90 % intervals of ``lower`` and
    ``upper``. On a ``curve`` both are those at each age, in ``curve_intervals``. ``values`` are the
    people that were used. ``flagged`` stand beyond the fences, ``left_out`` are those of them that
    were not used.
    """

    method: str
    values: tuple[HealthyValue, ...]
    percentiles: Percentiles = ()
    limit_intervals: Mapping[str, Interval] = field(default_factory=dict)
    curve: tuple[AgePoint, ...] = ()
    curve_intervals: tuple[Mapping[str, Interval], ...] = ()
    flagged: tuple[HealthyValue, ...] = ()
    left_out: tuple[HealthyValue, ...] = ()
    sex: str | None = None
    ages: Interval | None = None


def group_limits(values: Sequence[HealthyValue]) -> GroupLimits:
    """The limits of one group, all ages together."""
    levels = np.array([v.value for v in values])
    if levels.size < ROBUST:
        return GroupLimits("listed", tuple(values))
    if levels.size >= BY_RANK:
        return _by_rank(values, levels)
    if np.ptp(np.quantile(levels, [0.25, 0.75])) <= 0.0:
        return GroupLimits("too_equal", tuple(values))
    return _robust(values, levels)


def age_limits(values: Sequence[HealthyValue]) -> GroupLimits:
    """The limits by age, in steps of 5 years; every person must have an age."""
    ages = np.array([v.age_years for v in values], dtype=float)
    inner = np.arange(np.ceil(ages.min() / AGE_STEP) * AGE_STEP, ages.max(), AGE_STEP)
    at = np.unique(np.concatenate([[ages.min()], inner, [ages.max()]]))
    found = age_curves(ages, np.array([v.value for v in values]), at, FEW)
    return GroupLimits(
        "age_curve",
        tuple(values),
        curve=tuple(
            AgePoint(float(age), _pairs(FEW, row))
            for age, row in zip(at, found.values, strict=True)
        ),
        curve_intervals=tuple(
            {"lower": _ends(both[0]), "upper": _ends(both[1])} for both in found.limit_intervals
        ),
    )


def flagged(
    values: Sequence[HealthyValue], *, for_their_age: bool = False
) -> tuple[HealthyValue, ...]:
    """The people whose values stand apart; of fewer than 20 nobody can be told to.

    ``for_their_age`` judges the distance from the median of the age; every age must be known.
    """
    if len(values) < ROBUST:
        return ()
    levels = np.array([v.value for v in values])
    if for_their_age:
        levels = apart_from_age(np.array([v.age_years for v in values], dtype=float), levels)
    apart = outliers(levels)
    return tuple(v for v, beyond in zip(values, apart, strict=True) if beyond)


def _by_rank(values: Sequence[HealthyValue], levels: FloatArray) -> GroupLimits:
    ordered = np.sort(levels)
    place = ranks(ordered.size)
    inner = [(p, quantile(ordered, p / 100.0)) for p in MANY[1:-1]]
    lower, upper = float(ordered[place.lower - 1]), float(ordered[place.upper - 1])
    return GroupLimits(
        "nonparametric",
        tuple(values),
        ((MANY[0], lower), *inner, (MANY[-1], upper)),
        {
            "lower": _ends([ordered[rank - 1] for rank in place.lower_interval]),
            "upper": _ends([ordered[rank - 1] for rank in place.upper_interval]),
        },
    )


def _robust(values: Sequence[HealthyValue], levels: FloatArray) -> GroupLimits:
    found = robust_limits(levels)
    low, high = found.intervals(levels.size)
    scores = [STANDARD.inv_cdf(p / 100.0) for p in FEW]
    return GroupLimits(
        "robust",
        tuple(values),
        _pairs(FEW, [found.at(z)[0] for z in scores]),
        {"lower": _ends([end[0] for end in low]), "upper": _ends([end[0] for end in high])},
    )


def _pairs(percentiles: Sequence[float], levels: Sequence[float] | FloatArray) -> Percentiles:
    return tuple((p, float(level)) for p, level in zip(percentiles, levels, strict=True))


def _ends(pair: Sequence[float] | FloatArray) -> Interval:
    return float(pair[0]), float(pair[1])
