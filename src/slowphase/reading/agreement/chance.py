"""Judgements by chance: where a value with its interval lies beside a limit.

Each reads the 95 % interval as a normal distribution (`reference.normal`) and is sure from 95 %;
of ``among`` comparisons of one rule each must be as sure as all together are to be (Bonferroni).
"""

import math
from collections.abc import Iterable
from typing import Literal

from slowphase.measures.measure import Measure
from slowphase.reading.pooling import Pooled
from slowphase.reading.rule import SURE
from slowphase.reference.normal import Z95, probability_below, probability_outside

Way = Literal["right", "left", "neither", "unsure"]
Beyond = Literal["beyond", "within", "unsure"]
Span = tuple[float, float, float]


def span(value: Pooled | Measure) -> Span:
    """Value with both ends of its interval; the value alone where it has none."""
    middle = value.value or 0.0
    return (
        middle,
        middle if value.low is None else value.low,
        (middle if value.high is None else value.high),
    )


def way(value: Span, limit: float) -> Way:
    """Which way a signed value surely goes by more than ``limit``; positive is to the right."""
    if 1.0 - probability_below(limit, *value) >= SURE:
        return "right"
    if probability_below(-limit, *value) >= SURE:
        return "left"
    return "neither" if probability_outside(*value, -limit, limit) <= 1.0 - SURE else "unsure"


def beyond(value: Span, limit: float, *, among: int = 1) -> Beyond:
    """Whether a difference is surely larger than ``limit``, either way, or surely not."""
    chance = probability_outside(*value, -limit, limit)
    if chance >= 1.0 - (1.0 - SURE) / among:
        return "beyond"
    return "within" if chance <= 1.0 - SURE else "unsure"


def below(value: Span, limit: float, *, among: int = 1) -> Beyond:
    """``beyond`` where a value is surely below ``limit``, ``within`` where it surely is not."""
    chance = probability_below(limit, *value)
    if chance >= 1.0 - (1.0 - SURE) / among:
        return "beyond"
    return "within" if chance <= 1.0 - SURE else "unsure"


def log_ratio(one: Pooled | Measure, two: Pooled | Measure) -> Span | None:
    """Natural logarithm of one value over another with its 95 % interval; None unless both are
    surely above 0."""
    first, second = span(one), span(two)
    if min(*first, *second) <= 0.0:
        return None
    reach = math.hypot(*(0.5 * math.log(high / low) for _, low, high in (first, second)))
    middle = math.log(first[0] / second[0])
    return middle, middle - reach, middle + reach


def log_error(value: Pooled | Measure) -> float:
    """Standard error of the natural logarithm of a value whose interval is above 0."""
    _, low, high = span(value)
    return 0.5 * math.log(high / low) / Z95


def together(each: Iterable[Beyond]) -> Beyond:
    """Several comparisons as one: beyond where one is, within where all are."""
    found = tuple(each)
    if "beyond" in found:
        return "beyond"
    return "within" if found and all(one == "within" for one in found) else "unsure"
