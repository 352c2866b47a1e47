"""Measures of tests with targets by the way that the eye goes, held against one limit."""

from collections.abc import Iterator, Mapping

from slowphase.measures.measure import Measure
from slowphase.measures.result import TrialResult
from slowphase.reading.findings import named
from slowphase.reading.rule import plain, verdict_of
from slowphase.reading.rules.against import known
from slowphase.reading.statement import Verdict
from slowphase.reading.words import chance, reason_clause

WAYS = ("rightward", "leftward", "upward", "downward")
TOWARD = {"rightward": "to the right", "leftward": "to the left", "upward": "upward",
          "downward": "downward"}  # fmt: skip
Found = Mapping[str, Measure]


def of_ways(trial: TrialResult, name: str) -> dict[str, Measure]:
    """The usable measures of each way."""
    found = ((way, named(trial, name, of=way)) for way in WAYS)
    return {way: m for way, m in found if m is not None and known(m)}


def listed(found: Found) -> str:
    """``rightward 210 ms (200–220), leftward …``."""
    return ", ".join(f"{way} {plain(measure)}" for way, measure in found.items())


def chances(beyond: Mapping[str, float]) -> str:
    """The chance of each way in words."""
    return ", ".join(f"{way} {chance(p)}" for way, p in beyond.items())


def together(beyond: Mapping[str, float]) -> Verdict:
    """Holds where any way surely is beyond; does not hold where all surely are not."""
    verdicts = {verdict_of(p) for p in beyond.values()}
    if "holds" in verdicts:
        return "holds"
    return "cannot_tell" if "cannot_tell" in verdicts else "does_not_hold"


def deciding(beyond: Mapping[str, float], verdict: Verdict) -> float:
    """The chance that the verdict rests on."""
    if verdict == "holds":
        return max(beyond.values())
    return max(beyond.values(), key=lambda p: min(p, 1.0 - p))


def why_missing(trial: TrialResult, *names: str) -> str:
    """Why a trial has none of these measures, as the tail of a sentence."""
    if trial.outcome == "not done":
        return f"the trial was not done ({trial.reason or 'no reason given'})"
    return reason_clause(tuple(dict.fromkeys(_codes(trial, names))))


def _codes(trial: TrialResult, names: tuple[str, ...]) -> Iterator[str]:
    for measure in trial.measures:
        if measure.name in names and not known(measure):
            yield from measure.why
