"""From healthy people's values to limits: outliers, sexes and ages apart, curves by age."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from slowphase.reference.intervals.healthy import (
    Apart,
    Collected,
    HealthyValue,
    MeasureKey,
    Sample,
)
from slowphase.reference.intervals.interval import (
    BY_RANK,
    ROBUST,
    GroupLimits,
    age_limits,
    flagged,
    group_limits,
)
from slowphase.reference.intervals.partition import Partition, partition

SPAN_YEARS = 20.0  # a narrower range of ages shows no curve
AGE_MATTERS_P = 0.01  # of a rank correlation with age, for the values or for their spread
SEXES = ("female", "male")


@dataclass(frozen=True, slots=True)
class BuildOptions:
    """What the clinic decides.

    ``without_outliers``: flagged values are left out. ``apart``: sexes or ages that the partition
    rule parts get their own limits; else the rule is only reported, since in small groups it parts
    many that do not differ. ``by_age``: a curve ``auto`` when age
    matters, ``always`` where there are enough people, or ``never``. ``age_split_years`` is where
    older people begin, for the partition test (None: the decade nearest to the median age).
    """

    without_outliers: bool = False
    by_age: str = "auto"
    age_split_years: float | None = None
    apart: bool = False


@dataclass(frozen=True, slots=True)
class MeasureLimits:
    """The limits of one measure: one group, or one for each sex or age group that needs its own."""

    key: MeasureKey
    groups: tuple[GroupLimits, ...]
    partitions: tuple[Partition, ...] = ()
    apart: tuple[Apart, ...] = ()


@dataclass(frozen=True, slots=True)
class BuiltSet:
    """The limits of every measure, what was kept apart, and what the clinic decided."""

    measures: tuple[MeasureLimits, ...]
    collected: Collected
    options: BuildOptions


def build(
    collected: Collected,
    options: BuildOptions | None = None,
    *,
    progress: Callable[[str], None] | None = None,
) -> BuiltSet:
    """The limits of every measure of healthy people.

    The same values and options give the same limits: simulated draws are seeded. ``progress`` is
    called with the name of each measure.
    """
    options = options or BuildOptions()
    made = []
    for sample in collected.samples:
        if progress is not None:
            progress(sample.key.measure)
        made.append(measure_limits(sample, options))
    return BuiltSet(tuple(made), collected, options)


def measure_limits(sample: Sample, options: BuildOptions) -> MeasureLimits:
    """The limits of one measure."""
    suspects = _suspects(sample.values, options)
    left_out = suspects if options.without_outliers else ()
    used = tuple(v for v in sample.values if v not in left_out)
    by_sex = _by_sex(used)
    sexes = [group for group in by_sex[1] if group] if _parts(by_sex[0], options) else [used]
    groups: list[GroupLimits] = []
    tests, apart = [t for t in (by_sex[0],) if t], []
    for people in sexes:
        sex = people[0].sex if len(sexes) > 1 else None
        made, test, unaged = _by_age(people, options)
        groups += [_about(group, suspects, left_out, sex) for group in made]
        tests += [test] if test else []
        apart += [Apart(v.person, sample.key.measure, "no_age") for v in unaged]
    return MeasureLimits(sample.key, tuple(groups), tuple(tests), tuple(apart))


def _suspects(values: tuple[HealthyValue, ...], options: BuildOptions) -> tuple[HealthyValue, ...]:
    """Who stands apart: for their age where there will be a curve, else among all."""
    aged = tuple(v for v in values if v.age_years is not None)
    if _gives_curve(aged, options):
        return flagged(aged, for_their_age=True)
    return flagged(values)


def _by_sex(
    values: Sequence[HealthyValue],
) -> tuple[Partition | None, tuple[tuple[HealthyValue, ...], ...]]:
    """The test of the two sexes, where there are 20 of each; those of no stated sex in neither."""
    women, men = (tuple(v for v in values if v.sex == sex) for sex in SEXES)
    return _tested("sex", SEXES, women, men), (women, men)


def _by_age(
    values: tuple[HealthyValue, ...], options: BuildOptions
) -> tuple[list[GroupLimits], Partition | None, tuple[HealthyValue, ...]]:
    """A curve where there are enough people; else one group, or two if the test asks for them."""
    aged = tuple(v for v in values if v.age_years is not None)
    unaged = tuple(v for v in values if v.age_years is None)
    if _gives_curve(aged, options):
        return [age_limits(aged)], None, unaged
    if len(aged) < 2 * ROBUST:
        return [group_limits(values)], None, ()
    ages = np.array([v.age_years for v in aged], dtype=float)
    split = options.age_split_years or 10.0 * round(float(np.median(ages)) / 10.0)
    young = tuple(v for v in aged if (v.age_years or 0.0) < split)
    old = tuple(v for v in aged if (v.age_years or 0.0) >= split)
    test = _tested("age", (f"under {split:g} years", f"{split:g} years and over"), young, old)
    if _parts(test, options):
        return [group_limits(young), group_limits(old)], test, unaged
    return [group_limits(values)], test, ()


def _gives_curve(aged: Sequence[HealthyValue], options: BuildOptions) -> bool:
    if len(aged) < BY_RANK or options.by_age == "never":
        return False
    ages = np.array([v.age_years for v in aged], dtype=float)
    values = np.array([v.value for v in aged])
    if np.ptp(ages) < SPAN_YEARS or np.ptp(np.quantile(values, [0.25, 0.75])) <= 0.0:
        return False
    return options.by_age == "always" or _age_matters(ages, values)


def _age_matters(ages: np.ndarray, values: np.ndarray) -> bool:
    """Whether values or their spread rise or fall with age, by rank."""
    from scipy.stats import spearmanr

    apart = np.abs(values - np.median(values))
    ranked = [levels for levels in (values, apart) if np.ptp(levels) > 0.0]  # else no rank order
    return any(spearmanr(ages, levels).pvalue < AGE_MATTERS_P for levels in ranked)


def _tested(
    by: str,
    names: tuple[str, str],
    first: Sequence[HealthyValue],
    second: Sequence[HealthyValue],
) -> Partition | None:
    """The test of two groups of at least 20 people each, whose values are not all alike."""
    if min(len(first), len(second)) < ROBUST:
        return None
    levels = [np.array([v.value for v in group]) for group in (first, second)]
    if np.ptp(np.quantile(np.concatenate(levels), [0.25, 0.75])) <= 0.0:
        return None
    return partition(by, names, *levels)


def _parts(test: Partition | None, options: BuildOptions) -> bool:
    return options.apart and test is not None and test.needed


def _about(
    group: GroupLimits,
    suspects: Sequence[HealthyValue],
    left_out: Sequence[HealthyValue],
    sex: str | None,
) -> GroupLimits:
    """A group with its sex, its ages in completed years, and its own suspects."""
    ages = [v.age_years for v in group.values if v.age_years is not None]
    own = tuple(v for v in left_out if sex in (None, v.sex))
    return replace(
        group,
        sex=sex,
        ages=(float(int(min(ages))), float(int(max(ages)))) if ages else None,
        flagged=tuple(v for v in suspects if v in group.values),
        left_out=own,
    )
