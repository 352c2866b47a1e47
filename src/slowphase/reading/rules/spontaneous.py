"""Horizontal spontaneous nystagmus in the dark: there or not, which way it beats, how fast.

It is there when the slow phase surely exceeds the slowest drift called a nystagmus and quick
phases beat against it; what cannot be told from such a drift, but surely stays under the clinic's
limit, is no clear nystagmus. The chance that its speed exceeds the clinic's limit comes from the
interval of the velocity. That limit depends on how the eyes were recorded; where the session does
not say, the nystagmus is held against both limits.
"""

from collections.abc import Iterator, Mapping

from slowphase.measures.measure import Measure
from slowphase.reading.findings import Findings
from slowphase.reading.limits import Limit, limits
from slowphase.reading.pooling import pool
from slowphase.reading.rule import STRENGTHS, SURE, Judgement, Rule
from slowphase.reading.rules.nystagmus import (
    Nystagmus,
    dark_trials,
    in_the_dark,
    recorded,
    slowest,
    why_missing,
)
from slowphase.reading.rules.vertical import outcome_of as vertical_outcome
from slowphase.reading.statement import Verdict
from slowphase.reading.words import chance
from slowphase.reference.method import recording_method
from slowphase.reference.normal import probability_below

PLANE = "horizontal"
CODES = {"video": "spontaneous_velocity", "electrodes": "spontaneous_velocity_electrodes"}
VERDICTS: dict[str, Verdict] = {
    "above": "holds",
    "below": "holds",
    "near": "holds",
    "absent": "does_not_hold",
    "slight": "does_not_hold",
    "drift": "does_not_hold",
}
OTHER_PLANE = {
    "absent": " No vertical one either.",
    "slight": " The vertical slow phase is slight.",
    "beating": " There is a vertical nystagmus.",
}


def judge(findings: Findings) -> Iterator[Judgement]:
    """One judgement for the session, always: without a trial it cannot tell, and says so."""
    found = in_the_dark(findings, PLANE)
    yield _missing(findings) if found is None else _judge(findings, found)


def _judge(findings: Findings, found: Nystagmus) -> Judgement:
    held = _limits(findings)
    above = [found.faster_than(limit.value) for limit in held]
    outcome = _outcome(found, above)
    healthy = _beyond_healthy(found)
    return Judgement(
        outcome=outcome,
        verdict=VERDICTS.get(outcome, "cannot_tell"),
        words=_words(findings, found, held, above, outcome),
        strength=_strength(found, above, outcome),
        evidence=found.evidence(*(limit.code for limit in held)),
        cautions=tuple(_cautions(found, outcome, healthy)),
        leads=outcome == "changes",
    )


def _limits(findings: Findings) -> list[Limit]:
    """The clinic limit of the recording method; both where that is not stated, low first."""
    method = recording_method(findings.conditions)
    codes = CODES.values() if method is None else [CODES[method]]
    return sorted((limits()[code] for code in codes), key=lambda limit: limit.value)


def _outcome(found: Nystagmus, above: list[float]) -> str:
    present = found.faster_than(limits()["spontaneous_present"].value)
    if found.changes:
        return "changes"
    if present <= 1 - SURE:
        return "absent"
    if present < SURE:
        return "slight" if above[0] <= 1 - SURE else "unsure"
    if found.beating is False:
        return "drift"
    if above[-1] >= SURE:
        return "above"
    return "below" if above[0] <= 1 - SURE else "near"


def _strength(found: Nystagmus, above: list[float], outcome: str) -> str:
    """By the clinic's limit, or, where that is stronger, by the fastest healthy person seen."""
    habit = found.strength(_deciding(found, above, outcome))
    beyond = found.faster_than(limits()["healthy_largest"].value)
    if outcome != "above" or beyond < SURE:
        return habit
    return max(habit, found.strength(beyond, sourced=True), key=STRENGTHS.index)


def _deciding(found: Nystagmus, above: list[float], outcome: str) -> float:
    decided = {"above": above[-1], "below": above[0]}
    return decided.get(outcome, found.faster_than(limits()["spontaneous_present"].value))


def _words(
    findings: Findings, found: Nystagmus, held: list[Limit], above: list[float], outcome: str
) -> Mapping[str, str]:
    present = found.faster_than(limits()["spontaneous_present"].value) >= SURE
    words = found.words()
    return {
        **words,
        "fixation": words["fixation"] if present else "",
        "limit": _limit_text(held),
        "chance": ", ".join(_chance_text(held, above)),
        "present": slowest(),
        "vertical": _vertical_text(findings) if VERDICTS.get(outcome) == "does_not_hold" else "",
    }


def _limit_text(held: list[Limit]) -> str:
    if len(held) == 1:
        return held[0].cited
    low, high = (limit.text for limit in held)
    known = "limits: habit of the trade, no source"
    return f"{low} (video) or {high} (electrodes; method not stated; {known})"


def _chance_text(held: list[Limit], above: list[float]) -> list[str]:
    if len(held) == 1:
        return [chance(above[0])]
    if chance(above[0]) == chance(above[1]):
        return [f"{chance(above[0])} for both"]
    return [f"{chance(p)} for {limit.text}" for limit, p in zip(held, above, strict=True)]


def _vertical_text(findings: Findings) -> str:
    """What the other plane says, so that no plane speaks for both."""
    if not recorded(findings, "vertical"):
        return " Vertical eye movement was not recorded."
    found = in_the_dark(findings, "vertical")
    outcome = vertical_outcome(found) if found else ""
    return OTHER_PLANE.get(outcome, " Whether there is a vertical one cannot be told.")


def _cautions(found: Nystagmus, outcome: str, healthy: bool) -> Iterator[str]:
    if outcome in ("above", "below", "near"):
        yield "faster_than_healthy" if healthy else "healthy_nystagmus"
    fixed = VERDICTS.get(outcome) == "holds" and found.fixation is not None
    if fixed and found.fixation is not None and _poor_fixation(found.fixation):
        yield "poor_fixation"
    if found.velocity.disagree:
        yield "disagree"
    if any("low_alertness" in m.why for m in found.velocity.members):
        yield "low_alertness"


def _beyond_healthy(found: Nystagmus) -> bool:
    """Whether the whole interval lies beyond what any healthy person was seen to have."""
    slow = min(abs(found.velocity.low), abs(found.velocity.high))
    return slow > limits()["healthy_largest"].value and found.velocity.low * found.velocity.high > 0


def _poor_fixation(fixation: Measure) -> bool:
    pooled, limit = pool([fixation]), limits()["fixation_effect"].value
    if pooled is None:
        return False
    return probability_below(limit, pooled.value, pooled.low, pooled.high) >= SURE


def _missing(findings: Findings) -> Judgement:
    lit = findings.of_kind("spontaneous") and not dark_trials(findings)
    return Judgement(
        outcome="missing",
        verdict="cannot_tell",
        words={"reason": why_missing(findings, PLANE)},
        cautions=("one_light",) if lit else (),
    )


SPONTANEOUS = Rule("spontaneous_nystagmus", judge)
