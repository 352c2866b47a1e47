"""Values of a set's file that are more than a number: percentiles, curves by age, ranges."""

import itertools
from collections.abc import Mapping

from slowphase.reference.entry import AgePoint, Percentiles

LARGEST = 1e9  # no measure in any unit comes near it; beyond it arithmetic is not to be trusted
OLDEST_YEARS = 130.0


def is_number(value: object) -> bool:
    """A finite number of a size that a measure can have, and no true or false."""
    if not isinstance(value, int | float) or isinstance(value, bool):
        return False
    return abs(value) <= LARGEST


def is_age(value: object) -> bool:
    """A number of years that a person can have lived."""
    return isinstance(value, int | float) and is_number(value) and 0.0 <= value <= OLDEST_YEARS


def is_age_range(ends: tuple[float, float] | None) -> bool:
    """Two ages that people have."""
    return ends is not None and all(map(is_age, ends))


def pair(value: object) -> tuple[float, float] | None:
    """Two numbers that do not fall, or None."""
    if not (isinstance(value, list) and len(value) == 2 and all(map(is_number, value))):
        return None
    low, high = (float(end) for end in value)
    return (low, high) if low <= high else None


def percentiles(value: object) -> Percentiles | None:
    """Pairs of percentile and value, rising; None when the table cannot be meant.

    TOML reads the bare key ``2.5`` as a table ``2`` with the key ``5``: both ways are taken.
    """
    if not isinstance(value, Mapping):
        return None
    try:
        found = sorted((float(key), float(level)) for key, level in _flat(value))
    except (TypeError, ValueError):
        return None
    ranks, levels = [p for p, _ in found], [level for _, level in found]
    fit = all(0 < p < 100 for p in ranks) and len(set(ranks)) == len(ranks) >= 2
    return tuple(found) if fit and levels == sorted(levels) else None


def _flat(table: Mapping[str, object]) -> list[tuple[str, float]]:
    flat: list[tuple[str, float]] = []
    for key, value in table.items():
        inner = value if isinstance(value, Mapping) else None
        parts = [(key, value)] if inner is None else [(f"{key}.{k}", v) for k, v in inner.items()]
        for name, level in parts:
            if not isinstance(level, int | float) or not is_number(level):
                raise TypeError(name)
            flat.append((name, level))
    return flat


def curve(value: object) -> tuple[AgePoint, ...] | None:
    """Percentiles by age, ages rising and the same percentiles at each; None if not so."""
    if not isinstance(value, list) or len(value) < 2:
        return None
    points = [_point(part) for part in value]
    if any(point is None for point in points):
        return None
    found = tuple(point for point in points if point is not None)
    rising = all(a.age_years < b.age_years for a, b in itertools.pairwise(found))
    levels = {tuple(p for p, _ in point.percentiles) for point in found}
    return found if rising and len(levels) == 1 else None


def _point(part: object) -> AgePoint | None:
    if not isinstance(part, Mapping):
        return None
    age, levels = part.get("age_years"), percentiles(part.get("percentiles"))
    if levels is None or not isinstance(age, int | float) or not is_age(age):
        return None
    return AgePoint(float(age), levels)


def intervals(value: object) -> dict[str, tuple[float, float]] | None:
    """The intervals of ``lower`` and ``upper``; None when something else stands there."""
    if not isinstance(value, Mapping) or not set(value) <= {"lower", "upper"}:
        return None
    found = {str(key): pair(ends) for key, ends in value.items()}
    sound = {key: ends for key, ends in found.items() if ends is not None}
    return sound if len(sound) == len(found) else None
