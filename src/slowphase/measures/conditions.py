"""How far one trial can be trusted: noise, both eyes, alertness, a goggle that slips.

Each finding is a number with a limit from the settings; beyond it the trial, and those measures
that it bears on, carry a reason. Nothing is rewritten.
"""

from dataclasses import dataclass, replace

import numpy as np

from slowphase.eye.settings import EyeSettings
from slowphase.eye.trace import UNUSED_REASONS
from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.foundation.median import median
from slowphase.foundation.reasons import worst_grade
from slowphase.measures.eye_pair import compare_eyes, eyes_disagree
from slowphase.measures.eye_scale import moves_too_little
from slowphase.measures.measure import Measure
from slowphase.measures.prepare import Prepared, number
from slowphase.measures.quick_phases import (
    detection_of,
    quick_phases_per_s,
    sequence_speed,
)
from slowphase.measures.result import Quality, TrialResult
from slowphase.measures.settings import MeasureSettings

ABOUT_RECORDING = ("usable", "cycles", "cycle_spread", "response_power", "lapse_share")
SHAPES = ("phase", "time_constant", "time_constant_raw", "decay", "duration", "asymmetry")
SPARED = {"eyes_disagree": SHAPES, "strength_changes": SHAPES, "eye_scale_doubtful": SHAPES}
SUM_HZ = 20.0  # pieces are summed to a grid of this rate, far above the bands looked at


@dataclass(frozen=True, slots=True)
class Response:
    """Slow phase beside its fit, without lapses; arrays of shape (p,).

    ``measured_deg_s`` and ``predicted_deg_s`` are without bias and gaze term.
    """

    time_s: FloatArray
    measured_deg_s: FloatArray
    predicted_deg_s: FloatArray

    def residual_deg_s(self, clip_sd: float) -> FloatArray:
        """What the fit does not explain, clipped at ``clip_sd`` of its robust SD, shape (p,)."""
        left = self.measured_deg_s - self.predicted_deg_s
        reach = clip_sd * 1.4826 * median(np.abs(left))
        return np.clip(left, -reach, reach)


def with_conditions(result: TrialResult, prepared: Prepared, eye: EyeSettings) -> TrialResult:
    """The result of a trial with the numbers of its quality and the reasons that follow."""
    if result.quality is None or result.evidence is None:
        return result
    quality = quality_numbers(result, prepared, eye)
    codes = condition_reasons(quality, prepared)
    why = tuple(dict.fromkeys((*quality.why, *codes)))
    return replace(
        result,
        quality=replace(quality, why=why, grade=worst_grade(why)),
        measures=tuple(cautioned(measure, codes) for measure in result.measures),
    )


def cautioned(measure: Measure, codes: tuple[str, ...]) -> Measure:
    """A measure with those reasons that bear on it, and the grade that they leave."""
    if measure.value is None or measure.name in ABOUT_RECORDING:
        return measure
    own = [code for code in codes if measure.name not in SPARED.get(code, ())]
    why = tuple(dict.fromkeys((*measure.why, *own)))
    return replace(measure, why=why, grade=worst_grade(why))


def quality_numbers(result: TrialResult, prepared: Prepared, eye: EyeSettings) -> Quality:
    """The quality of a trial in numbers; None where one cannot be had."""
    tracked, settings = prepared.horizontal, prepared.settings
    detection = detection_of(tracked.noise_deg, prepared.recording.sampling_hz, eye, settings)
    speed, error = sequence_speed(tracked.trace.quick_phases, detection, settings)
    pair = compare_eyes(prepared.trial, prepared.recording, settings)
    response = response_of(result, prepared)
    frequency = number(prepared.trial.stimulus, "frequency_hz")
    roving = roving_deg_s(response, frequency, settings) if response else None
    change = strength_change(response, frequency, settings) if response else None
    quality = result.quality or Quality(0.0, "unusable")
    return replace(
        quality,
        noise_deg=tracked.noise_deg,
        smallest_quick_phase_deg=detection.smallest_deg,
        quick_phases_per_s=quick_phases_per_s(tracked.trace),
        quick_phase_speed=speed,
        quick_phase_speed_error=error,
        eye_gain_difference=pair.gain_difference if pair else None,
        eye_step_deg=pair.step_deg if pair else None,
        roving_deg_s=roving,
        strength_change=change,
        why=(*quality.why, *(("eyes_disagree",) if pair and eyes_disagree(pair, settings) else ())),
    )


