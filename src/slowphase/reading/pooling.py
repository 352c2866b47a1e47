"""Several measures of the same thing as one, by inverse variance."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from slowphase.measures.measure import Measure
from slowphase.measures.weighted import weighted
from slowphase.reference.normal import Z95


@dataclass(frozen=True, slots=True)
class Pooled:
    """The pooled value with its 95 % interval, and the measures that went in.

    ``disagree`` is True where the members differ by more than their intervals allow; the
    interval has then been widened by the Birge ratio.
    """

    value: float
    low: float
    high: float
    members: tuple[Measure, ...]
    disagree: bool = False


TYPED = "measured_elsewhere"


def usable(measure: Measure) -> bool:
    """Whether a measure has a value and an interval that may be used.

    A value that was measured elsewhere and typed without an interval is taken as it is.
    """
    if measure.value is None or measure.grade == "unusable":
        return False
    return _has_interval(measure) or TYPED in measure.why


def _has_interval(measure: Measure) -> bool:
    return measure.low is not None and measure.high is not None


def pool(measures: Sequence[Measure]) -> Pooled | None:
    """The inverse-variance mean of the usable ones; None when there is none.

    The interval is multiplied by the Birge ratio (`measures.weighted`) where that exceeds 1.
    One measure alone keeps its own, perhaps lopsided, interval. Those without an interval take
    part only where none has one: then the first stands for all.
    """
    known = tuple(measure for measure in measures if usable(measure))
    members = tuple(measure for measure in known if _has_interval(measure)) or known[:1]
    if not members:
        return None
    if len(members) == 1:
        return _alone(members[0])
    mean = weighted([_value(m) for m in members], [_sd(m) for m in members])
    half = Z95 * mean.widened
    return Pooled(
        mean.value, mean.value - half, mean.value + half, members, disagree=mean.ratio > Z95
    )


def _alone(measure: Measure) -> Pooled:
    value = _value(measure)
    low = value if measure.low is None else measure.low
    high = value if measure.high is None else measure.high
    return Pooled(value, low, high, (measure,))


def _value(measure: Measure) -> float:
    return math.nan if measure.value is None else measure.value


def _sd(measure: Measure) -> float:
    alone = _alone(measure)
    return max((alone.high - alone.low) / (2 * Z95), 1e-9 * abs(alone.value), 1e-12)
