"""Smooth pursuit of a target, and how far it reaches.

    gain(f, V)  = g / √(1 + (f/f_c)²) / (1 + (V/V_max)⁴)^¼
    eye(t)      = gain·V·sin(2πf(t − delay)), rising within rise_s after latency_s

Falls with frequency and with amplitude (Koenig, Dichgans, Dengler 1986, abstract read, for the
suppression that rests on it); a healthy gain near 0.9 at low frequencies is common practice, no
source. A sinusoid is foreseen, so that the delay is short; numbers are chosen.
"""

from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray


@dataclass(frozen=True, slots=True)
class Pursuit:
    """``gain`` is g, ``corner_hz`` f_c, ``largest_deg_s`` V_max; ``delay_s`` of the steady wave.

    ``catch_up_deg`` is how far the eye may fall behind before a saccade brings it to the target.
    """

    gain: float = 0.95
    corner_hz: float = 1.2
    largest_deg_s: float = 90.0
    delay_s: float = 0.015
    latency_s: float = 0.13
    rise_s: float = 0.1
    catch_up_deg: float = 1.2


def pursuit_gain(pursuit: Pursuit, frequency_hz: float, peak_deg_s: float) -> float:
    """Steady eye velocity over target velocity."""
    slow_enough = 1.0 / np.hypot(1.0, frequency_hz / pursuit.corner_hz)
    within_reach = (1.0 + (peak_deg_s / pursuit.largest_deg_s) ** 4) ** -0.25
    return float(pursuit.gain * slow_enough * within_reach)


def pursuit_phase_deg(pursuit: Pursuit, frequency_hz: float) -> float:
    """Phase of the eye in deg; negative: it lags behind the target."""
    return -360.0 * frequency_hz * pursuit.delay_s


def pursuit_velocity(
    pursuit: Pursuit, frequency_hz: float, peak_deg_s: float, time_s: FloatArray
) -> FloatArray:
    """Smooth eye velocity in deg/s at times from the start of the target, shape (n,)."""
    late = np.maximum(time_s - pursuit.delay_s, 0.0)
    wave = np.sin(2 * np.pi * frequency_hz * late)
    begun = -np.expm1(-np.maximum(time_s - pursuit.latency_s, 0.0) / pursuit.rise_s)
    return np.asarray(pursuit_gain(pursuit, frequency_hz, peak_deg_s) * peak_deg_s * wave * begun)
