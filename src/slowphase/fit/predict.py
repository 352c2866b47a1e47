"""What the session's one reflex predicts for each trial, and what it shows without the nystagmus.

Predicted values use the definitions of the trials' own measures, so that the two can be laid side
by side.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from slowphase.eye.slowphase import Pieces
from slowphase.fit.parameters import Place
from slowphase.fit.whole_session import SessionFit
from slowphase.foundation.arrays import FloatArray
from slowphase.measures import two_directions as at
from slowphase.measures.interval import Estimate, propagate, symmetric, t_quantile
from slowphase.measures.plain import plain_time_constant
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.steady import asymmetry_pct, peak_speeds, steady_of
from slowphase.measures.step import Change
from slowphase.measures.step_response import response_alone
from slowphase.measures.step_shape import NO_MISFIT

Key = tuple[str | None, str]
Quantities = Callable[[FloatArray], dict[Key, float]]


@dataclass(frozen=True, slots=True)
class TrialView:
    """One trial as the session's reflex sees it.

    ``predicted`` maps ``(of, name)`` of the trial's own measures to what the reflex predicts.
    ``velocity_deg_s`` and ``nystagmus_deg_s`` are its slow phase and the nystagmus' part of it, at
    the pieces' times ``time_s``, shape (p,). ``without`` maps names of measures that a nystagmus
    spoils to their value with it and without it.
    """

    trial: str
    predicted: dict[Key, Estimate]
    time_s: FloatArray
    velocity_deg_s: FloatArray
    nystagmus_deg_s: FloatArray
    without: dict[Key, tuple[Estimate, Estimate]]


def view(place: Place, fit: SessionFit, settings: MeasureSettings) -> TrialView:
    """What the session's reflex says about one trial."""
    trial, local = place.trial, place.local(fit.parameters)
    rows = place.derivatives(fit.parameters)
    covariance = rows @ fit.covariance @ rows.T
    quantities = quantities_of(place)
    names = list(quantities(local))
    value, error = propagate(lambda p: np.array(list(quantities(p).values())), local, covariance)
    quantile = t_quantile(float(np.median(fit.degrees)))
    predicted = {
        name: symmetric(float(v), float(e), quantile)
        for name, v, e in zip(names, value, error, strict=True)
    }
    still = local[at.BIAS] - local[at.GAZE] * trial.pieces.gaze_deg
    return TrialView(
        trial=trial.trial,
        predicted=predicted,
        time_s=trial.pieces.time_s,
        velocity_deg_s=trial.model(local),
        nystagmus_deg_s=still,
        without=without_nystagmus(place, local, still, settings),
    )


def quantities_of(place: Place) -> Quantities:
    """The function from a trial's ten parameters to the measures that it has."""
    trial = place.trial
    if trial.drive is None:
        gaze = float(np.average(trial.pieces.gaze_deg, weights=trial.pieces.duration_s))
        return lambda p: {("horizontal", "velocity"): float(p[at.BIAS] - p[at.GAZE] * gaze)}
    if trial.frequency_hz is not None:
        frequency, peak = trial.frequency_hz, trial.peak_deg_s
        return lambda p: of_sinusoid(p, frequency, peak)
    return lambda p: of_step(p, trial.changes)


def of_sinusoid(local: FloatArray, frequency_hz: float, peak_deg_s: float) -> dict[Key, float]:
    """Measures of the steady state: gain, phase (deg), bias, gains by direction, asymmetry (%)."""
    steady, bias = steady_of(local, frequency_hz), float(local[at.BIAS])
    cycle = steady.cycle(peak_deg_s, bias)
    right, left = steady.half_gains
    return {
        (None, "gain"): abs(steady.fundamental),
        (None, "phase"): float(np.degrees(np.angle(steady.fundamental))),
        (None, "bias"): bias,
        (None, "gain_right"): float(np.copysign(right, local[at.RIGHT])),
        (None, "gain_left"): float(np.copysign(left, local[at.LEFT])),
        (None, "asymmetry"): asymmetry_pct(cycle),
    }


def of_step(local: FloatArray, changes: tuple[Change, ...]) -> dict[Key, float]:
    """Measures of a spin: gain and time constant (s) of each response, and bias."""
    found: dict[Key, float] = {}
    for change in changes:
        gain, decay = (
            (at.RIGHT, at.DECAY_R) if change.exciting == "right" else (at.LEFT, at.DECAY_L)
        )
        decay_s, adaptation_s = np.exp(local[[decay, at.ADAPT]]).tolist()
        alone = response_alone(change, abs(float(local[gain])), decay_s, adaptation_s, NO_MISFIT)
        found[change.of, "gain"] = float(np.copysign(alone.gain, local[gain]))
        found[change.of, "time_constant"] = alone.time_constant_s
    return {**found, (None, "bias"): float(local[at.BIAS])}


def without_nystagmus(
    place: Place, local: FloatArray, still: FloatArray, settings: MeasureSettings
) -> dict[Key, tuple[Estimate, Estimate]]:
    """Measures that a nystagmus spoils, as they are and as they would be without it.

    Of a sinusoid the asymmetry of the peak speeds and the largest of them; of a spin the plain
    time constant (37 % of the raw peak), read from the recorded slow phase less its nystagmus.
    """
    trial = place.trial
    if trial.frequency_hz is not None:
        return _sinusoid_without(local, trial.frequency_hz, trial.peak_deg_s, settings)
    quiet = replace(trial.pieces, velocity_deg_s=trial.pieces.velocity_deg_s - still)
    return {
        (change.of, "time_constant_raw"): _plain(trial.pieces, quiet, change, settings)
        for change in trial.changes
    }


def _plain(
    recorded: Pieces, quiet: Pieces, change: Change, settings: MeasureSettings
) -> tuple[Estimate, Estimate]:
    return (
        plain_time_constant(recorded, change, settings),
        plain_time_constant(quiet, change, settings),
    )


def _sinusoid_without(
    local: FloatArray, frequency_hz: float, peak_deg_s: float, settings: MeasureSettings
) -> dict[Key, tuple[Estimate, Estimate]]:
    steady = steady_of(local, frequency_hz)
    cycles = [steady.cycle(peak_deg_s, bias) for bias in (float(local[at.BIAS]), 0.0)]
    largest = [Estimate(max(peak_speeds(cycle))) for cycle in cycles]
    found: dict[Key, tuple[Estimate, Estimate]] = {(None, "peak_speed"): (largest[0], largest[1])}
    if all(sum(peak_speeds(cycle)) >= settings.asymmetry_min_deg_s for cycle in cycles):
        shares = [Estimate(asymmetry_pct(cycle)) for cycle in cycles]
        found[None, "asymmetry"] = (shares[0], shares[1])
    return found
