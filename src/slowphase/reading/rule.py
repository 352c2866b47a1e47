"""A rule of the reading: from findings to a judgement, and from a judgement to a statement.

The rule decides; its words stand in ``statements/``, its limits in ``limits.toml`` and its
cautions in ``cautions.toml`` and ``conditions.toml``.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from slowphase.measures.measure import Measure
from slowphase.reading.cautions import alerting_recorded, caution
from slowphase.reading.conditions import cautions_about
from slowphase.reading.findings import Findings
from slowphase.reading.limits import Limit
from slowphase.reading.record import Record, records
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


def rule_texts(code: str) -> Mapping[str, str]:
    """The texts of one rule by outcome."""
    return records()[code].text


def apply(rules: Iterable[Rule], findings: Findings) -> tuple[Statement, ...]:
    """The statements that the rules make about a session, those that lead first."""
    judged = [(rule, judgement) for rule in rules for judgement in rule.judge(findings)]
    judged.sort(key=lambda pair: not pair[1].leads)
    return tuple(_statement(rule, judgement, findings.conditions) for rule, judgement in judged)


def _statement(
    rule: Rule, judgement: Judgement, conditions: Mapping[str, str | float]
) -> Statement:
    record, verdict = records()[rule.code], judgement.verdict
    unverified = rule.needs_alertness and not alerting_recorded(conditions)
    return Statement(
        code=rule.code,
        title=record.title,
        verdict=verdict,
        text=record.text[judgement.outcome].format(**judgement.words),
        strength=_strength(judgement, unverified=unverified),
        evidence=judgement.evidence,
        cautions=_cautions(record, judgement, conditions, unverified=unverified),
        does_not_show=record.does_not_show,
        shown=record.shown_as(judgement.outcome, verdict),
        finding=record.finding,
        urgent=judgement.leads,
        version=record.version,
        sources=record.all_sources,
    )


def _strength(judgement: Judgement, *, unverified: bool) -> str:
    """What cannot be told is weak; without a record of alertness at most moderate."""
    most = "weak" if judgement.verdict == "cannot_tell" else "moderate" if unverified else "firm"
    return weaker(judgement.strength, most)


def _cautions(
    record: Record,
    judgement: Judgement,
    conditions: Mapping[str, str | float],
    *,
    unverified: bool,
) -> tuple[str, ...]:
    """Those of the judgement, then what the conditions of the test do to such numbers."""
    named = (*judgement.cautions, *(("alerting_not_recorded",) if unverified else ()))
    own = [caution(name) for name in named]
    return tuple(dict.fromkeys([*own, *cautions_about(conditions, record.about)]))


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


def plain(measure: Measure | None, limits: Iterable[float] = ()) -> str:
    """A measure as it stands in a sentence: value, unit, interval; told from ``limits``."""
    if measure is None:
        return "–"
    ends = measure.low, measure.high
    return with_interval(measure.value, *ends, measure.unit, limits=limits)


def evidence(measure: Measure, limit: Limit | None = None) -> EvidenceItem:
    """A measure as evidence, with the limit it was held against."""
    if limit is None:
        return EvidenceItem(measure.id, plain(measure))
    shown = plain(measure, (limit.value,))
    return EvidenceItem(measure.id, shown, f"{limit.label}: {limit.text}", limit.source, limit.mark)
