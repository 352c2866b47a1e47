"""Saccades and quick phases: how fast, how long, what shape.

    peak velocity = V_max·(1 − exp(−A/c))                 (main sequence)
    velocity(x)  ∝ x^p·(1 − x)^q,  0 ≤ x ≤ 1              (a bell, skewed in large ones)

The duration follows from amplitude, peak and shape, so that all three agree; it comes out near
2.2 ms/deg + 21 ms. V_max and c lie some 5–20 % below the medians of openly published labelled
saccades made in the light (Zemblys, Niehorster, Komogortsev, Holmqvist 2018, Behav Res Methods
50:160–181; the tests compare), because quick phases in the dark are slower (from memory,
unverified).
"""

from dataclasses import dataclass
from math import gamma

import numpy as np

from slowphase.foundation.arrays import FloatArray

RISE = 1.5  # p
FALL = 1.5  # q of the smallest; grows with amplitude
FALL_PER_DEG = 0.03


@dataclass(frozen=True, slots=True)
class MainSequence:
    """``peak_deg_s`` is V_max, ``scale_deg`` is c, ``scatter`` the relative spread of peaks."""

    peak_deg_s: float = 520.0
    scale_deg: float = 6.0
    scatter: float = 0.08


def peak_velocity(sequence: MainSequence, amplitude_deg: float) -> float:
    """Peak speed in deg/s of a saccade of this size (either sign)."""
    return sequence.peak_deg_s * float(-np.expm1(-abs(amplitude_deg) / sequence.scale_deg))


def _fall(amplitude_deg: float) -> float:
    return FALL + FALL_PER_DEG * min(abs(amplitude_deg), 25.0)


def peak_to_mean(amplitude_deg: float) -> float:
    """Peak over mean velocity of the profile."""
    fall = _fall(amplitude_deg)
    mode = RISE / (RISE + fall)
    area = gamma(RISE + 1) * gamma(fall + 1) / gamma(RISE + fall + 2)
    return float(mode**RISE * (1.0 - mode) ** fall / area)


def duration_s(amplitude_deg: float, peak_deg_s: float) -> float:
    """Duration in s that makes amplitude, peak and profile agree."""
    return peak_to_mean(amplitude_deg) * abs(amplitude_deg) / peak_deg_s


def profile(amplitude_deg: float, lasting_s: float, time_s: FloatArray) -> FloatArray:
    """Velocity in deg/s at times from the onset, shape (n,); its integral is the amplitude."""
    fraction = np.clip(time_s / lasting_s, 0.0, 1.0)
    fall = _fall(amplitude_deg)
    area = gamma(RISE + 1) * gamma(fall + 1) / gamma(RISE + fall + 2)
    return np.asarray(
        amplitude_deg / (lasting_s * area) * fraction**RISE * (1.0 - fraction) ** fall
    )
