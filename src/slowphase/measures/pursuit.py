"""Smooth pursuit of a swinging target: gain and phase, each direction, catch-up saccades."""

from dataclasses import dataclass, replace

import numpy as np

from slowphase.eye.slowphase import Pieces
from slowphase.eye.trace import QuickPhases
from slowphase.eye.track import Tracked
from slowphase.foundation.arrays import FloatArray
from slowphase.foundation.reasons import worst_grade
from slowphase.measures.interval import (
    NOTHING,
    Estimate,
    Maker,
    propagate,
    symmetric,
    t_quantile,
)
from slowphase.measures.measure import Measure
from slowphase.measures.prepare import Prepared, missing, poorly, result, roughly
from slowphase.measures.pursuit_settings import PursuitSettings
from slowphase.measures.reflex import averaged, data_of
from slowphase.measures.regression import Data, Fit, no_prior, robust_fit
from slowphase.measures.result import TrialResult
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.swinging_target import Swing, swing_of

WAYS = {"horizontal": ("rightward", "leftward"), "vertical": ("upward", "downward")}


@dataclass(frozen=True, slots=True)
class PursuitView:
    """What a picture of pursuit shows: the target, the plane, and the fit at every sample."""

    swing: Swing
    tracked: Tracked
    fit_deg_s: FloatArray


@dataclass(frozen=True, slots=True)
class _Steady:
    """The slow phase of steady pursuit, with one fit of a sinusoid and one of its half waves."""

    swing: Swing
    pieces: Pieces
    whole: Fit
    halves: Fit
    lead_rad: float

    @property
    def quantile(self) -> float:
        return t_quantile(self.whole.degrees)


def measure_pursuit(prepared: Prepared) -> TrialResult:
    """Gain and phase against the target, gain in each direction, and catch-up saccades.

    Sets ``targets_unknown``, ``not_sinusoidal``, ``target_rebuilt``, ``target_not_timed``,
    ``sampled_too_slowly``, ``too_short``, ``known_roughly``, ``poorly_determined``, ``no_pursuit``,
    ``response_too_small``, ``wrong_way``.
    """
    own = prepared.settings.battery.pursuit
    # the target leads the eye far out: that is no lost straight ahead
    why = tuple(code for code in prepared.why if code != "gaze_unknown")
    prepared = replace(prepared, why=why)
    swing = swing_of(prepared.trial, prepared.recording, own)
    if isinstance(swing, str):
        return result(prepared, no_pursuit(prepared.maker(), swing))
    slowest_hz = own.samples_per_cycle_min * swing.frequency_hz
    if prepared.recording.sampling_hz < slowest_hz:
        return result(prepared, no_pursuit(prepared.maker(), "sampled_too_slowly"))
    if not swing.recorded:
        prepared = replace(prepared, why=(*prepared.why, "target_rebuilt"))
    make = prepared.maker()
    tracked = prepared.horizontal if swing.plane == "horizontal" else prepared.vertical
    if tracked is None:
        return result(prepared, no_pursuit(make, "eye_not_seen"))
    steady = steady_pursuit(tracked, swing, prepared.settings)
    if steady is None:
        return result(prepared, no_pursuit(make, "too_short"))
    measures = [*_gain_and_phase(make, steady, own), *_by_direction(make, steady, own)]
    measures.append(_catch_up(make, tracked.trace.quick_phases, steady))
    if goes_against(measures, own):
        measures = [spoilt(measure) for measure in measures]
    fitted = fitted_velocity(steady, prepared.recording.time_s)
    shown = fitted if swing.plane == "horizontal" else None
    found = result(prepared, measures, fit_deg_s=shown)
    if found.evidence is None:
        return found
    view = PursuitView(swing, tracked, fitted)
    return replace(found, evidence=replace(found.evidence, own=view))


def goes_against(measures: list[Measure], settings: PursuitSettings) -> bool:
    """Whether the phase is surely nearer to half a cycle than to a lag or lead of pursuit."""
    phases = [m for m in measures if m.name == "phase" and m.value is not None]
    return any(abs(m.value or 0.0) > settings.wrong_way_deg for m in phases)


def spoilt(measure: Measure) -> Measure:
    """A measure of an eye that goes against the target: its sides, too, are the other ones."""
    if measure.value is None:
        return measure
    why = (*measure.why, "wrong_way")
    return replace(measure, why=why, grade=worst_grade(why))


def no_pursuit(make: Maker, why: str) -> list[Measure]:
    """The measures of a pursuit trial that shows nothing."""
    halves = [make("gain", NOTHING, "1", of=way, why=(why,)) for way in ("rightward", "leftward")]
    names = [("gain", "1"), ("phase", "deg"), ("asymmetry", "%"), ("catch_up_saccades", "/s")]
    return [*missing(make, names, why), *halves]


def steady_pursuit(tracked: Tracked, swing: Swing, settings: MeasureSettings) -> _Steady | None:
    """The fits of steady pursuit; None where too few pieces or cycles are left.

        v = b + s·sin(angle) + c·cos(angle);   v = b + gain_+·[u]⁺ + gain_−·[u]⁻

    with u the target's velocity, moved by the phase that the first fit found.
    """
    own = settings.battery.pursuit
    pieces = tracked.pieces
    inside = pieces.time_s > swing.start_s + own.settle_s
    inside &= pieces.time_s < swing.stop_s - own.stop_s
    pieces = Pieces(*(getattr(pieces, name)[inside] for name in Pieces.__slots__))
    seconds = float(np.ptp(pieces.time_s)) if len(pieces) else 0.0
    enough = len(pieces) >= settings.pieces_min
    if not enough or seconds * swing.frequency_hz < own.cycles_min:
        return None
    data = data_of(pieces, settings)
    angle = swing.angle(pieces.node_times_s())
    waves = np.column_stack([averaged(np.sin(angle)), averaged(np.cos(angle))])
    whole = _linear(np.column_stack([np.ones(len(pieces)), waves * swing.peak_deg_s]), data)
    lead = float(np.arctan2(whole.parameters[2], whole.parameters[1]))
    return _Steady(swing, pieces, whole, _halves(swing, angle, lead, data), lead)


