"""Do the phases of the sinusoids call for the time constant that the steps show?

One model for both: lead(f) = arg H(j2πf) − 360·f·latency with

    H(s) = Σ over both directions of gain · s²·T·Ta / ((1 + sT)(1 + sTa))

T of each direction is the one whose step response falls to 1/e in λ times the measured time
constant; adaptation Ta is free under its prior (`fit.settings`). The factor λ that the phases call
for, with all Ta that are likely, is held against 1: no joint fit is needed for that.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slowphase.foundation.arrays import FloatArray
from slowphase.measures.measure import Measure
from slowphase.measures.repeats import firsts
from slowphase.reading.agreement.battery import Battery
from slowphase.reading.agreement.chance import beyond, log_error
from slowphase.reading.agreement.comparison import Outcome, Panel, Row
from slowphase.reading.coherence import Point, dark_points
from slowphase.reading.findings import named, step_measures
from slowphase.reading.function import SIDES
from slowphase.reading.limits import limits
from slowphase.reading.pooling import Pooled, pool
from slowphase.reading.rule import evidence
from slowphase.reading.words import quantity, with_interval
from slowphase.reference.normal import Z95

LOG_FACTORS = np.linspace(-1.6, 1.6, 81)  # λ from a fifth to five times
LIKELY = np.linspace(-2.5, 2.5, 11)  # standard deviations of the prior on adaptation
LONGEST_S = 400.0
HALVINGS = 20  # of nine units of natural logarithm
LEAST_FREQUENCIES = 2
NUDGE = 1e-6  # relative distance kept between both rates, so that their difference divides


@dataclass(frozen=True, slots=True)
class Called:
    """What the phases call for: the logarithm of λ with its standard error, and the lead (deg)
    that the steps' own time constants predict at each frequency, shape (n,), with its error."""

    log_factor: float
    error: float
    lead_deg: FloatArray
    lead_error_deg: FloatArray


def judge(battery: Battery) -> Outcome:
    """The time constant by phases against that by steps."""
    points, sides = slow_points(battery), sides_of(battery)
    if not points or not sides:
        return Outcome("not_tested", {"lacking": "steps" if points else "sinusoids"})
    items = tuple(evidence(m) for side in sides for m in side.members)
    phases = phases_of(battery, points)
    items = (*items, *(evidence(m) for m in phases))
    trials = (*(p.trial for p in points), *(m.id.split("/")[0] for s in sides for m in s.members))
    if len(points) < LEAST_FREQUENCIES:
        return Outcome("few", {"count": str(len(points))}, items, trials=trials)
    if min(side.low for side in sides) <= 0.0:
        return Outcome("spoilt", {}, items, trials=trials)
    called = called_for(points, sides, battery)
    by_steps = float(np.exp(np.mean([np.log(side.value) for side in sides])))
    own = float(np.sqrt(np.sum([log_error(side) ** 2 for side in sides]))) / len(sides)
    reach = Z95 * float(np.hypot(called.error, own))
    span = (called.log_factor, called.log_factor - reach, called.log_factor + reach)
    limit = limits()["agreement_time_constant"]
    state = beyond(span, float(np.log1p(limit.value / 100.0)))
    longer = "longer" if called.log_factor > 0.0 else "shorter"
    phased, low, high = (by_steps * float(np.exp(part)) for part in span)
    words = {
        "phases": with_interval(phased, low, high, "s"),
        "steps": quantity(by_steps, "s"),
        "limit": limit.cited,
        "frequencies": ", ".join(f"{point.frequency_hz:g}" for point in points),
    }
    name = {"beyond": longer, "within": "alike"}.get(state, "unsure")
    return Outcome(name, words, items, panels(points, sides, called, words, span), trials)


def slow_points(battery: Battery) -> tuple[Point, ...]:
    """The dark sinusoids that are slow enough for their phase to tell of decay."""
    most = limits()["agreement_phase_frequency"].value
    points = dark_points(firsts(battery.findings.trials))
    return tuple(point for point in points if point.frequency_hz <= most)


def sides_of(battery: Battery) -> tuple[Pooled, ...]:
    """The time constant of each exciting direction that has one, R before L."""
    found = (
        pool(step_measures(battery.findings, "time_constant", "one_over_e", side)) for side in SIDES
    )
    return tuple(side for side in found if side is not None)


def phases_of(battery: Battery, points: tuple[Point, ...]) -> list[Measure]:
    """The measures of phase behind points."""
    found = (named(battery.findings.trial(point.trial), "phase") for point in points)
    return [measure for measure in found if measure is not None]


