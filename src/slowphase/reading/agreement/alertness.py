"""Can low alertness be behind short time constants?

Low: the session's finding `low_alertness`, or quick phases of steps that are slow, or roving eyes.
Short time constants with it must not be read as a finding; without it alertness does not explain
them.
"""

from slowphase.measures.measure import Measure
from slowphase.measures.result import TrialResult
from slowphase.reading.agreement.battery import Battery
from slowphase.reading.agreement.chance import below, span, together
from slowphase.reading.agreement.comparison import Outcome, Panel, Row
from slowphase.reading.findings import step_measures
from slowphase.reading.limits import limits
from slowphase.reading.pooling import pool
from slowphase.reading.rule import evidence
from slowphase.reading.statement import EvidenceItem
from slowphase.reading.words import number, with_interval

LOW = ("low_alertness", "roving_eyes", "slow_quick_phases")
OUTCOMES = {
    ("low", "beyond"): "low_short",
    ("low", "within"): "low_usual",
    ("low", "unsure"): "low_near",
    ("alert", "beyond"): "alert_short",
    ("unknown", "beyond"): "unknown_short",
    ("unknown", "unsure"): "unknown_short",
}


def judge(battery: Battery) -> Outcome:
    """Alertness of the steps against their time constants."""
    sides = {
        side: pooled
        for side in ("right", "left")
        if (pooled := pool(time_constants(battery, side))) is not None
    }
    if not sides:
        return Outcome("not_tested")
    limit = limits()["time_constant"]
    short = together(below(span(p), limit.value, among=len(sides)) for p in sides.values())
    trials = steps(battery)
    words = {
        "values": ", ".join(
            f"{side} excited {with_interval(p.value, p.low, p.high, 's')}"
            for side, p in sides.items()
        ),
        "limit": limit.cited,
        "signs": signs(battery, trials),
    }
    members = [m for pooled in sides.values() for m in pooled.members]
    items = (*(evidence(m, limit) for m in members), *speeds(trials))
    name = OUTCOMES.get((alertness(battery, trials), short), "alert_usual")
    return Outcome(name, words, items, panels(members, trials), tuple(t.id for t in trials))


def time_constants(battery: Battery, side: str) -> tuple[Measure, ...]:
    """The time constants of one exciting direction."""
    found = step_measures(battery.findings, "time_constant", "one_over_e", None)
    return tuple(measure for measure in found if measure.exciting == side)


def steps(battery: Battery) -> list[TrialResult]:
    """The steps that were measured."""
    return [trial for trial in battery.findings.of_kind("step") if trial.measures]


def alertness(battery: Battery, trials: list[TrialResult]) -> str:
    """``low``, ``alert``, or ``unknown`` where no step tells how fast its quick phases are."""
    if low_codes(battery, trials):
        return "low"
    known = any(t.quality and t.quality.quick_phase_speed is not None for t in trials)
    return "alert" if known else "unknown"


def low_codes(battery: Battery, trials: list[TrialResult]) -> list[str]:
    """The signs of low alertness, each once."""
    session = [f.code for f in battery.findings.incoherences if f.code == "low_alertness"]
    of_quality = [code for t in trials if t.quality for code in t.quality.why]
    of_measures = [code for t in trials for m in t.measures for code in m.why]
    found = (code for code in (*session, *of_quality, *of_measures) if code in LOW)
    return list(dict.fromkeys(found))


def signs(battery: Battery, trials: list[TrialResult]) -> str:
    """The signs of low alertness in words."""
    return ", ".join(code.replace("_", " ") for code in low_codes(battery, trials)) or "none"


def speeds(trials: list[TrialResult]) -> list[EvidenceItem]:
    """How fast the quick phases of each step are."""
    return [
        EvidenceItem(t.id, f"quick phases at {number(speed, '1')} of an alert eye's speed")
        for t in trials
        if t.quality and (speed := t.quality.quick_phase_speed) is not None
    ]


def panels(members: list[Measure], trials: list[TrialResult]) -> tuple[Panel, ...]:
    """The time constants, and beside them the speed of quick phases."""
    constants = tuple(
        Row(f"{m.id.split('/')[0]}, {m.of}", m.value or 0.0, m.low, m.high) for m in members
    )
    known = [(t.id, t.quality) for t in trials if t.quality]
    fast = tuple(
        Row(id_, q.quick_phase_speed, *reach(q.quick_phase_speed, q.quick_phase_speed_error))
        for id_, q in known
        if q.quick_phase_speed is not None
    )
    panels = [Panel("time to 1/e", "s", constants)]
    if fast:
        panels.append(Panel("speed of quick phases (1: alert eye)", "1", fast))
    return tuple(panels)


def reach(value: float, error: float | None) -> tuple[float | None, float | None]:
    """A 95 % interval from a standard error."""
    return (None, None) if error is None else (value - 1.96 * error, value + 1.96 * error)
