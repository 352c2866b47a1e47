"""Smooth pursuit: a low gain at slow speeds, and gains that differ by direction."""

from collections.abc import Iterator

from slowphase.measures.measure import Measure
from slowphase.measures.result import TrialResult
from slowphase.reading.findings import Findings, frequency_hz, named
from slowphase.reading.limits import limits
from slowphase.reading.rule import Judgement, Rule, evidence, plain, strength_of, verdict_of
from slowphase.reading.rules.against import below, beyond, capped, known
from slowphase.reading.rules.ways import TOWARD, listed, of_ways, why_missing
from slowphase.reading.words import chance

OUTCOMES = {"holds": "low", "does_not_hold": "usual", "cannot_tell": "near"}
SIDES = {"holds": "unequal", "does_not_hold": "alike", "cannot_tell": "near"}


def judge_gain(findings: Findings) -> Iterator[Judgement]:
    """One judgement for each trial of pursuit."""
    for trial in findings.of_kind("pursuit"):
        measure = named(trial, "gain")
        if measure is None or not known(measure):
            words = {"stimulus": _stimulus(trial), "reason": why_missing(trial, "gain")}
            yield Judgement("missing", "cannot_tell", words)
        else:
            yield _judge_gain(trial, measure)


def _judge_gain(trial: TrialResult, measure: Measure) -> Judgement:
    limit = limits()["pursuit_gain"]
    low = below(limit.value, measure)
    slow = 0.0 < frequency_hz(trial) <= limits()["pursuit_frequency"].value
    verdict = verdict_of(low) if slow else "cannot_tell"
    return Judgement(
        outcome=OUTCOMES[verdict] if slow else "fast",
        verdict=verdict,
        words={"stimulus": _stimulus(trial), "gain": plain(measure), "limit": limit.cited,
               "fastest": limits()["pursuit_frequency"].text, "chance": chance(low)},
        strength=capped(strength_of(low, [measure], [limit]), [measure]) if slow else "weak",
        evidence=(evidence(measure, limit),),
        cautions=() if verdict == "does_not_hold" else ("confounders",),
    )  # fmt: skip


def judge_sides(findings: Findings) -> Iterator[Judgement]:
    """Whether pursuit differs by direction, for each trial."""
    for trial in findings.of_kind("pursuit"):
        measure = named(trial, "asymmetry")
        if measure is None or not known(measure):
            words = {
                "stimulus": _stimulus(trial),
                "reason": why_missing(trial, "asymmetry", "gain"),
            }
            yield Judgement("missing", "cannot_tell", words)
        else:
            yield _judge_sides(trial, measure)


def _judge_sides(trial: TrialResult, measure: Measure) -> Judgement:
    limit, gains = limits()["pursuit_asymmetry"], of_ways(trial, "gain")
    p = beyond(limit.value, measure)
    verdict = verdict_of(p)
    ahead, back = ("upward", "downward") if "upward" in gains else ("rightward", "leftward")
    return Judgement(
        outcome=SIDES[verdict],
        verdict=verdict,
        words={"stimulus": _stimulus(trial), "gains": listed(gains), "limit": limit.cited,
               "asymmetry": plain(measure), "ahead": ahead, "chance": chance(p),
               "weaker": TOWARD[back if (measure.value or 0.0) > 0.0 else ahead]},
        strength=capped(strength_of(p, [measure], [limit]), [measure]),
        evidence=(evidence(measure, limit), *(evidence(gain) for gain in gains.values())),
        cautions=() if verdict == "does_not_hold" else ("confounders",),
    )  # fmt: skip


def _stimulus(trial: TrialResult) -> str:
    frequency = frequency_hz(trial)
    return f"{frequency:g} Hz ({trial.id})" if frequency else trial.id


PURSUIT_GAIN = Rule("pursuit_gain", judge_gain, needs_alertness=True)
PURSUIT_SIDES = Rule("pursuit_sides", judge_sides)