def _linear(columns: FloatArray, data: Data) -> Fit:
    """Robust fit of the observations on columns, shape (p, k)."""
    start = np.asarray(np.linalg.lstsq(columns, data.observed, rcond=None)[0], dtype=float)
    return robust_fit(lambda p: columns @ p, start, data, no_prior(columns.shape[1]))


def _halves(swing: Swing, angle: FloatArray, lead_rad: float, data: Data) -> Fit:
    """The half waves to either side, each with its own gain."""
    wave = swing.peak_deg_s * np.sin(angle + lead_rad)
    sides = [averaged(np.maximum(wave, 0.0)), averaged(np.minimum(wave, 0.0))]
    return _linear(np.column_stack([np.ones(len(angle)), *sides]), data)


def fitted_velocity(steady: _Steady, time_s: FloatArray) -> FloatArray:
    """The fitted half waves at every sample; what is left of them while it rests, shape (n,)."""
    swing = steady.swing
    bias, first, second = steady.halves.parameters
    wave = swing.peak_deg_s * np.sin(swing.angle(time_s) + steady.lead_rad)
    fit = bias + first * np.maximum(wave, 0.0) + second * np.minimum(wave, 0.0)
    moving = (time_s >= swing.start_s) & (time_s <= swing.stop_s)
    return np.where(moving, fit, bias)


def _gain_and_phase(make: Maker, steady: _Steady, settings: PursuitSettings) -> list[Measure]:
    """|E/T| and arg(E/T) of the whole wave."""
    fit = steady.whole
    polar, errors = propagate(_polar, fit.parameters, fit.covariance)
    why = _gain_reasons(float(errors[0]), settings)
    gain = symmetric(float(polar[0]), float(errors[0]), steady.quantile)
    measures = [make("gain", _floored(gain), "1", why=why)]
    if steady.swing.phase_rad is None:
        return [*measures, make("phase", NOTHING, "deg", why=("target_not_timed",))]
    unsure = (gain.low or 0.0) <= 0.0 or float(polar[0]) < settings.phase_gain_min
    if unsure:
        return [*measures, make("phase", NOTHING, "deg", why=("no_pursuit",))]
    phase = symmetric(float(polar[1]), float(errors[1]), steady.quantile)
    return [*measures, make("phase", phase, "deg", why=why)]


def _polar(parameters: FloatArray) -> FloatArray:
    _, sine, cosine = parameters
    return np.array([np.hypot(sine, cosine), np.degrees(np.arctan2(cosine, sine))])


def _gain_reasons(error: float, settings: PursuitSettings) -> tuple[str, ...]:
    unusable = poorly(error, settings.gain_error_max)
    return unusable or roughly(error, settings.gain_error_rough)


def _floored(gain: Estimate) -> Estimate:
    return Estimate(gain.value, max(gain.low or 0.0, 0.0), gain.high)


def _by_direction(make: Maker, steady: _Steady, settings: PursuitSettings) -> list[Measure]:
    """Gain of each half wave, and their difference as a share of their sum."""
    fit, ways = steady.halves, WAYS[steady.swing.plane]
    errors = fit.standard_errors
    gains = [
        make(
            "gain",
            symmetric(float(fit.parameters[i]), float(errors[i]), steady.quantile),
            "1",
            of=way,
            why=_gain_reasons(float(errors[i]), settings),
        )
        for i, way in enumerate(ways, start=1)
    ]
    if 0.5 * float(fit.parameters[1] + fit.parameters[2]) < settings.asymmetry_gain_min:
        return [*gains, make("asymmetry", NOTHING, "%", why=("response_too_small",))]
    value, error = propagate(_asymmetry, fit.parameters, fit.covariance)
    found = symmetric(float(value[0]), float(error[0]), steady.quantile)
    why = tuple(dict.fromkeys(code for gain in gains for code in gain.why))
    return [*gains, make("asymmetry", found, "%", definition="gains", why=why)]


def _asymmetry(parameters: FloatArray) -> FloatArray:
    _, first, second = parameters
    return np.array([100.0 * (first - second) / (first + second)])


def _catch_up(make: Maker, saccades: QuickPhases, steady: _Steady) -> Measure:
    """Saccades with the target per second of steady pursuit; its interval from cycle to cycle."""
    start, stop = float(steady.pieces.time_s[0]), float(steady.pieces.time_s[-1])
    wave = np.sin(steady.swing.angle(saccades.onset_s) + steady.lead_rad)
    inside = (saccades.onset_s >= start) & (saccades.onset_s < stop)
    along = inside & (np.sign(saccades.amplitude_deg) == np.sign(wave))
    rate = float(along.sum()) / (stop - start)
    cycles = int((stop - start) * steady.swing.frequency_hz)
    if cycles < 2:
        return make("catch_up_saccades", Estimate(rate), "/s")
    edges = np.linspace(start, stop, cycles + 1)
    counts = np.histogram(saccades.onset_s[along], edges)[0] / (edges[1] - edges[0])
    # cycles that happen to be alike do not make a count of few saccades sure
    error = max(
        float(np.std(counts, ddof=1)) / cycles**0.5,
        (max(rate, 1.0 / (stop - start)) / (stop - start)) ** 0.5,
    )
    found = symmetric(rate, error, t_quantile(cycles - 1))
    return make("catch_up_saccades", _floored(found), "/s")
