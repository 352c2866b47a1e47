"""Vertical nystagmus in the dark, held against the drift that deserves a second look.

It may be a central sign, so that it is read first where it is found or changes direction. Blinks
and lid drift imitate it: fast enough without quick phases, it cannot be told.
"""

from collections.abc import Iterator

from slowphase.reading.findings import Findings
from slowphase.reading.limits import limits
from slowphase.reading.rule import SURE, Judgement, Rule, verdict_of
from slowphase.reading.rules.nystagmus import (
    Nystagmus,
    dark_trials,
    in_the_dark,
    recorded,
    why_missing,
)
from slowphase.reading.statement import Verdict
from slowphase.reading.words import chance

PLANE = "vertical"
VERDICTS: dict[str, Verdict] = {
    "beating": "holds",
    "slight": "does_not_hold",
    "absent": "does_not_hold",
}
WATCHED = ("beating", "changes", "drift", "near")


def judge(findings: Findings) -> Iterator[Judgement]:
    """One judgement where there is a trial in the dark."""
    found = in_the_dark(findings, PLANE)
    if found is not None:
        yield _judge(found)
    elif dark_trials(findings):
        yield _missing(findings)


def _missing(findings: Findings) -> Judgement:
    """Only where the other plane was measured does the absence of this one mean no channel."""
    plane = PLANE if recorded(findings, PLANE) else "horizontal"
    alone = plane != PLANE and in_the_dark(findings, plane) is not None
    outcome = "not_recorded" if alone else "missing"
    return Judgement(outcome, "cannot_tell", {"reason": why_missing(findings, plane)})


def _judge(found: Nystagmus) -> Judgement:
    limit = limits()["spontaneous_vertical"]
    beyond = found.faster_than(limit.value)
    outcome = outcome_of(found)
    cautions = ("vertical",) if outcome in WATCHED else ()
    return Judgement(
        outcome=outcome,
        verdict=VERDICTS.get(outcome, "cannot_tell"),
        words={**found.words(), "limit": limit.cited, "chance": chance(beyond)},
        strength=found.strength(beyond),
        evidence=found.evidence("spontaneous_vertical"),
        cautions=(*cautions, *(("disagree",) if found.velocity.disagree else ())),
        leads=outcome in ("beating", "changes"),
    )


def outcome_of(found: Nystagmus) -> str:
    """Which of the rule's texts fits."""
    if found.changes:
        return "changes"
    verdict = verdict_of(found.faster_than(limits()["spontaneous_vertical"].value))
    if verdict == "holds":
        return "drift" if found.beating is False else "beating"
    if verdict == "cannot_tell":
        return "near"
    present = found.faster_than(limits()["spontaneous_present"].value) >= SURE
    return "slight" if present else "absent"


VERTICAL = Rule("vertical_nystagmus", judge)
