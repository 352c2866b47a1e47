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
from slowphase.reading.rule import SURE, Judgement, Rule, evidence, strength_of, verdict_of
from slowphase.reading.words import chance, quantity, reason_clause, with_interval
from slowphase.reference.normal import probability_below

SIDES: tuple[Literal["right"], Literal["left"]] = ("right", "left")
DEFINITION = "one_over_e"
HIDDEN = "hidden_by_nystagmus"
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
    verdict, strength = verdict_of(short), strength_of(short, pooled.members, [limit])
    words = {
        "value": _plain(pooled),
        "count": _count(len(pooled.members)),
        "limit": limit.text,
        "known": limit.known,
        "chance": chance(short),
    }
    items = tuple(evidence(m, limit) for m in pooled.members)
    drowsy = any("low_alertness" in m.why for m in pooled.members)
    if drowsy and verdict != "does_not_hold":
        cautions = ("low_alertness", *_cautions(pooled))
        return Judgement("drowsy", "cannot_tell", words, "weak", items, cautions)
    outcome = "long" if _long(pooled) else _OUTCOMES[verdict]
    return Judgement(outcome, verdict, words, strength, items, tuple(_cautions(pooled)))


def _long(pooled: Pooled) -> bool:
    limit = limits()["time_constant_long"].value
    return 1.0 - probability_below(limit, pooled.value, pooled.low, pooled.high) >= SURE


def _cautions(pooled: Pooled) -> Iterator[str]:
    yield "definitions"
    if pooled.disagree:
        yield "disagree"
    if len(pooled.members) == 1:
        yield "single"
    if any("head_rebuilt" in m.why for m in pooled.members):
        yield "rebuilt"
    if any("shape_differs" in m.why for m in pooled.members):
        yield "shape_differs"


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
    if set(codes) - {"not_done"}:
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
    limit = limits()["negligible_time_constant"]
    outcome = _difference_outcome(difference, limit.value)
    turned = outcome == "differ" and difference.value < 0
    words = {
        "longer": "right" if difference.value > 0 else "left",
        "difference": _plain(_mirrored(difference) if turned else difference),
        "right": _plain(right),
        "left": _plain(left),
        "limit": limit.cited,
    }
    items = [evidence(m, limit) for m in difference.members]
    items += [evidence(m) for m in (*right.members, *left.members)]
    if outcome == "alike":
        return Judgement(outcome, "does_not_hold", words, "moderate", tuple(items))
    return Judgement(outcome, "cannot_tell", words, "weak", tuple(items))


def _difference_outcome(difference: Pooled, negligible_s: float) -> str:
    """Alike only where the whole interval is negligible; a sure difference has no limit."""
    if max(abs(difference.low), abs(difference.high)) <= negligible_s:
        return "alike"
    return "differ" if difference.low * difference.high > 0 else "unsure"


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
    shown = {side: found for side in SIDES if (found := _raw_and_corrected(findings, side))}
    if bias is None or not any(_misled(found) for found in shown.values()):
        return
    words = {
        "raw": "; ".join(f"{side} {_raw_text(found)}" for side, found in shown.items()),
        "corrected": ", ".join(f"{side} {_plain(c)}" for side, (_, c) in shown.items()),
        "bias": f" ({quantity(abs(bias.value or 0.0), 'deg/s')})",
    }
    limit = limits()["time_constant_misled"]
    plain = [evidence(m, limit) for raws, _ in shown.values() for m in raws]
    fitted = [evidence(m) for _, c in shown.values() for m in c.members]
    yield Judgement("misleads", "holds", words, "moderate", (evidence(bias), *plain, *fitted))


Raw = tuple[tuple[Measure, ...], Pooled]


def _raw_and_corrected(findings: Findings, side: Side) -> Raw | None:
    corrected = pool(step_measures(findings, "time_constant", DEFINITION, side))
    raws = step_measures(findings, "time_constant_raw", None, side)
    return (raws, corrected) if corrected is not None and raws else None


def _misled(found: Raw) -> bool:
    raws, corrected = found
    share = limits()["time_constant_misled"].value / 100
    value = _mean(raws)
    hidden = any(HIDDEN in m.why for m in raws)
    return hidden or (value is not None and abs(value / corrected.value - 1) > share)


def _raw_text(found: Raw) -> str:
    raws, _ = found
    value = _mean(raws)
    hidden = any(HIDDEN in m.why for m in raws)
    if value is None:
        return "none: hidden by the nystagmus" if hidden else "none"
    return quantity(value, "s") + (" (another hidden by the nystagmus)" if hidden else "")


def _mean(measures: tuple[Measure, ...]) -> float | None:
    values = [m.value for m in measures if m.value is not None]
    return sum(values) / len(values) if values else None


def _bias(findings: Findings) -> Measure | None:
    """The strongest steady velocity of the steps whose interval does not reach zero."""
    found = [m for t in findings.of_kind("step") if (m := named(t, "bias"))]
    steady = [m for m in found if usable(m) and (m.low or 0.0) * (m.high or 0.0) > 0]
    return max(steady, key=lambda m: abs(m.value or 0.0), default=None)


TIME_CONSTANTS = (
    Rule("time_constant_right", judge_side("right"), needs_alertness=True),
    Rule("time_constant_left", judge_side("left"), needs_alertness=True),
    Rule("time_constant_sides", judge_sides, needs_alertness=True),
    Rule("time_constant_raw_misleads", judge_raw),
)
