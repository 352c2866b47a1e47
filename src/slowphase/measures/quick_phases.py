"""What quick phases tell of a recording: the smallest that is seen, how many, how fast."""

import math
from dataclasses import dataclass

import numpy as np

from slowphase.eye.quickphase import filter_width
from slowphase.eye.settings import EyeSettings
from slowphase.eye.trace import EyeTrace, QuickPhases
from slowphase.foundation.arrays import FloatArray
from slowphase.foundation.median import median
from slowphase.measures.settings import MeasureSettings
from slowphase.measures.statistics import MEDIAN_ERROR

ROOT_TAU = math.sqrt(2 * math.pi)  # area of a bell over height and SD
SIZES_DEG = np.geomspace(0.05, 40.0, 400)  # grid in steps of 1.7 %


@dataclass(frozen=True, slots=True)
class Detection:
    """How quick phases are looked for in a trace of some noise.

    ``width_s`` is the SD of the differentiating Gaussian (with what the sampling adds),
    ``noise_deg_s`` the noise of the velocity behind it, ``smallest_deg`` the smallest quick phase
    of an alert eye that stands out of that.
    """

    width_s: float
    noise_deg_s: float
    smallest_deg: float


def detection_of(
    noise_deg: float, sampling_hz: float, eye: EyeSettings, settings: MeasureSettings
) -> Detection:
    """Detection in a trace of white noise (SD, deg), as the eye layer does it.

    Behind a Gaussian derivative of SD w, noise s at f samples per second leaves a velocity noise
    of s / sqrt(4·sqrt(pi)·w³·f); a quick phase of size A with a bell of SD b peaks there at
    A / sqrt(2·pi·(b² + w²)).
    """
    factor = max(1, round(sampling_hz / eye.working_hz))
    rate, noise = sampling_hz / factor, noise_deg / factor**0.5
    width_s = filter_width(noise, rate, eye) / rate
    velocity = noise / math.sqrt(4 * math.sqrt(math.pi) * width_s**3 * rate)
    width_s = math.hypot(width_s, 1 / (rate * math.sqrt(12)))
    seen = SIZES_DEG / (ROOT_TAU * np.hypot(bell_s(SIZES_DEG, settings), width_s))
    enough = np.flatnonzero(seen > eye.onset_sd * velocity)
    smallest = float(SIZES_DEG[enough[0]]) if enough.size else float(SIZES_DEG[-1])
    return Detection(width_s, velocity, max(smallest, eye.smallest_deg))


def sequence_deg_s(size_deg: FloatArray, settings: MeasureSettings) -> FloatArray:
    """Peak velocity (deg/s) of an alert eye's quick phases: V·(1 - exp(-A/c))."""
    return settings.sequence_peak_deg_s * -np.expm1(-size_deg / settings.sequence_scale_deg)


def bell_s(size_deg: FloatArray, settings: MeasureSettings) -> FloatArray:
    """SD (s) of a Gaussian velocity profile of that size and peak."""
    return size_deg / (ROOT_TAU * sequence_deg_s(size_deg, settings))


def quick_phases_per_s(trace: EyeTrace) -> float | None:
    """Quick phases per second in which an eye is seen; None where none is."""
    seen_s = np.isfinite(trace.position_deg).mean() * (trace.time_s[-1] - trace.time_s[0])
    return len(trace.quick_phases) / float(seen_s) if seen_s > 0 else None


def sequence_speed(
    events: QuickPhases, detection: Detection, settings: MeasureSettings
) -> tuple[float | None, float | None]:
    """Median speed of quick phases over that of an alert eye's of their size, and its error.

    The bell that was measured is wider by the detection's filter, which is taken out; quick
    phases that would be narrower than the filter tell nothing. (None, None) for fewer than
    ``sequence_count_min``.
    """
    size, peak = np.abs(events.amplitude_deg), np.abs(events.peak_velocity_deg_s)
    expected = bell_s(np.maximum(size, 1e-3), settings)
    least = max(settings.sequence_size_min_deg, 2 * detection.smallest_deg)
    tells = (size > least) & (size < settings.sequence_size_max_deg) & (peak > 0)
    tells &= expected > detection.width_s
    if tells.sum() < settings.sequence_count_min:
        return None, None
    found = size[tells] / (ROOT_TAU * peak[tells])
    true = np.sqrt(np.maximum(found**2 - detection.width_s**2, (0.25 * found) ** 2))
    ratio = expected[tells] / true
    middle = median(ratio)
    spread = 1.4826 * median(np.abs(ratio - middle))
    return middle, MEDIAN_ERROR * spread / math.sqrt(ratio.size)
