"""Saccades to a target: late ones, and ones that fall short, by the way that the eye goes."""

from collections.abc import Callable, Iterator

from slowphase.measures.measure import Measure
from slowphase.measures.result import TrialResult
from slowphase.reading.findings import Findings
from slowphase.reading.limits import Limit, limits
from slowphase.reading.rule import Judgement, Rule, evidence, strength_of
from slowphase.reading.rules.against import above, below, capped
from slowphase.reading.rules.ways import chances, deciding, listed, of_ways, together, why_missing

Chance = Callable[[float, Measure], float]
OUTCOMES = {"holds": "beyond", "does_not_hold": "usual", "cannot_tell": "near"}


def judge(findings: Findings, *, name: str, limit: Limit, chance: Chance) -> Iterator[Judgement]:
    """One judgement for each trial of saccades."""
    for trial in findings.of_kind("saccade"):
        yield _judge_trial(trial, name, limit, chance)


def _judge_trial(trial: TrialResult, name: str, limit: Limit, chance: Chance) -> Judgement:
    found = of_ways(trial, name)
    if not found:
        words = {"trial": trial.id, "reason": why_missing(trial, name)}
        return Judgement("missing", "cannot_tell", words)
    beyond = {way: chance(limit.value, measure) for way, measure in found.items()}
    verdict = together(beyond)
    foreseen = any("anticipations_left_out" in m.why for m in found.values())
    strength = strength_of(deciding(beyond, verdict), found.values(), [limit])
    return Judgement(
        outcome=OUTCOMES[verdict],
        verdict=verdict,
        words={"trial": trial.id, "values": listed(found), "limit": limit.cited,
               "chance": chances(beyond)},
        strength=capped(strength, found.values()),
        evidence=tuple(evidence(m, limit) for m in found.values()),
        cautions=(*(("confounders",) if verdict != "does_not_hold" else ()),
                  *(("foreseen",) if foreseen else ())),
    )  # fmt: skip


def judge_latency(findings: Findings) -> Iterator[Judgement]:
    """Whether saccades are late."""
    return judge(findings, name="latency", limit=limits()["saccade_latency"], chance=above)


def judge_accuracy(findings: Findings) -> Iterator[Judgement]:
    """Whether saccades fall short."""
    return judge(findings, name="accuracy", limit=limits()["saccade_accuracy"], chance=below)


SACCADE_LATENCY = Rule("saccade_latency", judge_latency, needs_alertness=True)
SACCADE_ACCURACY = Rule("saccade_accuracy", judge_accuracy)
