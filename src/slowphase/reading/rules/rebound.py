"""Rebound nystagmus: back from eccentric gaze the eye beats the other way, and that fades."""

from collections.abc import Iterator

from slowphase.measures.measure import Measure
from slowphase.reading.findings import Findings, named
from slowphase.reading.limits import limits
from slowphase.reading.rule import Judgement, Rule, evidence, plain, strength_of, verdict_of
from slowphase.reading.rules.against import beyond, known
from slowphase.reading.words import chance, reason_clause

CODE = "rebound"  # the measure's name, and its reason where it surely beats away from the gaze
Rebounds = dict[str, Measure]


def judge(findings: Findings) -> Iterator[Judgement]:
    """One judgement where a return from eccentric gaze was recorded."""
    found = {t.id: m for t in findings.of_kind("gaze") if (m := named(t, CODE)) is not None}
    usable = {id_: measure for id_, measure in found.items() if known(measure)}
    if usable:
        yield _judge(usable)
    elif found:
        codes = dict.fromkeys(code for m in found.values() for code in m.why)
        yield Judgement("missing", "cannot_tell", {"reason": reason_clause(tuple(codes))})


def _judge(found: Rebounds) -> Judgement:
    limit = limits()["rebound"]
    fast = {id_: beyond(limit.value, measure) for id_, measure in found.items()}
    named_so = [id_ for id_, m in found.items() if CODE in m.why]
    sure = [id_ for id_ in named_so if verdict_of(fast[id_]) == "holds"]
    # what surely fades the other way, toward where the eye had looked, is no rebound
    open_ = [id_ for id_, m in found.items() if _may_be(m, fast[id_])]
    outcome = "rebounds" if sure else "near" if open_ else "none"
    deciding = max((fast[id_] for id_ in sure), default=max(fast.values()))
    shown = {id_: found[id_] for id_ in sure} or found
    return Judgement(
        outcome=outcome,
        verdict="holds" if sure else "cannot_tell" if open_ else "does_not_hold",
        words={"positions": "; ".join(f"{id_} {plain(m)}" for id_, m in shown.items()),
               "limit": limit.cited, "chance": chance(deciding)},
        strength=strength_of(deciding, shown.values(), [limit]),
        evidence=tuple(evidence(m, limit) for m in found.values()),
        cautions=("gaze_other",) if sure else (),
        leads=bool(sure),
    )  # fmt: skip


def _may_be(measure: Measure, fast: float) -> bool:
    return CODE in measure.why or verdict_of(fast) == "cannot_tell"


REBOUND = Rule("rebound_nystagmus", judge)
