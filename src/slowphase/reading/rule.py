"""A rule of the reading: from findings to a judgement, and from a judgement to a statement.

The rule decides; its words stand in ``statements.toml``, its limits in ``limits.toml`` and its
cautions in ``cautions.toml``.
"""

import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from typing import Any

from slowphase.measures.measure import Measure
from slowphase.reading.cautions import alerting_recorded, caution
from slowphase.reading.findings import Findings
from slowphase.reading.limits import Limit
from slowphase.reading.statement import EvidenceItem, Statement, Verdict
from slowphase.reading.words import with_interval

SURE, VERY_SURE = 0.95, 0.99
STRENGTHS = ("weak", "moderate", "firm")


@dataclass(frozen=True, slots=True)
class Judgement:
    """How a finding came out: which text, filled with what, resting on what.

    One that ``leads`` is read before all others.
    """

    outcome: str
    verdict: Verdict
    words: Mapping[str, str] = field(default_factory=dict)
    strength: str = "weak"
    evidence: tuple[EvidenceItem, ...] = ()
    cautions: tuple[str, ...] = ()
    leads: bool = False


@dataclass(frozen=True, slots=True)
class Rule:
    """One finding: its stable code, and what judges it (no judgement, no statement).

    ``needs_alertness``: drowsiness alone could bring the finding about, so that it is at most
    moderate where nobody wrote down how the patient was kept alert.
    """

    code: str
    judge: Callable[[Findings], Iterable[Judgement]]
    needs_alertness: bool = False


@cache
def _texts() -> dict[str, dict[str, Any]]:
    return tomllib.loads((files(__package__) / "statements.toml").read_text(encoding="utf-8"))


def rule_texts(code: str) -> Mapping[str, str]:
    """The texts of one rule by outcome."""
    texts: Mapping[str, str] = _texts()[code]["text"]
    return texts


def apply(rules: Iterable[Rule], findings: Findings) -> tuple[Statement, ...]:
    """The statements that the rules make about a session, those that lead first."""
    judged = [(rule, judgement) for rule in rules for judgement in rule.judge(findings)]
    judged.sort(key=lambda pair: not pair[1].leads)
    alerted = alerting_recorded(findings.conditions)
    return tuple(
        _statement(rule.code, judgement, unverified=rule.needs_alertness and not alerted)
        for rule, judgement in judged
    )


def _statement(code: str, judgement: Judgement, *, unverified: bool) -> Statement:
    entry, verdict = _texts()[code], judgement.verdict
    cautions = (*judgement.cautions, *(("alerting_not_recorded",) if unverified else ()))
    strength = weaker(judgement.strength, "moderate") if unverified else judgement.strength
    return Statement(
        code=code,
        title=entry["title"],
        verdict=verdict,
        text=entry["text"][judgement.outcome].format(**judgement.words),
        strength=strength,
        evidence=judgement.evidence,
        cautions=tuple(caution(name) for name in dict.fromkeys(cautions)),
        does_not_show=tuple(entry["does_not_show"]),
        shown=_shown(entry.get("shown", {}), judgement),
        finding=entry["finding"],
        urgent=judgement.leads,
    )


def _shown(own: Mapping[str, str], judgement: Judgement) -> str:
    """The verdict in words: those of the outcome, of the verdict, or the usual ones."""
    usual: str = _texts()["shown"][judgement.verdict]
    return own.get(judgement.outcome) or own.get(judgement.verdict, usual)


def verdict_of(probability: float) -> Verdict:
    """Holds from 95 %, does not hold up to 5 %, cannot tell between."""
    if probability >= SURE:
        return "holds"
    return "does_not_hold" if probability <= 1 - SURE else "cannot_tell"


def strength_of(
    probability: float, measures: Iterable[Measure], limits: Iterable[Limit] = ()
) -> str:
    """Firm beyond 99 %, moderate beyond 95 %, else weak.

    One step less for poor recordings; at most moderate where a limit has no source.
    """
    decided = max(probability, 1 - probability)
    step = 2 if decided >= VERY_SURE else 1 if decided >= SURE else 0
    poor = any(measure.grade != "sound" for measure in measures)
    strength = STRENGTHS[max(0, step - poor)]
    sourced = all(limit.sourced for limit in limits)
    return strength if sourced else weaker(strength, "moderate")


def weaker(one: str, other: str) -> str:
    """The weaker of two strengths."""
    return min(one, other, key=STRENGTHS.index)


def plain(measure: Measure | None) -> str:
    """A measure as it stands in a sentence: value, unit, interval."""
    if measure is None:
        return "–"
    return with_interval(measure.value, measure.low, measure.high, measure.unit)


def evidence(measure: Measure, limit: Limit | None = None) -> EvidenceItem:
    """A measure as evidence, with the limit it was held against."""
    shown = plain(measure)
    if limit is None:
        return EvidenceItem(measure.id, shown)
    return EvidenceItem(measure.id, shown, f"{limit.label}: {limit.text}", limit.source, limit.mark)
