"""All head impulses of a session: one side against the other, canal by canal.

asymmetry = 100·(R − L)/(R + L)      R, L gains of the same canal and definition; positive:
gain_difference = R − L              the right one is better
"""

from collections.abc import Sequence
from dataclasses import replace

from slowphase.foundation.reasons import worst_grade
from slowphase.measures.interval import NOTHING, Z95, Estimate, Maker, symmetric
from slowphase.measures.measure import Measure
from slowphase.measures.pooling import combined, standard_error
from slowphase.measures.result import GroupResult, TrialResult, find, why_unusable
from slowphase.measures.settings import MeasureSettings

PAIRS = ("lateral", "anterior", "posterior")
GAIN_NAMES = ("gain", "gain_regression", "gain_at_80_ms", "gain_at_60_ms")  # by preference


def group_impulses(
    results: tuple[TrialResult, ...], settings: MeasureSettings
) -> tuple[GroupResult, ...]:
    """Right against left of every canal, over all trials and typed values of head impulses."""
    own = [one for one in results if _is_impulse(one) and one.measures]
    if not own:
        return ()
    make = Maker("impulse")
    measures = [m for pair in PAIRS for m in _pair(make, own, pair, settings)]
    trials = tuple(one.id for one in own)
    return (GroupResult("impulse", "impulse", trials, tuple(measures)),) if measures else ()


def _is_impulse(result: TrialResult) -> bool:
    typed = result.kind == "values" and result.stimulus.get("test") == "impulse"
    return typed or result.kind == "impulse"


def canal_gain(results: Sequence[TrialResult], canal: str, name: str) -> Measure | None:
    """The gain of one canal over all trials that have it; None where none has.

    Recorded impulses go before typed ones, which then take no part.
    """
    known = [
        found for result in one_source(results, canal, name) if (found := find(result, name, canal))
    ]
    if not known:
        return None
    alike = [one for one in known if one.definition == known[0].definition]
    sure = [one for one in alike if one.low is not None and one.high is not None]
    if len(sure) > 1:
        return combined(sure)
    return sure[0] if sure else of_typed(alike)


def of_typed(values: Sequence[Measure]) -> Measure:
    """Typed gains without intervals as one: their mean, with an interval from the least to the
    largest where they differ, and the reason ``repeats_disagree``."""
    numbers = [float(one.value or 0.0) for one in values]
    if min(numbers) == max(numbers):
        return values[0]
    why = tuple(dict.fromkeys((*values[0].why, "repeats_disagree")))
    return replace(
        values[0],
        value=sum(numbers) / len(numbers),
        low=min(numbers),
        high=max(numbers),
        why=why,
        grade=worst_grade(why),
    )


def one_source(results: Sequence[TrialResult], canal: str, name: str) -> list[TrialResult]:
    """The recorded trials where one of them has a usable gain of this canal, else the typed."""
    recorded = [one for one in results if one.kind != "values"]
    own = any(find(result, name, canal) for result in recorded)
    return recorded if own else [one for one in results if one.kind == "values"]


def _pair(
    make: Maker, results: Sequence[TrialResult], pair: str, settings: MeasureSettings
) -> list[Measure]:
    """Both comparisons of one pair of canals; none where neither was examined."""
    tables = [
        (canal_gain(results, f"right {pair}", name), canal_gain(results, f"left {pair}", name))
        for name in GAIN_NAMES
    ]
    right, left = next(((r, le) for r, le in tables if r and le), (None, None))
    if right and left and right.definition == left.definition:
        return _compared(make, pair, right, left, settings)
    spoilt = why_spoilt(results, pair)
    if not spoilt and not any(r or le for r, le in tables):
        return []
    why = ("definitions_differ",) if right and left else spoilt or ("other_side_missing",)
    return [
        make("asymmetry", NOTHING, "%", of=pair, definition="gain", why=why),
        make("gain_difference", NOTHING, "1", of=pair, definition="gain", why=why),
    ]


def why_spoilt(results: Sequence[TrialResult], pair: str) -> tuple[str, ...]:
    """Why gains of a pair of canals may not be used, where one has none that may."""
    canals = [f"{side} {pair}" for side in ("right", "left")]
    lacking = [c for c in canals if not any(canal_gain(results, c, name) for name in GAIN_NAMES)]
    codes = (
        code for c in lacking for name in GAIN_NAMES for code in why_unusable(results, name, c)
    )
    return tuple(dict.fromkeys(codes))


def two_sources(right: Measure, left: Measure) -> tuple[str, ...]:
    """The reason of sides of which one was recorded and the other typed."""
    typed = ["measured_elsewhere" in one.why for one in (right, left)]
    return ("sides_of_two_sources",) if typed[0] != typed[1] else ()


def _compared(
    make: Maker, pair: str, right: Measure, left: Measure, settings: MeasureSettings
) -> list[Measure]:
    codes = (*right.why, *left.why, *two_sources(right, left))
    own = replace(make, why=tuple(dict.fromkeys(codes)))
    r, le = float(right.value or 0.0), float(left.value or 0.0)
    errors = (standard_error(right), standard_error(left))
    difference = _estimate(r - le, (errors[0] ** 2 + errors[1] ** 2) ** 0.5)
    total, ratio = r + le, NOTHING
    why: tuple[str, ...] = ("gains_too_small",)
    if min(r, le) >= 0.0 and total >= settings.battery.impulse.asymmetry_sum_min:
        slopes = (200.0 * le / total**2, 200.0 * r / total**2)
        error = ((slopes[0] * errors[0]) ** 2 + (slopes[1] * errors[1]) ** 2) ** 0.5
        ratio, why = _estimate(100.0 * (r - le) / total, error), ()
    definition = right.definition
    return [
        own("asymmetry", ratio, "%", of=pair, definition=definition, why=why),
        own("gain_difference", difference, "1", of=pair, definition=definition),
    ]


def _estimate(value: float, error: float) -> Estimate:
    """Without limits where one of both gains has none."""
    return symmetric(value, error, Z95) if error < float("inf") else Estimate(value)
