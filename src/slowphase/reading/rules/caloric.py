"""Calorics: which ear answers less, and whether both hardly answer."""

from collections.abc import Iterator

from slowphase.measures.measure import Measure
from slowphase.measures.result import GroupResult
from slowphase.reading.findings import Findings, named
from slowphase.reading.limits import limits
from slowphase.reading.pooling import pool
from slowphase.reading.rule import SURE, Judgement, Rule, evidence, plain, strength_of, verdict_of
from slowphase.reading.rules.against import beyond as chance_beyond
from slowphase.reading.rules.against import capped, chance_words, ends
from slowphase.reading.words import reason_text
from slowphase.reference.normal import probability_below

CAUTIONS = ("caloric_slow",)
SIDES = ("right", "left")


def judge(findings: Findings) -> Iterator[Judgement]:
    """One judgement for the irrigations of a session."""
    for group in findings.groups_of("caloric"):
        totals = [named(group, "total", of=f"{side} ear") for side in SIDES]
        known = [total for total in totals if total is not None and total.value is not None]
        yield _both(known) or _sides(group, known)


def _both(totals: list[Measure]) -> Judgement | None:
    """Both ears surely below the total of bilateral vestibulopathy."""
    limit = limits()["bilateral_caloric"]
    small = [probability_below(limit.value, *ends(total)) for total in totals]
    if len(totals) < 2 or any(verdict_of(p) != "holds" for p in small):
        return None
    if any(map(goes_wrong, totals)):
        return None
    return Judgement(
        outcome="both",
        verdict="holds",
        words={"totals": totals_text(totals), "limit": limit.cited},
        strength=strength_of(min(small), totals, [limit]),
        evidence=tuple(evidence(total, limit) for total in totals),
        cautions=CAUTIONS,
    )


def goes_wrong(total: Measure) -> bool:
    """Whether an ear surely answers the wrong way, by more than none at all."""
    value, low, high = ends(total)
    return probability_below(-limits()["bilateral_caloric"].value, value, low, high) >= SURE


def _sides(group: GroupResult, totals: list[Measure]) -> Judgement:
    measure, limit = named(group, "unilateral_weakness"), limits()["caloric_weakness"]
    found = pool([measure]) if measure is not None else None
    if measure is None or found is None:
        codes = measure.why if measure is not None else ()
        reason = reason_text(codes[0]).rstrip(".") if codes else "an irrigation is missing"
        reason = reason[:1].lower() + reason[1:]
        return Judgement(
            "missing", "cannot_tell", {"reason": reason, "totals": totals_text(totals)}
        )
    beyond = chance_beyond(limit.value, measure)
    verdict = verdict_of(beyond)
    side = "right" if found.value < 0.0 else "left"
    outcome = {"holds": "weaker", "does_not_hold": "even"}.get(verdict, "near")
    return Judgement(
        outcome=outcome,
        verdict=verdict,
        words={"side": side, "weakness": plain(measure), "limit": limit.cited,
               "chance": chance_words(beyond, [measure]), "totals": totals_text(totals)},
        strength=capped(strength_of(beyond, [measure], [limit]), [measure]),
        evidence=(evidence(measure, limit), *(evidence(total) for total in totals)),
        cautions=CAUTIONS,
    )  # fmt: skip


def totals_text(totals: list[Measure]) -> str:
    """The total of each ear, by letter."""
    shown = [f"{'R' if (m.of or '').startswith('right') else 'L'} {plain(m)}" for m in totals]
    return ", ".join(shown) or "not known"


CALORIC = Rule("caloric_weakness", judge, needs_alertness=True)
