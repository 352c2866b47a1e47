"""The measures of one sinusoidal trial, from its fit."""

from dataclasses import replace

import numpy as np

from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.foundation.median import quantile
from slowphase.measures.interval import (
    NOTHING,
    Estimate,
    Maker,
    propagate,
    symmetric,
    t_quantile,
)
from slowphase.measures.measure import Measure, Side
from slowphase.measures.prepare import (
    Prepared,
    carry,
    duration_s,
    known_head,
    not_converged,
    number,
    poorly,
    result,
    roughly,
    too_little,
    with_unknown_gaze,
)
from slowphase.measures.reflex import Drive, Motion, resample_motion
from slowphase.measures.result import TrialResult
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.sinusoid import (
    BIAS,
    GAZE,
    LEFT,
    PHASE_DIFF,
    RIGHT,
    SinusoidFit,
    SinusoidModel,
    both_directions,
    fit_sinusoid,
    steady_state,
)
from slowphase.measures.steady import asymmetry_pct, peak_speeds

STEADY: list[tuple[str, str, str | None]] = [
    ("gain", "1", "steady_state"),
    ("phase", "deg", "steady_state"),
    ("bias", "deg/s", "straight_ahead"),
    ("offset", "deg/s", "cycle_mean"),
    ("gain_right", "1", "half_response"),
    ("gain_left", "1", "half_response"),
    ("peak_speed", "deg/s", "cycle_peak"),
    ("asymmetry", "%", "peaks"),
    ("gaze_slope", "/s", None),
]
OF_THE_TRIAL: list[tuple[str, str, str | None]] = [
    ("lapse_share", "%", None),
    ("response_power", "%", None),
    ("cycles", "1", None),
    ("cycle_spread", "%", None),
]
SIDES: dict[str, Side] = {"gain_right": "right", "gain_left": "left"}
GRID_PER_CYCLE = 150.0  # grid of the chair's motion: straight lines between are exact to 3e-4


def measure_sinusoid(prepared: Prepared) -> TrialResult:
    """Gain, phase, bias, offset, gains by direction, asymmetry and the quality of the trial."""
    make = prepared.maker()
    settings = prepared.settings
    head = known_head(prepared.recording, settings)
    frequency = number(prepared.trial.stimulus, "frequency_hz")
    if not frequency > 0:
        head = None
    if too_little(prepared) or head is None:
        return result(prepared, no_sinusoid(make, "no_motion" if head is None else "too_short"))
    motion = sinusoid_motion(prepared.recording.time_s, head, frequency, settings)
    peak = abs(chair_amplitude(motion.time_s, motion.velocity_deg_s, frequency, settings))
    fit = fit_sinusoid(prepared.pieces, motion, frequency, peak, settings)
    why = fit_reasons(prepared, fit)
    make = Maker(make.trial, (*why, *make.why))
    everywhere = Drive(motion, prepared.recording.time_s[:, None])
    fitted = SinusoidModel(everywhere, frequency, 0.0)(fit.fit.parameters)
    found = result(
        prepared,
        [*reflex_measures(make, fit, prepared), *trial_measures(make, fit, prepared)],
        fit_deg_s=fitted,
        lapse=fit.lapse,
        outlier=(fit.fit.weight < settings.outlier_weight) & ~fit.lapse,
        why=why,
    )
    drive = Drive(motion, prepared.pieces.node_times_s())
    own = both_directions(fit.fit.parameters, frequency)
    there = responds(fit, prepared)
    carried = carry(prepared, fit.fit, own, drive=drive, peak_deg_s=peak, responds=there)
    return replace(found, carried=carried)


def no_sinusoid(make: Maker, why: str) -> list[Measure]:
    """The measures of a trial that shows nothing, each missing for one reason."""
    return [
        make(name, NOTHING, unit, definition=definition, exciting=SIDES.get(name), why=(why,))
        for name, unit, definition in (*STEADY, *OF_THE_TRIAL)
    ]