def called_for(points: tuple[Point, ...], sides: tuple[Pooled, ...], battery: Battery) -> Called:
    """λ by its likelihood under the phases, averaged over adaptation; see the module's formula."""
    fit, settings = battery.fit, battery.settings
    adaptation_s = fit.adaptation_s * np.exp(fit.adaptation_log_sd * LIKELY)
    constant_s = np.array([side.value for side in sides])[:, None] * np.exp(LOG_FACTORS)
    decay_s, reached = decays(constant_s[:, None, :], adaptation_s[None, :, None])
    possible = np.all(reached, axis=0)
    at_hz = np.array([point.frequency_hz for point in points])
    lead = leads_deg(at_hz, decay_s, adaptation_s, gains(battery, len(sides)))
    lead = lead - 360.0 * fit.latency_s * at_hz
    phase = np.array([point.phase_deg for point in points])
    error = np.array([point.phase_error_deg for point in points])
    variance = error**2 + settings.clock_phase_error_deg**2
    variance = variance + (settings.clock_lead_error * np.maximum(phase, 0.0)) ** 2
    misfit = np.sum((lead - phase) ** 2 / variance, axis=-1)
    scale = max(float(np.min(misfit)) / max(len(points) - 1, 1), 1.0)
    prior = -0.5 * LIKELY[:, None] ** 2
    weight = likelihood(prior - 0.5 * misfit / scale, possible)
    mean = float(np.sum(weight * LOG_FACTORS))
    spread = float(np.sqrt(np.sum(weight * (LOG_FACTORS - mean) ** 2)))
    as_measured = int(np.argmin(np.abs(LOG_FACTORS)))
    own = likelihood(np.broadcast_to(prior, misfit.shape), possible)[:, as_measured]
    own = own / np.sum(own)
    expected = own @ lead[:, as_measured]
    apart = np.sqrt(own @ (lead[:, as_measured] - expected) ** 2)
    return Called(mean, spread, expected, apart)


def likelihood(log_weight: FloatArray, possible: NDArray[np.bool_]) -> FloatArray:
    """Weights that add up to 1, shape of ``log_weight``; 0 where something is not possible."""
    top = np.max(log_weight[possible])
    weight = np.where(possible, np.exp(log_weight - top), 0.0)
    return np.asarray(weight / np.sum(weight), dtype=float)


def decays(
    constant_s: FloatArray, adaptation_s: FloatArray
) -> tuple[FloatArray, NDArray[np.bool_]]:
    """T (s) whose ideal step response falls to 1/e in ``constant_s``, and whether there is one.

    Both broadcast; found by halving an interval, since the response grows with T.
    """
    shape = np.broadcast_shapes(constant_s.shape, adaptation_s.shape)
    low, high = np.zeros(shape), np.full(shape, np.log(LONGEST_S))
    low = low + np.log(0.05)
    target = np.exp(-1.0)
    possible = np.asarray(response(constant_s, np.exp(high), adaptation_s) >= target)
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        short = response(constant_s, np.exp(middle), adaptation_s) < target
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    return np.exp(0.5 * (low + high)), possible


def response(time_s: FloatArray, decay_s: FloatArray, adaptation_s: FloatArray) -> FloatArray:
    """The response to an ideal step over its peak.

    (a·e^(−at) − b·e^(−bt)) / (a − b) with a = 1/T and b = 1/Ta; shapes broadcast.
    """
    rate, slow = 1.0 / decay_s, 1.0 / adaptation_s
    slow = np.where(np.abs(rate - slow) < NUDGE * rate, (1.0 - NUDGE) * slow, slow)
    gap = rate - slow
    return np.asarray(
        (rate * np.exp(-rate * time_s) - slow * np.exp(-slow * time_s)) / gap, dtype=float
    )


def leads_deg(
    at_hz: FloatArray, decay_s: FloatArray, adaptation_s: FloatArray, gain: FloatArray
) -> FloatArray:
    """Lead (deg), shape (adaptations, factors, frequencies), of both directions together.

    ``decay_s`` has shape (directions, adaptations, factors), ``gain`` (directions,).
    """
    s = 2j * np.pi * at_hz
    slow = s * adaptation_s[:, None, None] / (1.0 + s * adaptation_s[:, None, None])
    own = s * decay_s[..., None] / (1.0 + s * decay_s[..., None])
    return np.asarray(np.degrees(np.angle(np.tensordot(gain, own, axes=1) * slow)), dtype=float)


def gains(battery: Battery, count: int) -> FloatArray:
    """How much each direction counts in the phase: its step gain; alike where one is unknown."""
    found = [pool(step_measures(battery.findings, "gain", None, side)) for side in SIDES]
    known = [side.value for side in found if side is not None and side.value > 0.0]
    return np.array(known if len(known) == count else [1.0] * count)


def panels(
    points: tuple[Point, ...],
    sides: tuple[Pooled, ...],
    called: Called,
    words: dict[str, str],
    span: tuple[float, float, float],
) -> tuple[Panel, ...]:
    """Measured leads beside those that the steps call for, and the time constants."""
    steps = float(np.exp(np.mean([np.log(side.value) for side in sides])))
    reach = Z95 * called.lead_error_deg
    leads = tuple(
        Row(f"{p.frequency_hz:g} Hz", p.phase_deg, p.phase_low_deg, p.phase_high_deg, (lo, hi))
        for p, lo, hi in zip(points, called.lead_deg - reach, called.lead_deg + reach, strict=True)
    )
    middle, low, high = (steps * float(np.exp(part)) for part in span)
    constants = (
        *(Row(f"steps, {m.exciting} excited", m.value or 0.0, m.low, m.high)
          for side in sides for m in side.members),
        Row("called for by phases", middle, low, high),
    )  # fmt: skip
    return (
        Panel("phase lead; band: what the steps call for", "deg", leads),
        Panel("time to 1/e", "s", constants),
    )