def condition_reasons(quality: Quality, prepared: Prepared) -> tuple[str, ...]:
    """The reasons that the numbers of a trial's quality give.

    Sets ``noisy_trace``, ``noise_hides_quick_phases``, ``slow_quick_phases`` (in the dark),
    ``roving_eyes``, ``strength_changes``, ``eye_scale_doubtful``; hands on ``eyes_disagree``.
    """
    settings = prepared.settings
    why = [code for code in quality.why if code == "eyes_disagree"]
    smallest = quality.smallest_quick_phase_deg or 0.0
    if smallest > settings.hopeless_quick_phase_deg:
        why.append("noise_hides_quick_phases")
    elif smallest > settings.visible_quick_phase_deg:
        why.append("noisy_trace")
    if prepared.trial.vision in (None, "dark") and slow(quality, settings):
        why.append("slow_quick_phases")
    if (quality.roving_deg_s or 0.0) > settings.roving_deg_s:
        why.append("roving_eyes")
    if abs(quality.strength_change or 0.0) > settings.strength_change:
        why.append("strength_changes")
    if moves_too_little(prepared, settings.battery.eye_scale):
        why.append("eye_scale_doubtful")
    return tuple(why)


def slow(quality: Quality, settings: MeasureSettings) -> bool:
    """Whether quick phases are surely slower than the main sequence of an alert eye."""
    if quality.quick_phase_speed is None:
        return False
    surely = quality.quick_phase_speed + 2 * (quality.quick_phase_speed_error or 0.0)
    below = quality.quick_phase_speed < settings.slow_sequence
    return below and surely < settings.slow_sequence_surely


def response_of(result: TrialResult, prepared: Prepared) -> Response | None:
    """The slow phase of a trial beside what was fitted; None where nothing was."""
    evidence, pieces = result.evidence, prepared.pieces
    if evidence is None or evidence.fit_deg_s is None or len(pieces) < prepared.settings.pieces_min:
        return None
    bias, slope = (_value(result, name) for name in ("bias", "gaze_slope"))
    kept = evidence.horizontal.use[pieces.start] != UNUSED_REASONS.index("lapse")
    fitted = np.interp(pieces.time_s, prepared.recording.time_s, evidence.fit_deg_s)
    kept &= np.isfinite(fitted)
    measured = pieces.velocity_deg_s - bias + slope * pieces.gaze_deg
    return Response(pieces.time_s[kept], measured[kept], fitted[kept] - bias)


def _value(result: TrialResult, name: str) -> float:
    found = (m.value for m in result.measures if m.name == name and m.value is not None)
    return next(found, 0.0)


def roving_deg_s(
    response: Response, frequency_hz: float, settings: MeasureSettings
) -> float | None:
    """Root mean square (deg/s) of slow pendular movements beside the stimulus.

    Power of the residual between ``roving_low_hz`` and ``roving_high_hz``, harmonics of the
    stimulus left out; 0 where it does not exceed what lies between ``roving_white_low_hz`` and
    ``roving_white_high_hz`` by ``roving_times``, since overlooked quick phases fill both
    alike. None for short trials.
    """
    low, high = settings.roving_low_hz, settings.roving_high_hz
    beside = settings.roving_white_low_hz, settings.roving_white_high_hz
    band = mean_power(response, (low, high), frequency_hz, settings)
    white = mean_power(response, beside, frequency_hz, settings)
    if band is None or white is None:
        return None
    return float(np.sqrt(band * (high - low))) if band > settings.roving_times * white else 0.0