def sinusoid_motion(
    time_s: FloatArray,
    head_velocity_deg_s: FloatArray,
    frequency_hz: float,
    settings: MeasureSettings,
) -> Motion:
    """The chair on a grid that is fine enough for its frequency.

    Long losses of the head channel are filled with the stimulus as the rest of it shows. A chair
    that moves already in the first sample is taken to have moved so for long: its sinusoid is
    continued backward, so that the model starts in the steady state.
    """
    rate = max(GRID_PER_CYCLE * frequency_hz, 10.0)
    known = np.isfinite(head_velocity_deg_s)
    whole = slice(None) if known.all() else known
    amplitude = chair_amplitude(time_s[whole], head_velocity_deg_s[whole], frequency_hz, settings)
    filled = head_velocity_deg_s.copy()
    filled[~known] = sine(amplitude, frequency_hz, time_s[~known])
    motion = resample_motion(time_s, filled, rate)
    if abs(motion.velocity_deg_s[0]) < settings.moving_share * abs(amplitude):
        return motion
    cycles_s = settings.history_cycles / frequency_hz
    history_s = min(max(cycles_s, settings.history_min_s), settings.history_max_s)
    before = motion.time_s[0] - np.arange(int(history_s * motion.rate_hz), 0, -1) / motion.rate_hz
    return Motion(
        np.concatenate([before, motion.time_s]),
        np.concatenate([sine(amplitude, frequency_hz, before), motion.velocity_deg_s]),
    )


def sine(amplitude: complex, frequency_hz: float, time_s: FloatArray) -> FloatArray:
    """The sinusoid of a complex amplitude, shape (n,)."""
    return np.asarray((amplitude * np.exp(2j * np.pi * frequency_hz * time_s)).real, dtype=float)


def chair_amplitude(
    time_s: FloatArray, velocity_deg_s: FloatArray, frequency_hz: float, settings: MeasureSettings
) -> complex:
    """Complex amplitude of chair velocity at the stimulus frequency while the chair moves."""
    speed = np.abs(velocity_deg_s)
    moving = np.flatnonzero(speed > settings.rest_share * speed.max())
    part = slice(moving[0], moving[-1] + 1) if moving.size else slice(None)
    angle = 2 * np.pi * frequency_hz * time_s[part]
    design = np.column_stack([np.cos(angle), -np.sin(angle), np.ones_like(angle)])
    real, imaginary, _ = np.linalg.lstsq(design, velocity_deg_s[part], rcond=None)[0]
    return complex(real, imaginary)


def fit_reasons(prepared: Prepared, fit: SinusoidFit) -> tuple[str, ...]:
    """Reasons that hold for all measures of the trial."""
    settings = prepared.settings
    why = []
    if fit.lapse.any():
        # Where nothing responds no lapse can be told: the eye wanders, alert or not.
        why += ["lapses_left_out"] if responds(fit, prepared) else []
    elif looks_drowsy(fit, prepared):
        why.append("low_alertness")
    if duration_s(prepared.recording) * fit.frequency_hz < 1.0:
        why.append("under_one_cycle")
    apart = settings.one_phase_share * np.radians(settings.side_phase_sd_deg)
    if fit.fit.standard_errors[PHASE_DIFF] > apart:
        why.append("one_phase")
    if goes_with_the_chair(fit, settings):
        why.append("wrong_way")
    return (*why, *not_converged(fit.fit))


def goes_with_the_chair(fit: SinusoidFit, settings: MeasureSettings) -> bool:
    """Whether the gains of both directions are surely negative."""
    gains = fit.fit.parameters[RIGHT : LEFT + 1]
    errors = fit.fit.standard_errors[RIGHT : LEFT + 1]
    surely = np.all(gains < -settings.response_sd * errors)
    return bool(surely and -gains.max() > settings.wrong_way_min)


