"""Calibration, clocks, darkness and alertness over all trials, as `reading.coherence` found them.

Nothing is computed anew: a finding is a disagreement, and its absence an agreement where there was
enough to look at.
"""

from collections.abc import Callable

from slowphase.reading.agreement.battery import Battery
from slowphase.reading.agreement.comparison import AgreementRule, Outcome, Panel, Row
from slowphase.reading.coherence import looked_at
from slowphase.reading.signs.trust import drowsy
from slowphase.reading.statement import EvidenceItem
from slowphase.reading.words import quantity, reason_text, with_interval

CODES = ("calibration_implausible", "clock_lag", "light_leak", "low_alertness")


def speeds(battery: Battery) -> tuple[Panel, ...]:
    """How fast the quick phases of each trial are, where that is known."""
    known = [
        (trial.id, trial.quality.quick_phase_speed)
        for trial in battery.findings.trials
        if trial.quality is not None and trial.quality.quick_phase_speed is not None
    ]
    rows = tuple(Row(id_, speed) for id_, speed in known)
    return (Panel("speed of quick phases; 1: an alert eye", "1", rows),) if rows else ()


def judge_code(code: str) -> Callable[[Battery], Outcome]:
    """The judge of one finding of the session."""

    def judge(battery: Battery) -> Outcome:
        found = next((f for f in battery.findings.incoherences if f.code == code), None)
        if found is None and code == "low_alertness":
            tired = drowsy(battery.findings)
            if (tired.chance or 0.0) > 0.5:
                return Outcome("tired", {}, tired.evidence, speeds(battery))
        if found is None:
            seen = looked_at(battery.findings.trials, battery.settings)[code]
            words = {"seen": ", ".join(seen.trials) or "none", "least": str(seen.least)}
            name = "fine" if seen.enough else "few" if seen.trials else "not_tested"
            return Outcome(name, words, trials=seen.trials)
        value = with_interval(found.value, found.low, found.high, found.unit)
        limit = quantity(found.limit, found.unit)
        words = {
            "finding": reason_text(code),
            "value": value,
            "limit": limit,
            "trials": ", ".join(found.trials),
        }
        row = Row("found", found.value, found.low, found.high)
        held = Row("held against", found.limit)
        item = EvidenceItem(code, value, f"held against {limit}")
        panel = Panel(code.replace("_", " "), found.unit, (row, held))
        return Outcome("found", words, (item,), (panel,), found.trials)

    return judge


TRIALS = tuple(AgreementRule(code, judge_code(code)) for code in CODES)
