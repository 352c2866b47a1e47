"""The chair criterion of bilateral vestibulopathy, which holds at 0.1 Hz and nowhere else.

Gain and phase lead are judged apart: at 0.1 Hz a lead of 68 deg needs a time constant of 0.6 s, so
that neither follows from the other (computed). Other frequencies are not interpolated.
"""

from slowphase.measures.measure import Measure
from slowphase.measures.result import TrialResult
from slowphase.reading.findings import Findings, dark_sinusoids, frequency_hz, named
from slowphase.reading.limits import Limit, limits
from slowphase.reading.pooling import pool
from slowphase.reading.rule import evidence, plain
from slowphase.reading.rules.against import above
from slowphase.reading.statement import EvidenceItem
from slowphase.reading.words import chance
from slowphase.reference.normal import probability_below

FREQUENCY_HZ, TOLERANCE, PEAK_DEG_S, PEAK_TOLERANCE = 0.1, 0.05, 50.0, 0.1
NAME = "Chair criterion of bilateral vestibulopathy (Bárány Society 2017: {limits})"


def criterion(findings: Findings) -> tuple[str, tuple[EvidenceItem, ...]]:
    """The criterion's sentence, and the measures that it rests on."""
    gain_limit, lead_limit = limits()["bilateral_gain"], limits()["bilateral_lead"]
    trials = chair_trials(findings)
    gain, lead = (named(trials[0], name) if trials else None for name in ("gain", "phase"))
    if gain is None:
        name = NAME.format(limits="gain < 0.1 at 0.1 Hz, 50 deg/s")
        return f"{name}: not tested.", ()
    name = NAME.format(limits="gain < 0.1, lead > 68 deg, at 0.1 Hz, 50 deg/s; judged apart")
    parts = [_gain_text(gain, gain_limit), _lead_text(lead, lead_limit)]
    items = [evidence(gain, gain_limit), *([evidence(lead, lead_limit)] if lead else [])]
    return f"{name}: {'; '.join(parts)}{_peak_text(trials[0])}.", tuple(items)


def chair_trials(findings: Findings) -> list[TrialResult]:
    """The sinusoids in the dark at the criterion's frequency."""
    return [
        t
        for t in dark_sinusoids(findings)
        if abs(frequency_hz(t) / FREQUENCY_HZ - 1.0) <= TOLERANCE
    ]


def other_peak(trial: TrialResult) -> float | None:
    """The peak velocity of a trial where it is not the criterion's."""
    peak = trial.stimulus.get("peak_velocity_deg_s")
    if isinstance(peak, int | float) and abs(peak / PEAK_DEG_S - 1.0) > PEAK_TOLERANCE:
        return float(peak)
    return None


def _gain_text(gain: Measure, limit: Limit) -> str:
    found = pool([gain])
    if found is None:
        return "gain cannot be told"
    below = probability_below(limit.value, found.value, found.low, found.high)
    return f"gain {plain(gain)}, chance of being below {limit.text} {chance(below)}"


def _lead_text(lead: Measure | None, limit: Limit) -> str:
    found = pool([lead]) if lead else None
    if found is None or lead is None:
        return "no phase to judge"
    return (
        f"lead {plain(lead)}, chance of being above {limit.text} {chance(above(limit.value, lead))}"
    )


def _peak_text(trial: TrialResult) -> str:
    peak = other_peak(trial)
    return "" if peak is None else f" (tested at {peak:g} deg/s)"
