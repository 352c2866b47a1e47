"""Spontaneous nystagmus in the dark: there or not, which way it beats, how fast, and fixation.

It is there when the slow phase surely exceeds the slowest drift called a nystagmus and quick
phases beat against it; what cannot be told from such a drift, but surely stays under the clinic's
limit, is no clear nystagmus. The chance that its speed exceeds the clinic's limit comes from the
interval of the velocity.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from slowphase.measures.measure import Measure
from slowphase.measures.result import TrialResult
from slowphase.reading.findings import Findings, named
from slowphase.reading.limits import Limit, limits
from slowphase.reading.pooling import Pooled, pool, usable
from slowphase.reading.rule import (
    SURE,
    Judgement,
    Rule,
    evidence,
    plain,
    strength_of,
    verdict_of,
)
from slowphase.reading.statement import EvidenceItem, Verdict
from slowphase.reading.words import chance, number, reason_clause, with_interval
from slowphase.reference.normal import probability_below, probability_outside


@dataclass(frozen=True, slots=True)
class _Dark:
    """What the trials in the dark say together."""

    velocity: Pooled
    beats: Measure | None
    present: float
    above: float
    limit: Limit

    @property
    def beating(self) -> bool | None:
        """Whether quick phases beat; None when they were not counted."""
        if self.beats is None or self.beats.value is None:
            return None
        return self.beats.value >= limits()["spontaneous_beats"].value


def judge(findings: Findings) -> Iterator[Judgement]:
    """One judgement for the session, always: without a trial it cannot tell, and says so."""
    trials = [t for t in findings.of_kind("spontaneous") if t.vision in (None, "dark")]
    velocity = pool([m for t in trials if (m := named(t, "velocity", of="horizontal"))])
    if velocity is None:
        yield _missing(findings, trials)
        return
    dark = _dark(findings, trials, velocity)
    outcome = _outcome(dark)
    fixation = _fixation(findings)
    yield Judgement(
        outcome=outcome,
        verdict=_VERDICTS[outcome],
        words=_words(dark, fixation),
        strength=strength_of(_deciding(dark, outcome), velocity.members),
        evidence=_evidence(dark, fixation, trials),
        cautions=tuple(_cautions(dark, fixation, trials, outcome)),
    )


_VERDICTS: dict[str, Verdict] = {
    "above": "holds",
    "below": "holds",
    "near": "holds",
    "absent": "does_not_hold",
    "slight": "does_not_hold",
    "drift": "does_not_hold",
    "unsure": "cannot_tell",
}


def _dark(findings: Findings, trials: list[TrialResult], velocity: Pooled) -> _Dark:
    limit = limits()[_limit_code(findings)]
    counts = [m for t in trials if (m := named(t, "beats_per_min")) and m.value is not None]
    return _Dark(
        velocity=velocity,
        beats=max(counts, key=lambda m: m.value or 0.0, default=None),
        present=_chance_faster(velocity, limits()["spontaneous_present"].value),
        above=_chance_faster(velocity, limit.value),
        limit=limit,
    )


def _limit_code(findings: Findings) -> str:
    told = " ".join(str(value).lower() for value in findings.conditions.values())
    electrodes = any(word in told for word in ("electrode", "electro-oculo", "electrooculo"))
    return "spontaneous_velocity_electrodes" if electrodes else "spontaneous_velocity"


def _chance_faster(velocity: Pooled, limit: float) -> float:
    return probability_outside(velocity.value, velocity.low, velocity.high, -limit, limit)


def _outcome(dark: _Dark) -> str:
    if dark.present <= 1 - SURE:
        return "absent"
    if dark.present < SURE:
        return "slight" if dark.above <= 1 - SURE else "unsure"
    if dark.beating is False:
        return "drift"
    return {"holds": "above", "does_not_hold": "below", "cannot_tell": "near"}[
        verdict_of(dark.above)
    ]


def _deciding(dark: _Dark, outcome: str) -> float:
    return dark.above if outcome in ("above", "below") else dark.present


def _words(dark: _Dark, fixation: Measure | None) -> dict[str, str]:
    return {
        "direction": "right" if dark.velocity.value < 0 else "left",
        "speed": _speed(dark.velocity),
        "beats": _beats(dark.beats),
        "limit": dark.limit.text,
        "present": limits()["spontaneous_present"].text,
        "chance": chance(dark.above),
        "fixation": _fixation_text(fixation, dark),
    }


def _speed(velocity: Pooled) -> str:
    value, low, high = velocity.value, velocity.low, velocity.high
    if value < 0:
        value, low, high = -value, -high, -low
    side = "left" if velocity.value < 0 else "right"
    return f"{with_interval(value, low, high, 'deg/s')} to the {side}"


def _beats(beats: Measure | None) -> str:
    return "" if beats is None else f", {number(beats.value, '/min')} beats a minute"


def _fixation(findings: Findings) -> Measure | None:
    effects = [m for pair in findings.pairs_of("fixation") if (m := named(pair, "fixation_effect"))]
    return next((m for m in effects if usable(m)), None)


def _fixation_text(fixation: Measure | None, dark: _Dark) -> str:
    if dark.present < SURE:
        return ""
    if fixation is None or fixation.value is None:
        return " What fixation does to it was not measured."
    if fixation.value <= 0:
        return f" Fixation does not reduce it (change {plain(fixation)})."
    return f" Fixation reduces it by {plain(fixation)}."


def _evidence(
    dark: _Dark, fixation: Measure | None, trials: list[TrialResult]
) -> tuple[EvidenceItem, ...]:
    items = [evidence(m, dark.limit) for m in dark.velocity.members]
    if dark.beats is not None:
        items.append(evidence(dark.beats, limits()["spontaneous_beats"]))
    if fixation is not None:
        items.append(evidence(fixation, limits()["fixation_effect"]))
    vertical = limits()["spontaneous_vertical"]
    items += [evidence(m, vertical) for m in _vertical(trials)]
    return tuple(items)


def _vertical(trials: list[TrialResult]) -> list[Measure]:
    found = [m for t in trials if (m := named(t, "velocity", of="vertical"))]
    return [m for m in found if usable(m)]


def _cautions(
    dark: _Dark, fixation: Measure | None, trials: list[TrialResult], outcome: str
) -> Iterator[str]:
    if outcome in ("above", "below", "near"):
        yield "healthy_nystagmus"
        yield "local_limit"
    if any(_beyond_vertical(m) for m in _vertical(trials)):
        yield "vertical"
    if _VERDICTS[outcome] == "holds" and fixation is not None and _poor_fixation(fixation):
        yield "poor_fixation"
    if dark.velocity.disagree:
        yield "disagree"
    if any("low_alertness" in m.why for m in dark.velocity.members):
        yield "low_alertness"


def _beyond_vertical(measure: Measure) -> bool:
    pooled, limit = pool([measure]), limits()["spontaneous_vertical"].value
    return pooled is not None and _chance_faster(pooled, limit) >= 0.5


def _poor_fixation(fixation: Measure) -> bool:
    pooled, limit = pool([fixation]), limits()["fixation_effect"].value
    if pooled is None:
        return False
    return probability_below(limit, pooled.value, pooled.low, pooled.high) >= SURE


def _missing(findings: Findings, trials: list[TrialResult]) -> Judgement:
    lit = [t for t in findings.of_kind("spontaneous") if t not in trials]
    return Judgement(
        outcome="missing",
        verdict="cannot_tell",
        words={"reason": _why_missing(trials, bool(lit))},
        cautions=("one_light",) if lit and not trials else (),
    )


def _why_missing(trials: list[TrialResult], lit: bool) -> str:
    if not trials:
        return "it was recorded only with vision" if lit else "no trial of it was recorded"
    if all(t.outcome == "not done" for t in trials):
        return f"the trial was not done ({trials[0].reason or 'no reason given'})"
    measures = [m for t in trials for m in t.measures if m.name == "velocity"]
    return reason_clause(tuple(dict.fromkeys(code for m in measures for code in m.why)))


SPONTANEOUS = Rule("spontaneous_nystagmus", judge)