def looks_drowsy(fit: SinusoidFit, prepared: Prepared) -> bool:
    """Whether a response in the dark that is not weak is unsteady throughout."""
    strong = quantile(np.abs(fit.predicted), 0.9) > prepared.settings.alert_min_deg_s
    dark = prepared.trial.vision == "dark"
    return bool(dark and strong and fit.spread >= prepared.settings.drowsy_spread)


def responds(fit: SinusoidFit, prepared: Prepared) -> bool:
    """Whether the size of the modulation stands out from its own uncertainty."""

    def size(parameters: FloatArray) -> FloatArray:
        return np.array([abs(steady_state(parameters, fit.frequency_hz).fundamental)])

    value, error = propagate(size, fit.fit.parameters, fit.fit.covariance)
    settings = prepared.settings
    return bool(value[0] > max(settings.response_sd * error[0], settings.response_min))


def quantities(parameters: FloatArray, fit: SinusoidFit) -> FloatArray:
    """The measures of the steady state in the order of `STEADY`, shape (9,).

    Phase is in rad and relative to that of the fit, so that it cannot jump by a turn.
    """
    steady = steady_state(parameters, fit.frequency_hz)
    response = steady.fundamental
    bias = float(parameters[BIAS])
    cycle = steady.cycle(fit.peak_deg_s, bias)
    values = {
        "gain": abs(response),
        "phase": float(np.angle(response / fit.steady().fundamental)),
        "bias": bias,
        "offset": steady.offset(fit.peak_deg_s, bias),
        "gain_right": float(np.copysign(steady.half_gains[0], parameters[RIGHT])),
        "gain_left": float(np.copysign(steady.half_gains[1], parameters[LEFT])),
        "peak_speed": max(peak_speeds(cycle)),
        "asymmetry": asymmetry_pct(cycle),
        "gaze_slope": float(parameters[GAZE]),
    }
    return np.array([values[name] for name, _, _ in STEADY])


def reflex_measures(make: Maker, fit: SinusoidFit, prepared: Prepared) -> list[Measure]:
    """What the steady state says."""
    slope = float(fit.fit.parameters[GAZE])
    covariance = with_unknown_gaze(fit.fit.covariance, BIAS, slope, prepared)
    value, error = propagate(lambda p: quantities(p, fit), fit.fit.parameters, covariance)
    quantile = t_quantile(fit.fit.degrees)
    there = responds(fit, prepared)
    measures = []
    for (name, unit, definition), v, e in zip(STEADY, value, error, strict=True):
        estimate, why = shown(name, symmetric(v, e, quantile), there, fit, prepared)
        why = (*why, *poor_reasons(name, unit, float(e), there, prepared))
        if estimate.value is not None and there:
            why = (*why, *roughly(float(e), rough_limit(name, float(v), prepared.settings)))
        side = SIDES.get(name)
        measures.append(make(name, estimate, unit, definition=definition, exciting=side, why=why))
    return measures


def shown(
    name: str, estimate: Estimate, there: bool, fit: SinusoidFit, prepared: Prepared
) -> tuple[Estimate, tuple[str, ...]]:
    """An estimate within what it can be, and why it is missing or special."""
    if name == "gain":
        low = max(estimate.low or 0.0, 0.0) if there else 0.0
        return Estimate(estimate.value, low, estimate.high), () if there else ("no_response",)
    if name == "phase":
        middle = float(np.degrees(np.angle(fit.steady().fundamental)))
        reach = float(np.degrees(estimate.high or 0.0))
        found = Estimate(middle, middle - reach, middle + reach)
        return (found, ()) if there else (NOTHING, ("no_response",))
    if name == "asymmetry":
        return shown_asymmetry(estimate, fit, prepared)
    if name == "gaze_slope":
        return clipped(estimate, 0.0, np.inf), ()
    return estimate, ()


