"""Change of one measure between two sessions, and whether it is more than retests differ by.

    change      Δ = x₂ − x₁                                    (phases on the circle)
    interval    Δ − √((x₂ − low₂)² + (high₁ − x₁)²)  to  Δ + √((high₂ − x₂)² + (x₁ − low₁)²)
    error of no change
                V = D²·(1 + 1/n) + (s₁² + s₂² − 2·m²)
                not below s₁² + s₂², and not below a quarter of the first term
    index       (Δ − retest effect) / √V                       reliable change index
    limit       t·√V: the smallest change that is more than 95 % of unchanged people show

D is the SD of paired differences of retests, n their number, m the root mean square standard error
of one measurement in them, s₁ and s₂ the standard errors of the two measurements at hand (width of
the 95 % interval / 3.92). D² holds the day-to-day variation twice and the errors of measurement
twice already: 2·m² is what typical measurements put into it, and is exchanged for what these two
put in. So each is counted once. Where m is not known, V is the larger of D² and s₁² + s₂²: never
the sum, which would count the errors twice. 1/n is the uncertainty of the retest effect.

t has ν = (n − 1)·(V / D²(1 + 1/n))² degrees of freedom (Satterthwaite 1946, memory): what retests
of few pairs do not know is in the limit. With known V and no effect the index is that of Jacobson
and Truax 1991, (x₂ − x₁)/(√2·SEM), and the limit is MDC95 = 1.96·√2·SEM.

The interval tells how well the change between these two days was measured (square-and-add of both
intervals; Zou, Donner 2008, memory); the limit, whether such a change says anything of the patient.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from slowphase.measures.interval import Z95

if TYPE_CHECKING:
    from slowphase.course.key import Key
    from slowphase.course.retest import Retest
    from slowphase.measures.measure import Measure

Direction = Literal["rises", "falls", "within", "cannot_tell"]
POWER_QUANTILE = 0.8416212335729143  # normal quantile of 80 %
ONE_TURN_DEG = 360.0
LEAST_SHARE = 0.25  # of D²(1 + 1/n) that V keeps where intervals are wide: chosen


@dataclass(frozen=True, slots=True)
class Change:
    """One measure in two sessions.

    ``value`` with ``low``–``high`` is the change with its 95 % interval (None where a measurement
    has none), ``error`` is √V, ``degrees`` its degrees of freedom (infinite where V is known),
    ``index`` the reliable change index, ``p`` its two-sided chance in an unchanged patient,
    ``p_adjusted`` that among all tested measures (None for those that are not), ``limit`` the
    smallest reliable change, ``smallest`` the change that would have been found with 80 % power.
    ``direction`` is by the measure alone, at 5 %. ``why`` holds codes of ``words.toml``.
    """

    key: Key
    before: Measure
    after: Measure
    value: float
    low: float | None
    high: float | None
    retest: Retest | None = None
    effect: float = 0.0
    error: float | None = None
    degrees: float | None = None
    index: float | None = None
    p: float | None = None
    p_adjusted: float | None = None
    limit: float | None = None
    smallest: float | None = None
    direction: Direction = "cannot_tell"
    why: tuple[str, ...] = ()
    trial: str | None = None

    @property
    def decides(self) -> bool:
        """Whether a retest variability that may decide is known."""
        return self.retest is not None and not self.retest.illustration


def change(
    key: Key,
    before: Measure,
    after: Measure,
    retest: Retest | None = None,
    *,
    later: bool = True,
    trial: str | None = None,
) -> Change:
    """The change from one measurement to another; both have values.

    ``later`` says that ``after`` is the later one; a practice effect turns with the order. An
    illustration gives error, index and limit for the eye, and the direction ``cannot_tell``.
    """
    value = difference(key, before, after)
    low, high = interval(value, before, after)
    why = _why(before, after, retest)
    if retest is None:
        return Change(key, before, after, value, low, high, why=why, trial=trial)
    errors = (standard_error(before), standard_error(after))
    effect = retest.effect if later else -retest.effect
    error, degrees = no_change_error(retest, errors)
    index = (value - effect) / error
    p = two_sided(index, degrees)
    limit = quantile(0.05, degrees) * error
    return Change(
        key, before, after, value, low, high,
        retest=retest,
        effect=effect,
        error=error,
        degrees=degrees,
        index=index,
        p=p,
        limit=limit,
        smallest=smallest_found(error, degrees, 0.05),
        direction=_direction(value - effect, limit, retest),
        why=why,
        trial=trial,
    )  # fmt: skip


def difference(key: Key, before: Measure, after: Measure) -> float:
    """After less before; a phase by the shorter way round the circle."""
    value = float(after.value or 0.0) - float(before.value or 0.0)
    if (key.name, key.unit) == ("phase", "deg"):
        return value - ONE_TURN_DEG * round(value / ONE_TURN_DEG)
    return value


def interval(
    value: float, before: Measure, after: Measure
) -> tuple[float, float] | tuple[None, None]:
    """The 95 % interval of a change; none where a measurement has none."""
    ends = (before.low, before.high, after.low, after.high)
    if None in ends or before.value is None or after.value is None:
        return None, None
    low1, high1, low2, high2 = (float(end) for end in ends if end is not None)
    down = math.hypot(after.value - low2, high1 - before.value)
    up = math.hypot(high2 - after.value, before.value - low1)
    return value - down, value + up


def standard_error(measure: Measure) -> float | None:
    """The standard error of one measurement from the width of its interval; None without one."""
    if measure.low is None or measure.high is None:
        return None
    return (measure.high - measure.low) / (2.0 * Z95)


def no_change_error(
    retest: Retest, errors: tuple[float | None, float | None]
) -> tuple[float, float]:
    """√V and its degrees of freedom; errors that are not known are those of the retests."""
    spread = retest.sd_difference**2
    from_retest = spread * (1.0 + 1.0 / retest.n) if retest.n else spread
    own = [error**2 for error in errors if error is not None]
    known = sum(own) if len(own) == 2 else 0.0
    if len(own) < 2:
        variance = from_retest
    elif retest.measurement_error is None:
        variance = max(from_retest, known)
    else:
        exchanged = from_retest + known - 2.0 * retest.measurement_error**2
        variance = max(exchanged, known, LEAST_SHARE * from_retest)
    if retest.n is None:
        return math.sqrt(variance), math.inf
    degrees = (retest.n - 1) * (variance / from_retest) ** 2
    return math.sqrt(variance), max(degrees, 1.0)


def two_sided(index: float, degrees: float) -> float:
    """The chance of an index at least as large, either way, in an unchanged patient."""
    from scipy.special import ndtr, stdtr

    below = ndtr(-abs(index)) if math.isinf(degrees) else stdtr(degrees, -abs(index))
    return 2.0 * float(below)


def quantile(level: float, degrees: float) -> float:
    """The index that an unchanged patient passes, either way, with this chance."""
    from scipy.special import ndtri, stdtrit

    tail = 1.0 - level / 2.0
    return float(ndtri(tail) if math.isinf(degrees) else stdtrit(degrees, tail))


def smallest_found(error: float, degrees: float, level: float) -> float:
    """The true change that is found with 80 % power at a level: (t + 0.84)·√V."""
    return (quantile(level, degrees) + POWER_QUANTILE) * error


def _direction(beyond: float, limit: float, retest: Retest) -> Direction:
    if retest.illustration:
        return "cannot_tell"
    if abs(beyond) <= limit:
        return "within"
    return "rises" if beyond > 0 else "falls"


def _why(before: Measure, after: Measure, retest: Retest | None) -> tuple[str, ...]:
    unsound = [m.grade != "sound" for m in (before, after)]
    checks = (
        ("no_retest", retest is None),
        ("illustration", retest is not None and retest.illustration),
        ("not_sound", any(unsound)),
        ("no_interval", standard_error(before) is None or standard_error(after) is None),
        ("spread_grows", retest is not None and retest.proportional),
    )
    return tuple(code for code, holds in checks if holds)
