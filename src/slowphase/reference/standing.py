"""Where a value stands among the values of an entry, at the patient's age."""

import itertools
from collections.abc import Iterable
from dataclasses import dataclass

from slowphase.reference.entry import Percentiles, ReferenceEntry
from slowphase.reference.normal import STANDARD, Z95, percentile

CENTRAL = (2.5, 97.5)


@dataclass(frozen=True, slots=True)
class Standing:
    """The place of a value: percentile and z, or the outermost percentile that it is beyond."""

    percentile: float | None = None
    z: float | None = None
    below: float | None = None
    above: float | None = None


@dataclass(frozen=True, slots=True)
class Limits:
    """The limits, and the percentiles that they are (None where they are none)."""

    lower: float | None
    upper: float | None
    between: tuple[float, float] | None = None


def standing(value: float, entry: ReferenceEntry, age_years: float | None) -> Standing:
    """The place of ``value``; all None where the entry holds only limits."""
    if entry.mean is not None and entry.sd is not None:
        return Standing(percentile(value, entry.mean, entry.sd), z=(value - entry.mean) / entry.sd)
    return _among(value, percentiles_at(entry, age_years))


def limits(entry: ReferenceEntry, age_years: float | None) -> Limits:
    """The central 95 % where the entry holds it, else its outermost percentiles or its limits."""
    if entry.mean is not None and entry.sd is not None:
        return Limits(entry.mean - Z95 * entry.sd, entry.mean + Z95 * entry.sd, CENTRAL)
    known = percentiles_at(entry, age_years)
    if not known:
        return Limits(entry.lower, entry.upper)
    lowest, highest = max(known[0][0], CENTRAL[0]), min(known[-1][0], CENTRAL[1])
    return Limits(_level(known, lowest), _level(known, highest), (lowest, highest))


def quartiles(entry: ReferenceEntry, age_years: float | None) -> tuple[float, float, float] | None:
    """The 25th, 50th and 75th percentile; None where the entry does not reach that far."""
    if entry.mean is not None and entry.sd is not None:
        reach = STANDARD.inv_cdf(0.75) * entry.sd
        return entry.mean - reach, entry.mean, entry.mean + reach
    known = percentiles_at(entry, age_years)
    if not known or known[0][0] > 25.0 or known[-1][0] < 75.0:
        return None
    return _level(known, 25.0), _level(known, 50.0), _level(known, 75.0)


def percentiles_at(entry: ReferenceEntry, age_years: float | None) -> Percentiles:
    """The entry's percentiles; on a curve those at that age, straight between its points.

    Beyond the ends of the curve its last point holds, for the rest of a completed year.
    """
    if not entry.curve or age_years is None:
        return entry.percentiles
    ages = [point.age_years for point in entry.curve]
    age = min(max(age_years, ages[0]), ages[-1])
    before, after = next(
        (a, b) for a, b in itertools.pairwise(entry.curve) if a.age_years <= age <= b.age_years
    )
    share = (age - before.age_years) / (after.age_years - before.age_years)
    return tuple(
        (p, low + share * (high - low))
        for (p, low), (_, high) in zip(before.percentiles, after.percentiles, strict=True)
    )


def _among(value: float, known: Percentiles) -> Standing:
    """Between two percentiles straight in normal scores, so that a normal group is met exactly."""
    if not known:
        return Standing()
    if value < known[0][1]:
        return Standing(below=known[0][0])
    if value > known[-1][1]:
        return Standing(above=known[-1][0])
    z = _interpolated(value, [(level, _score(p)) for p, level in known])
    return Standing(100.0 * STANDARD.cdf(z), z=z)


def _level(known: Percentiles, p: float) -> float:
    """The value at a percentile inside those known."""
    return _interpolated(_score(p), [(_score(q), level) for q, level in known])


def _score(p: float) -> float:
    return STANDARD.inv_cdf(p / 100.0)


def _interpolated(x: float, points: Iterable[tuple[float, float]]) -> float:
    """Straight between the points; where several share one x, the middle of them."""
    known = tuple(points)
    same = [y for at, y in known if at == x]
    if same:
        return (same[0] + same[-1]) / 2.0
    (a, low), (b, high) = next((p, q) for p, q in itertools.pairwise(known) if p[0] < x < q[0])
    return low + (x - a) / (b - a) * (high - low)