def mean_power(
    response: Response,
    band_hz: tuple[float, float],
    frequency_hz: float,
    settings: MeasureSettings,
) -> float | None:
    """Mean one-sided power density ((deg/s)²/Hz) of the residual in a band.

    A Fourier sum over the uneven times, each piece weighed by the time it stands for and by Hann's
    window; frequencies near to the stimulus and its harmonics are left out.
    """
    time_s = response.time_s
    length_s = float(time_s[-1] - time_s[0]) if time_s.size > 1 else 0.0
    if length_s * band_hz[0] < settings.roving_periods_min:
        return None
    count = 2 * int(np.ceil(length_s * SUM_HZ))
    every_hz = np.fft.rfftfreq(count, 1.0 / SUM_HZ)
    inside = np.flatnonzero((every_hz >= band_hz[0]) & (every_hz < band_hz[1]))
    if frequency_hz > 0:
        at_hz = every_hz[inside]
        harmonic = np.maximum(np.round(at_hz / frequency_hz), 1.0) * frequency_hz
        inside = inside[np.abs(at_hz - harmonic) > min(2.0 / length_s, 0.3 * frequency_hz)]
    if inside.size < 5:
        return None
    weight = np.minimum(np.gradient(time_s), settings.roving_piece_max_s)
    window = np.sin(np.pi * (time_s - time_s[0]) / length_s) ** 2
    place = ((time_s - time_s[0]) * SUM_HZ).astype(np.int64)
    residual = response.residual_deg_s(settings.roving_clip_sd)
    sums = np.bincount(place, weights=weight * window * residual)
    size = np.abs(np.fft.rfft(sums, count)[inside])
    return 2.0 * float(np.mean(size**2)) / float(np.sum(weight * window**2))


def strength_change(
    response: Response, frequency_hz: float, settings: MeasureSettings
) -> float | None:
    """Lasting jump of the response's strength as a share of its mean; 0 where none stands out.

    The strength of each half cycle is the regression of the response on its fit; of all places
    the one is taken that parts the half cycles best. None where there are too few of them.
    """
    strength = half_cycle_strengths(response, frequency_hz, settings)
    least = settings.strength_parts_min
    if strength.size < 2 * least:
        return None
    places = range(least, strength.size - least + 1)
    place = max(places, key=lambda at: _standing_out(*jump_at(strength, at)))
    jump, error = jump_at(strength, place)
    sure = abs(jump) > settings.strength_change_sd * error
    middle = 0.5 * (median(strength[:place]) + median(strength[place:]))
    return jump / middle if sure and middle > 0 else 0.0


def _standing_out(jump: float, error: float) -> float:
    return abs(jump) / max(error, 1e-9)


def half_cycle_strengths(
    response: Response, frequency_hz: float, settings: MeasureSettings
) -> FloatArray:
    """Regression of response on fit in each half cycle that carries enough of it, shape (h,)."""
    if not frequency_hz > 0:
        return np.zeros(0)
    half = np.floor(2 * frequency_hz * (response.time_s - response.time_s[0])).astype(np.int64)
    cross = np.bincount(half, weights=response.measured_deg_s * response.predicted_deg_s)
    power = np.asarray(np.bincount(half, weights=response.predicted_deg_s**2), dtype=float)
    usual = median(power[power > 0]) if power.any() else 0.0
    enough: BoolArray = power > settings.cycle_power_min * usual
    return np.asarray(cross[enough] / power[enough], dtype=float)


def jump_at(strength: FloatArray, place: int) -> tuple[float, float]:
    """Difference of the means behind and before a place, and its standard error."""
    before, behind = strength[:place], strength[place:]
    squares = np.sum((before - before.mean()) ** 2) + np.sum((behind - behind.mean()) ** 2)
    variance = float(squares) / (strength.size - 2)
    error = (variance * (1 / before.size + 1 / behind.size)) ** 0.5
    return float(behind.mean() - before.mean()), error
