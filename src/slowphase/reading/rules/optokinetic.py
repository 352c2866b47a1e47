"""Optokinetic gains and after-nystagmus by the way that the scene went."""

from collections.abc import Iterator

from slowphase.measures.measure import Measure
from slowphase.measures.result import GroupResult, TrialResult
from slowphase.reading.findings import Findings, named
from slowphase.reading.limits import limits
from slowphase.reading.pooling import Pooled, usable
from slowphase.reading.rule import Judgement, Rule, evidence, plain, strength_of, verdict_of
from slowphase.reading.rules.against import beyond, capped, known
from slowphase.reading.rules.ways import TOWARD, listed, of_ways
from slowphase.reading.words import chance, quantity, reason_clause, with_interval

OUTCOMES = {"holds": "unequal", "does_not_hold": "alike", "cannot_tell": "near"}
PAIR = ("rightward", "leftward")


def judge_sides(findings: Findings) -> Iterator[Judgement]:
    """One judgement for each plane in which scenes went both ways."""
    for group in findings.groups_of("optokinetic"):
        measure = named(group, "asymmetry")
        if measure is None or not known(measure):
            reason = reason_clause(measure.why if measure else ())
            yield Judgement("missing", "cannot_tell", {"reason": reason})
        else:
            yield _judge_sides(findings, group, measure)


def _judge_sides(findings: Findings, group: GroupResult, measure: Measure) -> Judgement:
    limit, gains = limits()["optokinetic_asymmetry"], _gains(findings, group)
    p = beyond(limit.value, measure)
    verdict = verdict_of(p)
    ahead, back = ("upward", "downward") if "upward" in gains else PAIR
    beside = any("nystagmus_in_gain" in m.why for m in (measure, *gains.values()))
    return Judgement(
        outcome=OUTCOMES[verdict],
        verdict=verdict,
        words={"gains": listed(gains), "asymmetry": plain(measure), "limit": limit.cited,
               "chance": chance(p), "ahead": ahead,
               "weaker": TOWARD[back if (measure.value or 0.0) > 0.0 else ahead]},
        strength=capped(strength_of(p, [measure], [limit]), [measure]),
        evidence=(evidence(measure, limit), *(evidence(gain) for gain in gains.values())),
        cautions=("nystagmus_in_scene",) if beside and verdict != "does_not_hold" else (),
    )  # fmt: skip


def _gains(findings: Findings, group: GroupResult) -> dict[str, Measure]:
    trials = [trial for trial in findings.trials if trial.id in group.trials]
    return {way: gain for trial in trials for way, gain in of_ways(trial, "gain").items()}


def judge_after(findings: Findings) -> Iterator[Judgement]:
    """Whether the after-nystagmus differs, where scenes went to both sides."""
    trials = {way: t for way in PAIR if (t := _first(findings, way)) is not None}
    if len(trials) < len(PAIR):
        return
    stored = {way: named(trial, "velocity", of="after") for way, trial in trials.items()}
    found = {way: m for way, m in stored.items() if m is not None and usable(m)}
    if len(found) < len(PAIR):
        codes = [code for m in stored.values() if m and not usable(m) for code in m.why]
        reason = reason_clause(tuple(dict.fromkeys(codes)))
        yield Judgement("missing", "cannot_tell", {"reason": reason})
    else:
        yield _judge_after(found)


def _first(findings: Findings, way: str) -> TrialResult | None:
    """The first trial whose scene went this way."""
    trials = findings.of_kind("optokinetic")
    return next((t for t in trials if named(t, "gain", of=way) is not None), None)


def _judge_after(found: dict[str, Measure]) -> Judgement:
    limit = limits()["after_nystagmus"]
    difference = _difference(*(found[way] for way in PAIR))
    within = max(-difference.low, difference.high) <= limit.value
    sure = difference.low * difference.high > 0.0
    outcome = "alike" if within else "differ" if sure else "unsure"
    words = {
        "values": listed(found),
        "difference": with_interval(difference.value, difference.low, difference.high, "deg/s"),
        "larger": TOWARD[PAIR[int(difference.value <= 0.0)]],
        "size": quantity(abs(difference.value), "deg/s"),
        "limit": limit.cited,
    }
    items = tuple(evidence(m, limit) for m in found.values())
    if within:
        return Judgement(outcome, "does_not_hold", words, "moderate", items)
    return Judgement(outcome, "cannot_tell", words, "weak", items)


def _difference(right: Measure, left: Measure) -> Pooled:
    """Stored speed after a scene to the right less that after one to the left.

    Each is taken along its scene: the left one is turned round.
    """
    value = (right.value or 0.0) + (left.value or 0.0)
    halves = [((m.high or 0.0) - (m.low or 0.0)) / 2.0 for m in (right, left)]
    half = (halves[0] ** 2 + halves[1] ** 2) ** 0.5
    return Pooled(value, value - half, value + half, (right, left))


OPTOKINETIC_SIDES = Rule("optokinetic_sides", judge_sides)
AFTER_NYSTAGMUS = Rule("after_nystagmus_sides", judge_after, needs_alertness=True)
