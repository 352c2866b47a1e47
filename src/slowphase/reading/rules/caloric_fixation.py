"""Caloric nystagmus with fixation: how much of it fixation leaves, by the fixation index."""

from collections.abc import Iterator

from slowphase.measures.measure import Measure
from slowphase.reading.findings import Findings
from slowphase.reading.limits import limits
from slowphase.reading.pooling import pool, usable
from slowphase.reading.rule import Judgement, Rule, evidence, plain, strength_of, verdict_of
from slowphase.reading.rules.against import capped, chance_words, ends, known
from slowphase.reading.words import reason_clause, with_interval
from slowphase.reference.normal import probability_below

OUTCOMES = {"holds": "poor", "does_not_hold": "good", "cannot_tell": "near"}
KINDS = ("caloric", "values")


def judge(findings: Findings) -> Iterator[Judgement]:
    """One judgement for all irrigations in which the patient fixated."""
    found = [m for trial in findings.trials if trial.kind in KINDS
             for m in trial.measures if m.name == "fixation_index"]  # fmt: skip
    usable_ones = [m for m in found if known(m)]
    tried = [m for m in found if "no_fixation" not in m.why]
    if usable_ones:
        yield _judge(usable_ones)
    elif tried:
        codes = tuple(dict.fromkeys(code for m in tried for code in m.why))
        yield Judgement("missing", "cannot_tell", {"reason": reason_clause(codes)})


def _judge(found: list[Measure]) -> Judgement:
    limit = limits()["fixation_index"]
    # recorded indices are pooled; a typed one counts only where there is no recorded one
    recorded = [m for m in found if usable(m)]
    pooled = pool(recorded)
    members = recorded if pooled else found[:1]
    value, low, high = (pooled.value, pooled.low, pooled.high) if pooled else ends(found[0])
    poor = 1.0 - probability_below(limit.value, value, low, high)  # 0.60 itself is abnormal
    verdict = verdict_of(poor)
    disagree = ("disagree",) if pooled is not None and pooled.disagree else ()
    return Judgement(
        outcome=OUTCOMES[verdict],
        verdict=verdict,
        words={
            "index": with_interval(value, low, high, "1") if pooled else plain(found[0]),
            "count": "one irrigation" if len(members) == 1 else f"{len(members)} irrigations",
            "limit": limit.cited,
            "chance": chance_words(poor, members),
        },
        strength=capped(strength_of(poor, members, [limit]), members),
        evidence=tuple(evidence(m, limit) for m in members),
        cautions=(*disagree, *(("confounders",) if verdict != "does_not_hold" else ())),
    )


CALORIC_FIXATION = Rule("caloric_fixation", judge)
