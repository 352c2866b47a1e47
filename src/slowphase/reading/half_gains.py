"""The asymmetry of two gains by exciting direction, from their values and intervals."""

from slowphase.measures.measure import Measure
from slowphase.reading.pooling import Pooled


def asymmetry(right: Measure, left: Measure) -> Pooled:
    """The asymmetry (%) of two gains above 0 with its 95 % interval by their errors."""
    r, le = right.value or 0.0, left.value or 0.0
    whole = r + le
    reach = 200.0 / whole**2 * ((le * half_width(right)) ** 2 + (r * half_width(left)) ** 2) ** 0.5
    value = 100.0 * (r - le) / whole
    return Pooled(value, value - reach, value + reach, (right, left))


def half_width(measure: Measure) -> float:
    """Half of a measure's 95 % interval; 0 where it has none."""
    if measure.low is None or measure.high is None:
        return 0.0
    return 0.5 * (measure.high - measure.low)
