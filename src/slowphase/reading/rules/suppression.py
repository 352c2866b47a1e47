"""Suppression by a head-fixed target, and the red herring of a strong spontaneous nystagmus.

Judged on the part of the response that follows the chair, one judgement for each pair. The
whole-response version (peak speeds) contains the spontaneous nystagmus; where it alone looks
poor, that is said as a finding of its own. Low alertness can make good suppression look poor, but
not the reverse: a good one stands, a poor one does not.
"""

from collections.abc import Iterator

from slowphase.measures.measure import Measure
from slowphase.measures.result import PairResult
from slowphase.reading.findings import Findings, named
from slowphase.reading.limits import limits
from slowphase.reading.pooling import Pooled, pool
from slowphase.reading.rule import (
    SURE,
    Judgement,
    Rule,
    evidence,
    plain,
    strength_of,
    verdict_of,
)
from slowphase.reading.statement import EvidenceItem
from slowphase.reading.words import chance, quantity, reason_clause
from slowphase.reference.normal import probability_below

_OUTCOMES = {"holds": "poor", "does_not_hold": "good", "cannot_tell": "near"}


def judge(findings: Findings) -> Iterator[Judgement]:
    """One judgement for each suppression pair."""
    for pair in findings.pairs_of("suppression"):
        yield _judge_pair(findings, pair)


def _judge_pair(findings: Findings, pair: PairResult) -> Judgement:
    modulated = named(pair, "suppression")
    pooled = pool([modulated]) if modulated else None
    hindrance = _hindrance(findings, pair, pooled)
    words = _words(findings, pair, modulated)
    items = _evidence(findings, pair)
    if hindrance or pooled is None:
        return Judgement(hindrance or "missing", "cannot_tell", words, "weak", items)
    poor = _chance_poor(pooled)
    verdict = verdict_of(poor)
    drowsy = ("low_alertness",) if _drowsy(findings, pair) else ()
    if drowsy and verdict != "does_not_hold":
        return Judgement("drowsy", "cannot_tell", words, "weak", items, drowsy)
    doubts = () if verdict == "does_not_hold" else ("confounders",)
    strength = strength_of(poor, pooled.members, [limits()["suppression"]])
    return Judgement(_OUTCOMES[verdict], verdict, words, strength, items, (*drowsy, *doubts))


def _hindrance(findings: Findings, pair: PairResult, pooled: Pooled | None) -> str | None:
    """Why suppression cannot be judged, as the outcome's name."""
    gain = named(findings.trial(pair.dark), "gain")
    if gain is not None and gain.value is not None and gain.value < limits()["dark_gain"].value:
        return "weak_dark"
    if pooled is None:
        return "missing"
    frequency = _stimulus(findings, pair).get("frequency_hz")
    fast = frequency is not None and frequency > limits()["suppression_frequency"].value
    return "fast" if fast else None


def _drowsy(findings: Findings, pair: PairResult) -> bool:
    gains = [named(findings.trial(id_), "gain") for id_ in (pair.dark, pair.fixation)]
    measures = [named(pair, "suppression"), *gains]
    return any("low_alertness" in measure.why for measure in measures if measure)


def _stimulus(findings: Findings, pair: PairResult) -> dict[str, float]:
    trial = findings.trial(pair.dark)
    keys = trial.stimulus if trial else {}
    numbers = {key: float(v) for key, v in keys.items() if isinstance(v, int | float)}
    return {**numbers, **pair.conditions}


def _stimulus_text(findings: Findings, pair: PairResult) -> str:
    stimulus = _stimulus(findings, pair)
    parts = [
        f"{stimulus[key]:g} {unit}"
        for key, unit in (("frequency_hz", "Hz"), ("peak_velocity_deg_s", "deg/s"))
        if key in stimulus
    ]
    return ", ".join(parts) or f"{pair.dark} against {pair.fixation}"


def _chance_poor(pooled: Pooled) -> float:
    limit = limits()["suppression"].value
    return probability_below(limit, pooled.value, pooled.low, pooled.high)


def _words(findings: Findings, pair: PairResult, modulated: Measure | None) -> dict[str, str]:
    pooled = pool([modulated]) if modulated else None
    return {
        "stimulus": _stimulus_text(findings, pair),
        "suppression": plain(modulated),
        "limit": limits()["suppression"].text,
        "known": limits()["suppression"].known,
        "chance": chance(_chance_poor(pooled)) if pooled else "–",
        "dark_gain": plain(named(findings.trial(pair.dark), "gain")),
        "dark_limit": limits()["dark_gain"].cited,
        "reason": reason_clause(modulated.why if modulated else ()),
    }


def _evidence(findings: Findings, pair: PairResult) -> tuple[EvidenceItem, ...]:
    modulated = named(pair, "suppression")
    dark = named(findings.trial(pair.dark), "gain")
    lit = named(findings.trial(pair.fixation), "gain")
    items = [
        evidence(modulated, limits()["suppression"]) if modulated else None,
        evidence(dark, limits()["dark_gain"]) if dark else None,
        evidence(lit) if lit else None,
    ]
    return tuple(item for item in items if item)


def judge_whole(findings: Findings) -> Iterator[Judgement]:
    """A judgement only where the whole response misleads and the modulated part is fine."""
    for pair in findings.pairs_of("suppression"):
        modulated, whole = named(pair, "suppression"), named(pair, "suppression_whole")
        if modulated is None or whole is None or whole.value is None:
            continue
        pooled = pool([modulated])
        if pooled is None or _hindrance(findings, pair, pooled):
            continue
        if whole.value < limits()["suppression"].value and _chance_poor(pooled) <= 1 - SURE:
            yield _misleads(findings, pair, modulated, whole)


def _misleads(
    findings: Findings, pair: PairResult, modulated: Measure, whole: Measure
) -> Judgement:
    bias = _bias(findings, pair)
    steady = f" ({quantity(abs(bias.value), 'deg/s')})" if bias and bias.value else ""
    words = {**_words(findings, pair, modulated), "whole": plain(whole), "bias": steady}
    limit = limits()["suppression"]
    items = [evidence(modulated, limit), evidence(whole, limit)]
    if bias is not None:
        items.append(evidence(bias))
    strength = strength_of(1 - _chance_poor_of(modulated), (modulated,), [limit])
    return Judgement("misleads", "holds", words, strength, tuple(items))


def _chance_poor_of(measure: Measure) -> float:
    pooled = pool([measure])
    return 1.0 if pooled is None else _chance_poor(pooled)


def _bias(findings: Findings, pair: PairResult) -> Measure | None:
    """The bias with the target, which is what spoils the whole-response version."""
    return named(findings.trial(pair.fixation), "bias") or named(findings.trial(pair.dark), "bias")


SUPPRESSION = Rule("suppression", judge)
SUPPRESSION_WHOLE = Rule("suppression_whole_misleads", judge_whole)
