"""Whether the responses are larger when one side is excited; no reference says from when it counts.

The step gains are compared as the pair of steps measured them, the half gains of sinusoids are
shown beside them. A sure difference is stated as sure and its meaning left open.
"""

from collections.abc import Iterator

from slowphase.measures.measure import Measure
from slowphase.measures.result import TrialResult
from slowphase.reading.findings import Findings, dark_sinusoids, frequency_hz, named
from slowphase.reading.limits import limits
from slowphase.reading.pooling import usable
from slowphase.reading.rule import Judgement, Rule, evidence
from slowphase.reading.statement import Verdict
from slowphase.reading.words import number, with_interval

Halves = tuple[TrialResult, Measure, Measure]


def judge(findings: Findings) -> Iterator[Judgement]:
    """One judgement where steps or half gains of both directions were measured."""
    step = _step_asymmetry(findings)
    halves = list(_halves(findings))
    if step is None and not halves:
        return
    outcome, larger, verdict = _came_out(step, halves)
    limit = limits()["negligible_asymmetry"]
    words = {
        "larger": larger,
        "asymmetry": _asymmetry_text(step),
        "halves": _halves_text(halves),
        "limit": limit.cited,
    }
    items = [evidence(m) for _, right, left in halves for m in (right, left)]
    first = [evidence(step, limit)] if step else []
    strength = "moderate" if verdict == "does_not_hold" else "weak"
    yield Judgement(outcome, verdict, words, strength, (*first, *items))


def _step_asymmetry(findings: Findings) -> Measure | None:
    found = [m for pair in findings.pairs_of("step_sides") if (m := named(pair, "asymmetry"))]
    return next((m for m in found if usable(m)), None)


def _halves(findings: Findings) -> Iterator[Halves]:
    for trial in dark_sinusoids(findings):
        right, left = named(trial, "gain_right"), named(trial, "gain_left")
        gain = named(trial, "gain")
        answers = gain is not None and "no_response" not in gain.why
        if answers and right and left and usable(right) and usable(left):
            yield trial, right, left


def _came_out(step: Measure | None, halves: list[Halves]) -> tuple[str, str, Verdict]:
    """Outcome, larger side and verdict; steps decide, half gains where there are none."""
    if step is not None and step.value is not None:
        low, high = step.low or 0.0, step.high or 0.0
        if max(-low, high) <= limits()["negligible_asymmetry"].value:
            return "alike", "", "does_not_hold"
        larger = "right" if step.value > 0 else "left"
        return ("differ" if low * high > 0 else "unsure"), larger, "cannot_tell"
    return "halves", "", "cannot_tell"


def _asymmetry_text(step: Measure | None) -> str:
    if step is None or step.value is None or step.low is None or step.high is None:
        return ""
    if step.value < 0 and step.high < 0:
        return with_interval(-step.value, -step.high, -step.low, "%")
    return with_interval(step.value, step.low, step.high, "%")


def _halves_text(halves: list[Halves]) -> str:
    if not halves:
        return ""
    shown = [f"{frequency_hz(trial):g} Hz {_both(right, left)}" for trial, right, left in halves]
    return f" Half gains of sinusoids (* beyond both intervals): {'; '.join(shown)}."


def _both(right: Measure, left: Measure) -> str:
    return f"R {number(right.value, '1')} L {number(left.value, '1')}{_sure(right, left)}"


def _sure(right: Measure, left: Measure) -> str:
    """A star where the two intervals do not meet."""
    bounds = (right.low, right.high, left.low, left.high)
    if any(bound is None for bound in bounds):
        return ""
    r_low, r_high, l_low, l_high = (float(bound or 0.0) for bound in bounds)
    return "*" if r_low > l_high or l_low > r_high else ""


SIDES = Rule("response_sides", judge, needs_alertness=True)
