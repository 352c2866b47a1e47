"""Vestibular evoked potentials that were typed in: unequal sides, and absent responses.

Typed values have no interval: between both limits of the trade nothing is told, and no verdict is
more than weak.
"""

from collections.abc import Iterator

from slowphase.measures.measure import Measure
from slowphase.measures.result import TrialResult
from slowphase.reading.findings import Findings, named
from slowphase.reading.limits import limits
from slowphase.reading.rule import Judgement, Rule, evidence, plain
from slowphase.reading.rules.against import known
from slowphase.reading.statement import Verdict
from slowphase.reading.words import reason_clause

SIDES = ("right", "left")
ABSENT = "response_absent"
VERDICTS: dict[str, Verdict] = {"unequal": "holds", "one_absent": "holds", "alike": "does_not_hold"}


def judge(findings: Findings) -> Iterator[Judgement]:
    """One judgement for each typed pair of sides."""
    for trial in findings.of_kind("values"):
        sides = [m for side in SIDES if (m := named(trial, "amplitude", of=side)) is not None]
        if sides:
            yield _judge(trial, sides)


def _judge(trial: TrialResult, sides: list[Measure]) -> Judgement:
    asymmetry = named(trial, "asymmetry")
    absent = [str(m.of) for m in sides if ABSENT in m.why]
    outcome = _outcome(asymmetry, absent)
    low, high = limits()["evoked_asymmetry_low"], limits()["evoked_asymmetry"]
    held = [evidence(asymmetry, high)] if asymmetry is not None and known(asymmetry) else []
    return Judgement(
        outcome=outcome,
        verdict=VERDICTS.get(outcome, "cannot_tell"),
        words={
            "trial": trial.id,
            "response": str(sides[0].definition),
            "amplitudes": ", ".join(_amplitude(m) for m in sides),
            "asymmetry": plain(asymmetry),
            "smaller": "left" if asymmetry and (asymmetry.value or 0.0) > 0.0 else "right",
            "absent": " and ".join(absent),
            "low": low.text,
            "limit": high.cited,
            "reason": reason_clause(asymmetry.why if asymmetry else ()),
        },
        evidence=(*held, *(evidence(m) for m in sides)),
        cautions=("evoked_conductive",) if outcome != "alike" else (),
    )


def _outcome(asymmetry: Measure | None, absent: list[str]) -> str:
    if len(absent) == len(SIDES):
        return "both_absent"
    if asymmetry is None or asymmetry.value is None or not known(asymmetry):
        return "missing"
    if absent:
        return "one_absent"
    size = abs(asymmetry.value)
    if size > limits()["evoked_asymmetry"].value:
        return "unequal"
    return "alike" if size <= limits()["evoked_asymmetry_low"].value else "near"


def _amplitude(measure: Measure) -> str:
    shown = "absent" if ABSENT in measure.why else plain(measure)
    return f"{measure.of} {shown}"


EVOKED_POTENTIAL = Rule("evoked_potential_sides", judge)
