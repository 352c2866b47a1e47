"""Does a session agree with itself? Calibration, clocks, darkness and alertness over all trials.

A finding is a number with its interval and the limit it was held against; it adds a reason to the
measures that it bears on and rewrites none.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.foundation.median import median, quantile
from slowphase.foundation.reasons import worst_grade
from slowphase.measures.interval import Z95, t_quantile
from slowphase.measures.measure import Measure
from slowphase.measures.repeats import firsts
from slowphase.measures.result import Quality, TrialResult
from slowphase.measures.settings import MeasureSettings
from slowphase.reading.findings import frequency_hz, named

SIZES = (
    "velocity",
    "gain",
    "gain_right",
    "gain_left",
    "bias",
    "offset",
    "peak_speed",
    "cumulative_eye_position",
)
DROWSY = ("velocity", *SIZES[1:4], "peak_speed", "time_constant", "decay", "duration")
LIT = ("phase", *DROWSY[1:], "cumulative_eye_position")
BEARS_ON: Mapping[str, tuple[str, ...]] = {
    "calibration_implausible": SIZES,
    "clock_lag": ("phase",),
    "light_leak": LIT,
    "low_alertness": DROWSY,
}
TIRED = ("roving_eyes", "low_alertness", "lapses_left_out")
DECAYS_S = np.geomspace(2.0, 80.0, 160)


@dataclass(frozen=True, slots=True)
class Incoherence:
    """One finding of a session: ``code`` is a reason, ``value`` what was found with its 95 %
    interval and unit, ``limit`` what it was held against, ``trials`` whom it concerns."""

    code: str
    value: float
    low: float
    high: float
    unit: str
    limit: float
    trials: tuple[str, ...]


def incoherences(
    trials: tuple[TrialResult, ...], settings: MeasureSettings
) -> tuple[Incoherence, ...]:
    """Everything in which the trials of a session do not agree, each code once.

    Where light was seen, phases say nothing of the clocks.
    """
    once = firsts(trials)
    light = find_light_leak(once, settings)
    clock = None if light else find_clock_lag(once, settings)
    found = (find_calibration(once, settings), clock, light, find_drowsiness(once, settings))
    return tuple(finding for finding in found if finding is not None)


@dataclass(frozen=True, slots=True)
class Seen:
    """What one finding was looked for in: ``trials``, of which ``able`` are of use, and the
    ``least`` number of them that can tell it."""

    trials: tuple[str, ...]
    able: int
    least: int

    @property
    def enough(self) -> bool:
        """Whether the finding could have been made."""
        return self.able >= self.least


def looked_at(trials: tuple[TrialResult, ...], settings: MeasureSettings) -> Mapping[str, Seen]:
    """For the code of every finding, in which trials it was looked for.

    Where light was seen, nothing was looked at for the clocks.
    """
    once, least = firsts(trials), settings.coherence_trials_min
    lit = find_light_leak(once, settings) is not None
    clock = () if lit else clock_points(once, settings)
    tested = calibration_points(once, settings)
    slow = slow_points(once, settings)
    speeds = tuple(trial.id for trial in with_speed(once))
    return {
        "calibration_implausible": Seen(ids_of(tested), len(tested), least),
        "clock_lag": Seen(ids_of(clock), len(clock), least),
        "light_leak": Seen(ids_of(slow), len(leak_points(once, settings)), 1),
        "low_alertness": Seen(speeds, len(speeds), least),
    }


def with_cautions(
    trials: tuple[TrialResult, ...], found: tuple[Incoherence, ...]
) -> tuple[TrialResult, ...]:
    """The trials, each with the reasons of the findings that concern it."""
    for finding in found:
        concerned = set(finding.trials)
        parts = {part for trial in trials if trial.id in concerned for part in trial.parts}
        trials = tuple(
            _cautioned(trial, finding.code) if trial.id in concerned | parts else trial
            for trial in trials
        )
    return trials


def _cautioned(trial: TrialResult, code: str) -> TrialResult:
    quality, measures = trial.quality, trial.measures
    return replace(
        trial,
        quality=_marked(quality, code) if quality else None,
        measures=tuple(_with(m, code) if m.name in BEARS_ON[code] else m for m in measures),
    )


def _marked(quality: Quality, code: str) -> Quality:
    why = tuple(dict.fromkeys((*quality.why, code)))
    return replace(quality, why=why, grade=worst_grade(why))


def _with(measure: Measure, code: str) -> Measure:
    if measure.value is None:
        return measure
    why = tuple(dict.fromkeys((*measure.why, code)))
    return replace(measure, why=why, grade=worst_grade(why))


@dataclass(frozen=True, slots=True)
class Point:
    """A dark sinusoid that responds: its frequency, gain, and lead with error and interval."""

    trial: str
    frequency_hz: float
    gain: Measure
    phase_deg: float
    phase_error_deg: float
    phase_low_deg: float
    phase_high_deg: float


def dark_points(trials: tuple[TrialResult, ...]) -> tuple[Point, ...]:
    """The dark sinusoids with gain and phase, slowest first."""
    dark = [t for t in trials if t.kind == "sinusoid" and t.vision in (None, "dark")]
    points = (_point(trial) for trial in sorted(dark, key=frequency_hz))
    return tuple(point for point in points if point is not None)


def _point(trial: TrialResult) -> Point | None:
    gain, phase = named(trial, "gain"), named(trial, "phase")
    if gain is None or phase is None or phase.value is None or phase.high is None:
        return None
    if "unusable" in (gain.grade, phase.grade) or gain.low is None or not frequency_hz(trial) > 0:
        return None
    reach = phase.high - phase.value
    limits = (phase.value - reach, phase.high)
    return Point(trial.id, frequency_hz(trial), gain, phase.value, reach / Z95, *limits)


def find_calibration(
    trials: tuple[TrialResult, ...], settings: MeasureSettings
) -> Incoherence | None:
    """Whether the dark gain is beyond any reflex's at all frequencies where storage plays no part.

    The lowest of those gains, its interval included, must exceed ``dark_gain_max``; or
    ``dark_gain_lively`` where quick phases are too fast for their size as well. A calibration that
    is too low cannot be told from a weak response. Every trial is then concerned.
    """
    points = calibration_points(trials, settings)
    if len(points) < settings.coherence_trials_min:
        return None
    least = min(points, key=lambda point: point.gain.low or 0.0).gain
    value, low, high = (float(part or 0.0) for part in (least.value, least.low, least.high))
    fast = median_speed(trials) > settings.fast_sequence
    limit = settings.dark_gain_lively if fast else settings.dark_gain_max
    if low <= limit:
        return None
    every = tuple(trial.id for trial in trials if trial.measures)
    return Incoherence("calibration_implausible", value, low, high, "1", limit, every)


def calibration_points(
    trials: tuple[TrialResult, ...], settings: MeasureSettings
) -> tuple[Point, ...]:
    """The dark sinusoids at which storage plays no part."""
    return tuple(p for p in dark_points(trials) if p.frequency_hz >= settings.dark_gain_from_hz)


def median_speed(trials: tuple[TrialResult, ...]) -> float:
    """Median over the trials of the speed of quick phases (share of the main sequence); 1 where
    no trial tells it."""
    speeds = [t.quality.quick_phase_speed for t in trials if t.quality]
    known = [speed for speed in speeds if speed is not None]
    return median(np.array(known)) if known else 1.0


def lead_deg(
    frequency: FloatArray | float, decay_s: FloatArray | float, adaptation_s: float
) -> FloatArray:
    """Phase lead (deg) of s²·T·Ta/((1+sT)(1+sTa)): atan(1/wT) + atan(1/wTa)."""
    rate = 2 * np.pi * np.asarray(frequency, dtype=float)
    own = np.arctan2(1.0, rate * decay_s) + np.arctan2(1.0, rate * adaptation_s)
    return np.asarray(np.degrees(own), dtype=float)


def find_clock_lag(
    trials: tuple[TrialResult, ...], settings: MeasureSettings
) -> Incoherence | None:
    """Whether the phases call for a lag of the eye behind the chair that no reflex has.

    Phases are fitted by decay, adaptation at its usual value and a lag t: lead - 360·f·t. The lag
    less the latency must exceed ``clock_lag_s`` with its interval, and straighten all phases.
    The value is the lag in ms, positive where the eye's clock is late.
    """
    points, fast = dark_points(trials), clock_points(trials, settings)
    if len(fast) < settings.coherence_trials_min or len(points) < 3:
        return None
    lag_s, error_s, misfit = fit_lag(points, settings)
    reach = t_quantile(max(len(points) - 2, 1)) * error_s
    beyond = abs(lag_s - settings.latency_s) - reach > settings.clock_lag_s
    if not beyond or misfit > settings.clock_misfit_deg:
        return None
    low, high = 1e3 * (lag_s - reach), 1e3 * (lag_s + reach)
    concerned = tuple(p.trial for p in fast)
    limit = 1e3 * settings.clock_lag_s
    return Incoherence("clock_lag", 1e3 * lag_s, low, high, "ms", limit, concerned)


def clock_points(trials: tuple[TrialResult, ...], settings: MeasureSettings) -> tuple[Point, ...]:
    """The dark sinusoids so fast that a lag shows in their phase."""
    return tuple(p for p in dark_points(trials) if p.frequency_hz >= settings.clock_lag_from_hz)


def fit_lag(points: tuple[Point, ...], settings: MeasureSettings) -> tuple[float, float, float]:
    """Lag (s), its standard error (s), and the largest misfit (deg) of fast trials.

    For each decay of a grid the lag is a weighted regression; the best decay is taken, and the
    lag's error includes how it moves with decays that fit as well.
    """
    at_hz = np.array([p.frequency_hz for p in points])
    phase = np.array([p.phase_deg for p in points])
    variance = np.array([p.phase_error_deg for p in points]) ** 2
    variance = variance + settings.clock_phase_error_deg**2
    weight = 1.0 / (variance + (settings.clock_lead_error * np.maximum(phase, 0.0)) ** 2)
    lean = -360.0 * at_hz
    lead = lead_deg(at_hz, DECAYS_S[:, None], settings.adaptation_s)
    power = np.sum(weight * lean**2)
    lags = np.sum(weight * lean * (phase - lead), axis=1) / power
    left = phase - lead - lags[:, None] * lean
    misfit = np.sum(weight * left**2, axis=1)
    best = int(np.argmin(misfit))
    scale = max(float(misfit[best]) / max(at_hz.size - 2, 1), 1.0)
    likely = np.exp(-0.5 * (misfit - misfit[best]) / scale)
    likely = likely / likely.sum()
    between = float(np.sum(likely * (lags - lags[best]) ** 2))
    error_s = float(np.sqrt(scale / power + between))
    fast = at_hz >= settings.clock_lag_from_hz
    return float(lags[best]), error_s, float(np.max(np.abs(left[best][fast]), initial=0.0))


def find_light_leak(
    trials: tuple[TrialResult, ...], settings: MeasureSettings
) -> Incoherence | None:
    """Whether low frequencies lead less than the longest storage of this session would make them.

    The least lead comes from the longest decay that the stops of the session's steps allow (or
    ``leak_decay_max_s`` where none tells one) and the slowest adaptation. One trial that responds
    must stay below it by ``leak_margin_deg``, its interval included, and none surely lead by more
    than that. All dark trials of moving chairs are then concerned.
    """
    low = leak_points(trials, settings)
    decay_s = longest_decay_s(trials, settings)
    leads = [float(lead_deg(p.frequency_hz, decay_s, settings.leak_adaptation_s)) for p in low]
    short = [lead - p.phase_high_deg for lead, p in zip(leads, low, strict=True)]
    surely_more = [p.phase_low_deg > lead for lead, p in zip(leads, low, strict=True)]
    if max(short, default=0.0) <= settings.leak_margin_deg or any(surely_more):
        return None
    place = int(np.argmax(short))
    point, lead = low[place], leads[place]
    dark = tuple(
        t.id for t in trials if t.kind in ("sinusoid", "step") and t.vision in (None, "dark")
    )
    value, high = point.phase_deg, point.phase_high_deg
    return Incoherence("light_leak", value, point.phase_low_deg, high, "deg", lead, dark)


def leak_points(trials: tuple[TrialResult, ...], settings: MeasureSettings) -> tuple[Point, ...]:
    """The slow dark sinusoids that surely respond."""
    low = slow_points(trials, settings)
    return tuple(p for p in low if (p.gain.low or 0.0) > settings.leak_gain_min)


def slow_points(trials: tuple[TrialResult, ...], settings: MeasureSettings) -> tuple[Point, ...]:
    """The slow dark sinusoids with a phase."""
    return tuple(p for p in dark_points(trials) if p.frequency_hz <= settings.leak_below_hz)


def ids_of(points: tuple[Point, ...]) -> tuple[str, ...]:
    """The trials of points."""
    return tuple(point.trial for point in points)


def longest_decay_s(trials: tuple[TrialResult, ...], settings: MeasureSettings) -> float:
    """The longest decay (s) that the responses to stopping allow, within what is believed.

    The chair stands still then, so that a scene that is seen cannot prolong the response.
    """
    highs = [
        measure.high
        for trial in trials
        if trial.kind == "step" and trial.vision in (None, "dark")
        for measure in trial.measures
        if measure.name == "decay" and measure.of == "post" and measure.high is not None
    ]
    longest = max(highs, default=settings.leak_decay_max_s)
    return min(max(longest, settings.leak_decay_min_s), settings.leak_decay_max_s)


def find_drowsiness(
    trials: tuple[TrialResult, ...], settings: MeasureSettings
) -> Incoherence | None:
    """Whether alertness was low throughout: slow quick phases in most dark trials, and a second
    sign of it: roving eyes, lapses, an unsteady response, or short time constants.

    The value is the median speed of quick phases (share of the main sequence).
    """
    dark = [t for t in trials if t.vision in (None, "dark") and t.quality is not None]
    known = with_speed(trials)
    slow = [t for t in known if t.quality and "slow_quick_phases" in t.quality.why]
    enough = len(slow) >= max(
        settings.coherence_trials_min, settings.drowsy_trials_share * len(known)
    )
    if not enough or not (_tired(dark) or _short(trials, settings)):
        return None
    speeds = np.array([t.quality.quick_phase_speed for t in known if t.quality], dtype=float)
    low, high = quantile(speeds, 0.025), quantile(speeds, 0.975)
    every = tuple(trial.id for trial in dark if trial.measures)
    value, limit = median(speeds), settings.slow_sequence
    return Incoherence("low_alertness", value, low, high, "1", limit, every)


def with_speed(trials: tuple[TrialResult, ...]) -> list[TrialResult]:
    """The dark trials whose quick phases tell their speed."""
    dark = [t for t in trials if t.vision in (None, "dark") and t.quality is not None]
    return [t for t in dark if t.quality and t.quality.quick_phase_speed is not None]


def _tired(trials: list[TrialResult]) -> bool:
    return any(set(TIRED) & set(trial.quality.why) for trial in trials if trial.quality)


def _short(trials: tuple[TrialResult, ...], settings: MeasureSettings) -> bool:
    decays = [
        measure.value
        for trial in trials
        for measure in trial.measures
        if measure.name == "decay" and measure.value is not None and measure.grade != "unusable"
    ]
    return bool(decays) and median(np.array(decays)) < settings.drowsy_decay_s
