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
from slowphase.reading.cautions import caution
from slowphase.reading.findings import Findings
from slowphase.reading.limits import Limit
from slowphase.reading.statement import EvidenceItem, Statement, Verdict
from slowphase.reading.words import with_interval

SURE, VERY_SURE = 0.95, 0.99
STRENGTHS = ("weak", "moderate", "firm")


@dataclass(frozen=True, slots=True)
class Judgement:
    """How a finding came out: which text, filled with what, resting on what."""

    outcome: str
    verdict: Verdict
    words: Mapping[str, str] = field(default_factory=dict)
    strength: str = "weak"
    evidence: tuple[EvidenceItem, ...] = ()
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Rule:
    """One finding: its stable code, and what judges it (no judgement, no statement)."""

    code: str
    judge: Callable[[Findings], Iterable[Judgement]]


@cache
def _texts() -> dict[str, dict[str, Any]]:
    return tomllib.loads((files(__package__) / "statements.toml").read_text(encoding="utf-8"))


def rule_texts(code: str) -> Mapping[str, str]:
    """The texts of one rule by outcome."""
    texts: Mapping[str, str] = _texts()[code]["text"]
    return texts


def apply(rule: Rule, findings: Findings) -> tuple[Statement, ...]:
    """The statements that a rule makes about a session."""
    return tuple(_statement(rule.code, judgement) for judgement in rule.judge(findings))


def _statement(code: str, judgement: Judgement) -> Statement:
    entry = _texts()[code]
    return Statement(
        code=code,
        title=entry["title"],
        verdict=judgement.verdict,
        text=entry["text"][judgement.outcome].format(**judgement.words),
        strength=judgement.strength,
        evidence=judgement.evidence,
        cautions=tuple(caution(name) for name in dict.fromkeys(judgement.cautions)),
        does_not_show=tuple(entry["does_not_show"]),
    )


def verdict_of(probability: float) -> Verdict:
    """Holds from 95 %, does not hold up to 5 %, cannot tell between."""
    if probability >= SURE:
        return "holds"
    return "does_not_hold" if probability <= 1 - SURE else "cannot_tell"


def strength_of(probability: float, measures: Iterable[Measure]) -> str:
    """Firm beyond 99 %, moderate beyond 95 %, else weak; one step less for poor recordings."""
    decided = max(probability, 1 - probability)
    step = 2 if decided >= VERY_SURE else 1 if decided >= SURE else 0
    poor = any(measure.grade != "sound" for measure in measures)
    return STRENGTHS[max(0, step - poor)]


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
