"""Time constants of velocity steps by exciting direction, their difference, and a red herring.

Per- and post-rotatory responses that excite the same side are pooled by inverse variance. Only
the time to 1/e of each response alone is judged; the plain value (37 % of the raw peak) shows
what a spontaneous nystagmus does, and where it misleads, that is said.
"""

import math
from collections.abc import Callable, Iterator
from typing import Literal

from slowphase.measures.measure import Measure, Side
from slowphase.reading.findings import Findings, named, step_measures
from slowphase.reading.limits import limits
from slowphase.reading.pooling import Pooled, pool, usable
from slowphase.reading.rule import Judgement, Rule, evidence, strength_of, verdict_of
from slowphase.reading.words import chance, quantity, reason_clause, with_interval
from slowphase.reference.normal import probability_below

SIDES: tuple[Literal["right"], Literal["left"]] = ("right", "left")
DEFINITION = "one_over_e"
TWO_SIDED = 0.975
_OUTCOMES = {"holds": "short", "does_not_hold": "usual", "cannot_tell": "near"}


def judge_side(side: Side) -> Callable[[Findings], Iterator[Judgement]]:
    """The judge of one exciting direction; silent when the session has no step at all."""

    def judge(findings: Findings) -> Iterator[Judgement]:
        if findings.of_kind("step"):
            measures = step_measures(findings, "time_constant", DEFINITION, side)
            pooled = pool(measures)
            yield _judge_pooled(pooled) if pooled else _missing(findings, measures)

    return judge


def _judge_pooled(pooled: Pooled) -> Judgement:
    limit = limits()["time_constant"]
    short = probability_below(limit.value, pooled.value, pooled.low, pooled.high)
    verdict, strength = verdict_of(short), strength_of(short, pooled.members)
    words = {
        "value": _plain(pooled),
        "count": _count(len(pooled.members)),
        "limit": limit.text,
        "chance": chance(short),
    }
    items = tuple(evidence(m, limit) for m in pooled.members)
    drowsy = any("low_alertness" in m.why for m in pooled.members)
    if drowsy and verdict != "does_not_hold":
        cautions = ("low_alertness", *_cautions(pooled))
        return Judgement("drowsy", "cannot_tell", words, "weak", items, cautions)
    outcome = _OUTCOMES[verdict]
    return Judgement(outcome, verdict, words, strength, items, tuple(_cautions(pooled)))


def _cautions(pooled: Pooled) -> Iterator[str]:
    yield "definitions"
    if pooled.disagree:
        yield "disagree"
    if len(pooled.members) == 1:
        yield "single"
    if any("head_rebuilt" in m.why for m in pooled.members):
        yield "rebuilt"


def _plain(pooled: Pooled) -> str:
    return with_interval(pooled.value, pooled.low, pooled.high, "s")


def _count(members: int) -> str:
    return "one response" if members == 1 else f"{members} responses pooled"


def _missing(findings: Findings, measures: tuple[Measure, ...]) -> Judgement:
    items = tuple(evidence(m) for m in measures)
    words = {"reason": _why_missing(findings, measures)}
    return Judgement("missing", "cannot_tell", words, "weak", items)


def _why_missing(findings: Findings, measures: tuple[Measure, ...]) -> str:
    codes = tuple(dict.fromkeys(code for m in measures for code in m.why))
    if codes:
        return reason_clause(codes)
    left_out = [t for t in findings.of_kind("step") if t.outcome == "not done"]
    if left_out:
        return f"the step was not done ({left_out[0].reason or 'no reason given'})"
    return "no response in that direction was recorded"


def judge_sides(findings: Findings) -> Iterator[Judgement]:
    """Whether the two directions differ, where both can be had."""
    right, left = (
        pool(step_measures(findings, "time_constant", DEFINITION, side)) for side in SIDES
    )
    if right and left:
        yield _judge_difference(findings, right, left)


def _judge_difference(findings: Findings, right: Pooled, left: Pooled) -> Judgement:
    difference = _difference(findings, right, left)
    negative = probability_below(0.0, difference.value, difference.low, difference.high)
    certain = max(negative, 1 - negative)
    differ = certain >= TWO_SIDED
    shown = _mirrored(difference) if differ and difference.value < 0 else difference
    words = {
        "longer": "right" if difference.value > 0 else "left",
        "difference": _plain(shown),
        "right": _plain(right),
        "left": _plain(left),
    }
    members = (*right.members, *left.members, *difference.members)
    items = tuple(evidence(m) for m in dict.fromkeys(members))
    strength = strength_of(certain, members) if differ else "moderate"
    if differ:
        return Judgement("differ", "holds", words, strength, items, ("sides",))
    return Judgement("equal", "does_not_hold", words, strength, items)


def _mirrored(pooled: Pooled) -> Pooled:
    return Pooled(-pooled.value, -pooled.high, -pooled.low, pooled.members)


def _difference(findings: Findings, right: Pooled, left: Pooled) -> Pooled:
    """Right minus left: as measured on the pair of steps, else from the pooled values."""
    pairs = findings.pairs_of("step_sides")
    measured = [m for pair in pairs if (m := named(pair, "time_constant_difference"))]
    pooled = pool(measured) if len(measured) == 1 else None
    if pooled is not None:
        return pooled
    value = right.value - left.value
    half = math.hypot(right.high - right.low, left.high - left.low) / 2
    return Pooled(value, value - half, value + half, ())


def judge_raw(findings: Findings) -> Iterator[Judgement]:
    """A judgement only where a steady nystagmus makes the plain values misleading."""
    bias = _bias(findings)
    shown = {side: _raw_and_corrected(findings, side) for side in SIDES}
    known = {side: both for side, both in shown.items() if both is not None}
    share = limits()["time_constant_misled"].value / 100
    if bias is None or not any(abs(raw / c.value - 1) > share for raw, c, _ in known.values()):
        return
    words = {
        "raw": ", ".join(f"{side} {quantity(raw, 's')}" for side, (raw, _, _) in known.items()),
        "corrected": ", ".join(f"{side} {_plain(c)}" for side, (_, c, _) in known.items()),
        "bias": f" ({quantity(abs(bias.value or 0.0), 'deg/s')})",
    }
    plain = [m for _, _, raws in known.values() for m in raws]
    fitted = [m for _, c, _ in known.values() for m in c.members]
    limit = limits()["time_constant_misled"]
    items = (evidence(bias), *(evidence(m, limit) for m in plain), *map(evidence, fitted))
    yield Judgement("misleads", "holds", words, "moderate", items)


def _raw_and_corrected(
    findings: Findings, side: Side
) -> tuple[float, Pooled, tuple[Measure, ...]] | None:
    corrected = pool(step_measures(findings, "time_constant", DEFINITION, side))
    raws = step_measures(findings, "time_constant_raw", None, side)
    values = [m.value for m in raws if m.value is not None]
    if corrected is None or not values:
        return None
    return sum(values) / len(values), corrected, raws


def _bias(findings: Findings) -> Measure | None:
    """The strongest steady velocity of the steps whose interval does not reach zero."""
    found = [m for t in findings.of_kind("step") if (m := named(t, "bias"))]
    steady = [m for m in found if usable(m) and (m.low or 0.0) * (m.high or 0.0) > 0]
    return max(steady, key=lambda m: abs(m.value or 0.0), default=None)


TIME_CONSTANTS = (
    Rule("time_constant_right", judge_side("right")),
    Rule("time_constant_left", judge_side("left")),
    Rule("time_constant_sides", judge_sides),
    Rule("time_constant_raw_misleads", judge_raw),
)
