"""Chances that one measure lies beyond a limit; a value without an interval is taken as it is.

Equal to a limit is not beyond it.
"""

from collections.abc import Iterable

from slowphase.measures.measure import Measure
from slowphase.reading.pooling import Pooled
from slowphase.reading.rule import weaker
from slowphase.reading.words import chance
from slowphase.reference.normal import Z95, probability_below

NO_INTERVAL = "not known, since no interval was given"


def known(measure: Measure | None) -> bool:
    """Whether a measure has a value that may be used."""
    return measure is not None and measure.value is not None and measure.grade != "unusable"


def sure(measure: Measure) -> bool:
    """Whether a measure has an interval."""
    return measure.low is not None and measure.high is not None


def ends(measure: Measure) -> tuple[float, float, float]:
    """Value and limits; a value without an interval is taken as it is."""
    value = measure.value or 0.0
    low = value if measure.low is None else measure.low
    return value, low, value if measure.high is None else measure.high


def below(limit: float, measure: Measure) -> float:
    """Chance that the true value is smaller than a limit."""
    return probability_below(limit, *ends(measure))


def above(limit: float, measure: Measure) -> float:
    """Chance that the true value is larger than a limit."""
    value, low, high = ends(measure)
    return probability_below(-limit, -value, -high, -low)


def beyond(limit: float, measure: Measure) -> float:
    """Chance that the true value is larger in size than a limit, either way."""
    return min(1.0, above(limit, measure) + below(-limit, measure))


def chance_words(probability: float, measures: Iterable[Measure]) -> str:
    """A chance in words, which does not exist where a measure has no interval."""
    return chance(probability) if all(map(sure, measures)) else NO_INTERVAL


def capped(strength: str, measures: Iterable[Measure]) -> str:
    """A strength, weak where a measure has no interval."""
    return strength if all(map(sure, measures)) else weaker(strength, "weak")


def ratio(one: Measure, other: Measure) -> Pooled:
    """One positive measure over another, with an interval from both as independent ones."""
    value = (one.value or 0.0) / (other.value or 1.0)
    half = Z95 * value * (relative(one) ** 2 + relative(other) ** 2) ** 0.5
    return Pooled(value, value - half, value + half, (one, other))


def relative(measure: Measure) -> float:
    """The standard error of a measure as a share of it."""
    value, low, high = ends(measure)
    return abs((high - low) / (2.0 * Z95 * value)) if value else 0.0