def shown_asymmetry(
    estimate: Estimate, fit: SinusoidFit, prepared: Prepared
) -> tuple[Estimate, tuple[str, ...]]:
    """Asymmetry of the peak speeds, withheld when they are too small to carry it."""
    cycle = fit.steady().cycle(fit.peak_deg_s, float(fit.fit.parameters[BIAS]))
    right, left = peak_speeds(cycle)
    if right + left < prepared.settings.asymmetry_min_deg_s:
        return NOTHING, ("response_too_small",)
    why = ("does_not_reverse",) if min(right, left) == 0.0 else ()
    return clipped(estimate, -100.0, 100.0), why


def clipped(estimate: Estimate, least: float, most: float) -> Estimate:
    """An estimate of something that cannot lie outside the two bounds."""
    limits = (estimate.value, estimate.low, estimate.high)
    return Estimate(*(min(max(limit or 0.0, least), most) for limit in limits))


def poor_reasons(
    name: str, unit: str, error: float, there: bool, prepared: Prepared
) -> tuple[str, ...]:
    """The reason of a value whose standard error is beyond what its unit allows."""
    settings = prepared.settings
    limits = {
        "1": settings.gain_error_max,
        "deg/s": settings.velocity_error_max_deg_s,
        "deg": float(np.radians(settings.phase_error_max_deg)) if there else np.inf,
    }
    return poorly(error, limits.get(unit, np.inf))


def rough_limit(name: str, value: float, settings: MeasureSettings) -> float:
    """Standard error beyond which a measure is known roughly; phase in rad."""
    least, size = settings.rough_gain_least, abs(value)
    limits = {
        "gain": max(settings.rough_gain * size, least),
        "gain_right": max(settings.rough_side * size, least),
        "gain_left": max(settings.rough_side * size, least),
        "phase": float(np.radians(settings.rough_phase_deg)),
        "bias": settings.rough_velocity_deg_s,
        "asymmetry": settings.rough_asymmetry,
    }
    return limits.get(name, np.inf)


def trial_measures(make: Maker, fit: SinusoidFit, prepared: Prepared) -> list[Measure]:
    """How good the trial is, in numbers."""
    kept = ~fit.lapse
    seconds = prepared.pieces.duration_s
    lapse_share = 100.0 * float(seconds[fit.lapse].sum() / seconds.sum())
    cycles = duration_s(prepared.recording) * fit.frequency_hz * float(np.mean(kept))
    counts = {
        "lapse_share": Estimate(lapse_share, lapse_share, lapse_share),
        "response_power": _exact(response_power(fit, kept)),
    }
    measures = [make(name, value, "%") for name, value in counts.items()]
    measures.append(make("cycles", _exact(cycles), "1"))
    spread = cycle_spread(fit, prepared)
    why = () if spread is not None else ("under_two_cycles",)
    measures.append(make("cycle_spread", _exact(spread), "%", why=why))
    return measures


def response_power(fit: SinusoidFit, kept: BoolArray) -> float:
    """Share (%) of the modulated slow phase's power that the fitted response explains."""
    weight = fit.fit.weight * kept
    total = float(np.sum(weight * fit.modulated**2))
    left = float(np.sum(weight * (fit.modulated - fit.predicted) ** 2))
    return 100.0 * max(0.0, 1.0 - left / total) if total > 0 else 0.0


def cycle_spread(fit: SinusoidFit, prepared: Prepared) -> float | None:
    """SD (%) of the response's strength between cycles; None with fewer than two cycles."""
    cycle = np.floor(prepared.pieces.time_s * fit.frequency_hz).astype(np.int64)
    weight = np.where(fit.lapse, 0.0, 1.0)
    cross = np.bincount(cycle, weights=weight * fit.modulated * fit.predicted)
    power = np.bincount(cycle, weights=weight * fit.predicted**2)
    least = prepared.settings.cycle_power_min * power.max()
    enough = power > least if power.max() > 0 else power > 0
    if enough.sum() < 2:
        return None
    strength = cross[enough] / power[enough]
    return 100.0 * float(np.std(strength, ddof=1))


def _exact(value: float | None) -> Estimate:
    return Estimate(value, value, value)
