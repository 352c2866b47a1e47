"""Directional preponderance of calorics, and how much of it the spontaneous nystagmus makes."""

from collections.abc import Iterator

from slowphase.measures.measure import Measure
from slowphase.measures.result import GroupResult
from slowphase.reading.findings import Findings, named
from slowphase.reading.limits import limits
from slowphase.reading.rule import Judgement, Rule, evidence, plain, strength_of, verdict_of
from slowphase.reading.rules.against import beyond, capped, chance_words, known
from slowphase.reading.words import reason_clause

WHOLE = "directional_preponderance"
CAUTIONS = ("caloric_slow",)


def judge(findings: Findings) -> Iterator[Judgement]:
    """One judgement for the irrigations of a session."""
    for group in findings.groups_of("caloric"):
        measure = named(group, WHOLE)
        if measure is None or not known(measure):
            reason = reason_clause(measure.why if measure else ("not_given",))
            yield Judgement("missing", "cannot_tell", {"reason": reason})
        else:
            yield _judge(group, measure)


def _judge(group: GroupResult, measure: Measure) -> Judgement:
    limit, rest = limits()["caloric_preponderance"], named(group, f"{WHOLE}_rest")
    p = beyond(limit.value, measure)
    verdict = verdict_of(p)
    owed = rest is not None and known(rest) and verdict_of(beyond(limit.value, rest)) != "holds"
    outcome = {"holds": "nystagmus" if owed else "beats", "does_not_hold": "even"}
    parts = [m for m in (named(group, f"{WHOLE}_nystagmus"), rest) if m is not None and known(m)]
    return Judgement(
        outcome=outcome.get(verdict, "near"),
        verdict=verdict,
        words={"way": "right" if (measure.value or 0.0) > 0.0 else "left",
               "preponderance": plain(measure), "limit": limit.cited,
               "chance": chance_words(p, [measure]), "parts": _parts(parts)},
        strength=capped(strength_of(p, [measure], [limit]), [measure]),
        evidence=(evidence(measure, limit), *(evidence(m) for m in parts)),
        cautions=CAUTIONS,
    )  # fmt: skip


def _parts(parts: list[Measure]) -> str:
    """What the nystagmus makes of it, and the rest, as a sentence of its own."""
    if len(parts) < 2:
        return " How much of it the spontaneous nystagmus makes is not known."
    return (
        f" The spontaneous nystagmus makes {plain(parts[0])} of it, the rest is {plain(parts[1])}."
    )


CALORIC_PREPONDERANCE = Rule("caloric_preponderance", judge)
