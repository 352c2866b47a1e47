"""Saccades that are slower to one side, and eyes that turn in more slowly than out.

The speed itself is not placed: it depends on the recorder's filter, and no reference was found.
Of the eyes only the ratio to one side over that to the other is judged, from which unequal
calibration of the eyes falls out: to the right the left eye turns in, to the left the right one.
"""

from collections.abc import Iterator

from slowphase.measures.measure import Measure
from slowphase.measures.result import TrialResult
from slowphase.reading.findings import Findings
from slowphase.reading.limits import limits
from slowphase.reading.pooling import Pooled
from slowphase.reading.rule import Judgement, Rule, evidence, strength_of, verdict_of
from slowphase.reading.rules.against import above, below, capped, ratio
from slowphase.reading.rules.ways import TOWARD, listed, of_ways, why_missing
from slowphase.reading.words import chance, with_interval
from slowphase.reference.normal import probability_below, probability_outside

PAIR = ("rightward", "leftward")


def judge_ways(findings: Findings) -> Iterator[Judgement]:
    """Whether saccades to one side are slower, for each trial of horizontal saccades."""
    for trial, found in _pairs(findings, "peak_velocity"):
        yield _judge_ways(found) if found else _missing(trial, "peak_velocity")


def judge_eyes(findings: Findings) -> Iterator[Judgement]:
    """Whether eyes that turn in are slower, for each trial of horizontal saccades."""
    for trial, found in _pairs(findings, "velocity_ratio"):
        yield _judge_eyes(found) if found else _missing(trial, "velocity_ratio")


def _pairs(findings: Findings, name: str) -> Iterator[tuple[TrialResult, dict[str, Measure]]]:
    """The trials that do not only go up and down, with both ways where both are known."""
    for trial in findings.of_kind("saccade"):
        ways = {m.of for m in trial.measures if m.of is not None}
        found = {way: m for way, m in of_ways(trial, name).items() if way in PAIR}
        if not ways or ways & set(PAIR):
            yield trial, found if len(found) == len(PAIR) else {}


def _missing(trial: TrialResult, name: str) -> Judgement:
    words = {"trial": trial.id, "reason": why_missing(trial, name)}
    return Judgement("missing", "cannot_tell", words)


def _judge_ways(found: dict[str, Measure]) -> Judgement:
    limit = limits()["saccade_ways"]
    right, left = (found[way] for way in PAIR)
    compared, slow = ratio(right, left), 1.0 - limit.value / 100.0
    p = probability_outside(compared.value, compared.low, compared.high, slow, 1.0 / slow)
    verdict = verdict_of(p)
    outcome = {"holds": "slower", "does_not_hold": "alike"}.get(verdict, "near")
    return Judgement(
        outcome=outcome,
        verdict=verdict,
        words={
            "values": listed(found),
            "side": TOWARD[PAIR[int(compared.value >= 1.0)]],
            "ratio": _shown(compared),
            "limit": limit.cited,
            "chance": chance(p),
        },
        strength=capped(strength_of(p, found.values(), [limit]), found.values()),
        evidence=tuple(evidence(m, limit) for m in found.values()),
        cautions=("confounders",) if verdict != "does_not_hold" else (),
    )


def _judge_eyes(found: dict[str, Measure]) -> Judgement:
    limit, scale = limits()["saccade_eyes"], limits()["saccade_eyes_scale"]
    right, left = (found[way] for way in PAIR)
    turning = ratio(right, left)
    p = 1.0 - probability_below(1.0 + limit.value / 100.0, *_span(turning))
    verdict = verdict_of(p)
    outcome = {"holds": "adduction", "does_not_hold": "alike"}.get(verdict, "near")
    if outcome == "alike" and _unequal(found, scale.value / 100.0):
        outcome, verdict = "scale", "cannot_tell"
    return Judgement(
        outcome=outcome,
        verdict=verdict,
        words={"values": listed(found), "ratio": _shown(turning), "limit": limit.cited,
               "scale": scale.cited, "chance": chance(p)},
        strength=capped(strength_of(p, found.values(), [limit]), found.values()),
        evidence=tuple(evidence(m, limit) for m in found.values()),
        leads=outcome == "adduction",
    )  # fmt: skip


def _unequal(found: dict[str, Measure], share: float) -> bool:
    """Whether one eye is surely faster to both sides."""
    slower = [below(1.0 - share, measure) for measure in found.values()]
    faster = [above(1.0 + share, measure) for measure in found.values()]
    return any(all(verdict_of(p) == "holds" for p in side) for side in (slower, faster))


def _span(pooled: Pooled) -> tuple[float, float, float]:
    return pooled.value, pooled.low, pooled.high


def _shown(pooled: Pooled) -> str:
    return with_interval(*_span(pooled), "1")


SACCADE_WAYS = Rule("saccade_ways", judge_ways)
SACCADE_EYES = Rule("saccade_eyes", judge_eyes)
