"""All head impulses of a session: one side against the other, canal by canal.

asymmetry = 100·(R − L)/(R + L)      R, L gains of the same canal and definition; positive:
gain_difference = R − L              the right one is better
"""

from collections.abc import Sequence
from dataclasses import replace

from slowphase.measures.interval import NOTHING, Estimate, Maker, symmetric
from slowphase.measures.measure import Measure
from slowphase.measures.pooling import QUANTILE, combined, standard_error
from slowphase.measures.result import GroupResult, TrialResult
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
    """The gain of one canal over all trials that have it; None where none has."""
    known = [
        measure
        for result in results
        for measure in result.measures
        if (measure.of, measure.name) == (canal, name)
        and measure.value is not None
        and measure.grade != "unusable"
    ]
    if not known:
        return None
    alike = [one for one in known if one.definition == known[0].definition]
    sure = [one for one in alike if one.low is not None and one.high is not None]
    return combined(sure) if len(sure) > 1 else (sure or alike)[0]


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
    if not any(r or le for r, le in tables):
        return []
    why = "definitions_differ" if right and left else "other_side_missing"
    return [
        make("asymmetry", NOTHING, "%", of=pair, definition="gain", why=(why,)),
        make("gain_difference", NOTHING, "1", of=pair, definition="gain", why=(why,)),
    ]


def _compared(
    make: Maker, pair: str, right: Measure, left: Measure, settings: MeasureSettings
) -> list[Measure]:
    own = replace(make, why=tuple(dict.fromkeys((*right.why, *left.why))))
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
    return symmetric(value, error, QUANTILE) if error < float("inf") else Estimate(value)
