"""Smooth pursuit: a low gain at slow speeds, and gains that differ by direction.

All trials of a session are judged together, each at its frequency.
"""

from collections.abc import Iterator

from slowphase.measures.measure import Measure
from slowphase.measures.result import TrialResult
from slowphase.reading.findings import Findings, frequency_hz, named
from slowphase.reading.limits import limits
from slowphase.reading.rule import Judgement, Rule, evidence, plain, strength_of
from slowphase.reading.rules.against import below, beyond, capped, known
from slowphase.reading.rules.ways import chances, deciding, listed, of_ways, together, why_missing

GAIN = {"holds": "low", "does_not_hold": "usual", "cannot_tell": "near"}
SIDES = {"holds": "unequal", "does_not_hold": "alike", "cannot_tell": "near"}
Tested = list[tuple[TrialResult, Measure]]


def judge_gain(findings: Findings) -> Iterator[Judgement]:
    """One judgement for all trials of pursuit."""
    tested = _tested(findings, "gain")
    slow = [(trial, gain) for trial, gain in tested if _is_slow(trial)]
    if slow:
        yield _judge_gain(slow)
    elif tested:
        yield Judgement(
            outcome="fast",
            verdict="cannot_tell",
            words={"gains": _values(tested), "fastest": _fastest()},
            evidence=tuple(evidence(gain) for _, gain in tested),
        )
    else:
        yield from _missing(findings, "gain")


def _judge_gain(tested: Tested) -> Judgement:
    limit, gains = limits()["pursuit_gain"], [gain for _, gain in tested]
    low = {_name(trial): below(limit.value, gain) for trial, gain in tested}
    verdict = together(low)
    return Judgement(
        outcome=GAIN[verdict],
        verdict=verdict,
        words={"gains": _values(tested), "limit": limit.cited, "chance": chances(low)},
        strength=capped(strength_of(deciding(low, verdict), gains, [limit]), gains),
        evidence=tuple(evidence(gain, limit) for gain in gains),
        cautions=() if verdict == "does_not_hold" else ("confounders",),
    )


def judge_sides(findings: Findings) -> Iterator[Judgement]:
    """Whether pursuit differs by direction, over all trials of pursuit."""
    tested = _tested(findings, "asymmetry")
    if tested:
        yield _judge_sides(tested)
    else:
        yield from _missing(findings, "asymmetry", "gain")


def _judge_sides(tested: Tested) -> Judgement:
    limit, found = limits()["pursuit_asymmetry"], [measure for _, measure in tested]
    uneven = {_name(trial): beyond(limit.value, measure) for trial, measure in tested}
    verdict = together(uneven)
    gains = [gain for trial, _ in tested for gain in of_ways(trial, "gain").values()]
    return Judgement(
        outcome=SIDES[verdict],
        verdict=verdict,
        words={
            "gains": "; ".join(f"{_name(t)} {listed(of_ways(t, 'gain'))}" for t, _ in tested),
            "asymmetry": _values(tested),
            "limit": limit.cited,
            "chance": chances(uneven),
        },
        strength=capped(strength_of(deciding(uneven, verdict), found, [limit]), found),
        evidence=(*(evidence(m, limit) for m in found), *(evidence(gain) for gain in gains)),
        cautions=() if verdict == "does_not_hold" else ("confounders",),
    )


def _tested(findings: Findings, name: str) -> Tested:
    """The trials with a usable measure of this name, slowest first."""
    trials = sorted(findings.of_kind("pursuit"), key=frequency_hz)
    return [(t, m) for t in trials if (m := named(t, name)) is not None and known(m)]


def slow_gains(findings: Findings) -> list[Measure]:
    """The gains of pursuit of slow targets, on which pursuit is judged everywhere."""
    return [gain for trial, gain in _tested(findings, "gain") if _is_slow(trial)]


def _missing(findings: Findings, *names: str) -> Iterator[Judgement]:
    trials = findings.of_kind("pursuit")
    if trials:
        yield Judgement("missing", "cannot_tell", {"reason": why_missing(trials[0], *names)})


def _is_slow(trial: TrialResult) -> bool:
    return 0.0 < frequency_hz(trial) <= limits()["pursuit_frequency"].value


def _fastest() -> str:
    return f"{limits()['pursuit_frequency'].value:g} Hz"


def _values(tested: Tested) -> str:
    return ", ".join(f"{_name(trial)} {plain(measure)}" for trial, measure in tested)


def _name(trial: TrialResult) -> str:
    """The frequency, with the plane where that is the vertical one; else the trial's id."""
    frequency = frequency_hz(trial)
    vertical = " vertical" if "upward" in of_ways(trial, "gain") else ""
    return f"{frequency:g} Hz{vertical}" if frequency else trial.id


PURSUIT_GAIN = Rule("pursuit_gain", judge_gain, needs_alertness=True)
PURSUIT_SIDES = Rule("pursuit_sides", judge_sides)
