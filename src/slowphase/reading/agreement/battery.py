"""What the rules of agreement look at: the results of one session and what was found in them."""

from dataclasses import dataclass, field

from slowphase.fit.settings import FitSettings
from slowphase.measures.measure import Measure, Side
from slowphase.measures.settings import MeasureSettings
from slowphase.reading.findings import Findings, dark_sinusoids, named
from slowphase.reading.function import FunctionPoint
from slowphase.reading.half_gains import asymmetry
from slowphase.reading.pooling import Pooled, pool, usable


@dataclass(frozen=True, slots=True)
class Battery:
    """The results of one session, its points of function, and the settings."""

    findings: Findings
    function: tuple[FunctionPoint, ...] = ()
    settings: MeasureSettings = field(default_factory=MeasureSettings)
    fit: FitSettings = field(default_factory=FitSettings)


def answering(battery: Battery, name: str) -> list[Measure]:
    """The usable measures of this name of the sinusoids in the dark, slowest first."""
    found = (named(trial, name) for trial in dark_sinusoids(battery.findings))
    return [measure for measure in found if measure is not None and usable(measure)]


def of_trials(battery: Battery, kind: str, name: str) -> list[Measure]:
    """The usable measures of this name of all trials of a kind, whatever part they are of."""
    trials = battery.findings.of_kind(kind)
    return [m for trial in trials for m in trial.measures if m.name == name and usable(m)]


def of_group(battery: Battery, kind: str, name: str) -> Measure | None:
    """The first usable measure of this name of a group."""
    found = (named(group, name) for group in battery.findings.groups_of(kind))
    return next((m for m in found if m is not None and usable(m)), None)


def step_asymmetry(battery: Battery) -> Pooled | None:
    """Asymmetry of step gains (%, right positive) over both spins, or within single ones."""
    pairs = (named(pair, "asymmetry") for pair in battery.findings.pairs_of("step_sides"))
    of_pairs = [m for m in pairs if m is not None and usable(m)]
    return pool(of_pairs or of_trials(battery, "step", "asymmetry"))


def half_asymmetries(battery: Battery) -> list[Pooled]:
    """100·(R − L)/(R + L) (%) of the half gains of every sinusoid in the dark, with interval."""
    both = (
        [named(trial, name) for name in ("gain_right", "gain_left")]
        for trial in dark_sinusoids(battery.findings)
        if (gain := named(trial, "gain")) is not None and "no_response" not in gain.why
    )
    return [
        asymmetry(r, le)
        for r, le in both
        if r is not None and le is not None and usable(r) and usable(le) and total(r, le) > 0.0
    ]


def total(right: Measure, left: Measure) -> float:
    """Both values together."""
    return (right.value or 0.0) + (left.value or 0.0)


def other(side: Side) -> Side:
    """The other side."""
    return "left" if side == "right" else "right"
