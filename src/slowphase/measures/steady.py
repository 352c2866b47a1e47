"""What endless cycles would give: the steady state of a fitted reflex."""

from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.physiology.storage import effective
from slowphase.physiology.transfer import frequency_response


@dataclass(frozen=True, slots=True)
class SteadyState:
    """Steady-state response to a sinusoid of unit peak head velocity, per exciting direction.

    ``right`` and ``left`` are complex: modulus is the gain of that half, argument its lead (rad).
    """

    right: complex
    left: complex

    @property
    def fundamental(self) -> complex:
        """-V/H: each half wave has a fundamental of half its peak."""
        return (self.right + self.left) / 2

    def cycle(self, peak_deg_s: float, bias_deg_s: float, points: int = 720) -> FloatArray:
        """Slow-phase velocity over one cycle of head velocity ``peak * cos``, shape (points,)."""
        turn = np.exp(2j * np.pi * np.arange(points) / points)
        right = np.maximum((self.right * turn).real, 0.0)
        left = np.maximum(-(self.left * turn).real, 0.0)
        return bias_deg_s + peak_deg_s * (left - right)

    def offset(self, peak_deg_s: float, bias_deg_s: float) -> float:
        """Mean slow-phase velocity of the cycle (deg/s)."""
        return bias_deg_s + peak_deg_s * (abs(self.left) - abs(self.right)) / np.pi


def direction_response(
    gain: float, decay_s: float, adaptation_s: float, shift_rad: float, frequency_hz: float
) -> complex:
    """Complex gain of one direction in the steady state."""
    transfer = effective(decay_s, adaptation_s)
    response = frequency_response(transfer, np.array([frequency_hz]))[0]
    return complex(gain * response * np.exp(1j * shift_rad))


def peak_speeds(cycle_deg_s: FloatArray) -> tuple[float, float]:
    """Largest leftward and largest rightward slow-phase speed of a cycle, each >= 0."""
    return max(-float(cycle_deg_s.min()), 0.0), max(float(cycle_deg_s.max()), 0.0)


def asymmetry_pct(cycle_deg_s: FloatArray) -> float:
    """100 (R - L) / (R + L), R the largest leftward and L the largest rightward speed."""
    right, left = peak_speeds(cycle_deg_s)
    return 100.0 * ((right - left) / (right + left)) if right + left > 0 else 0.0
