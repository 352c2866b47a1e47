"""What endless cycles would give: the steady state of a fitted reflex."""

from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.measures import two_directions as at
from slowphase.physiology.storage import effective
from slowphase.physiology.transfer import frequency_response


@dataclass(frozen=True, slots=True)
class SteadyState:
    """Steady-state response to a sinusoid of unit peak head velocity, per exciting direction.

    ``right`` and ``left`` are complex: modulus is the gain of that half if it were a straight line,
    argument its lead (rad). ``bends`` says by which share the peak of each half stays below that
    line: the speed of a half wave x is x - bend x³ (saturation), or above it (a dead zone).
    """

    right: complex
    left: complex
    bends: tuple[float, float] = (0.0, 0.0)

    @property
    def half_gains(self) -> tuple[float, float]:
        """Largest speed of each half over peak head velocity, exciting right and left."""
        sides = zip((self.right, self.left), self.bends, strict=True)
        right, left = (abs(side) * (1.0 - bend) for side, bend in sides)
        return right, left

    @property
    def fundamental(self) -> complex:
        """-V/H: each half wave has a fundamental of half its peak, bent by three quarters."""
        sides = zip((self.right, self.left), self.bends, strict=True)
        return sum((side * (1.0 - 0.75 * bend) for side, bend in sides), 0j) / 2

    def cycle(self, peak_deg_s: float, bias_deg_s: float, points: int = 720) -> FloatArray:
        """Slow-phase velocity over one cycle of head velocity ``peak * cos``, shape (points,)."""
        turn = np.exp(2j * np.pi * np.arange(points) / points)
        halves = []
        for side, bend, way in zip((self.right, self.left), self.bends, (1.0, -1.0), strict=True):
            size = abs(side)
            wave = np.maximum(way * (side * turn).real, 0.0)
            halves.append(wave - bend * wave**3 / size**2 if size > 0 else wave)
        return np.asarray(bias_deg_s + peak_deg_s * (halves[1] - halves[0]))

    def offset(self, peak_deg_s: float, bias_deg_s: float) -> float:
        """Mean slow-phase velocity of the cycle (deg/s)."""
        sides = zip((self.right, self.left), self.bends, strict=True)
        right, left = (abs(side) * (1.0 - 2.0 / 3.0 * bend) for side, bend in sides)
        return bias_deg_s + peak_deg_s * (left - right) / np.pi


def direction_response(
    gain: float, decay_s: float, adaptation_s: float, shift_rad: float, frequency_hz: float
) -> complex:
    """Complex gain of one direction in the steady state."""
    transfer = effective(decay_s, adaptation_s)
    response = frequency_response(transfer, np.array([frequency_hz]))[0]
    return complex(gain * response * np.exp(1j * shift_rad))


def steady_of(local: FloatArray, frequency_hz: float) -> SteadyState:
    """The steady state of a reflex with the ten parameters of `two_directions`."""
    rate = 2 * np.pi * frequency_hz
    decays, adaptation = np.exp(local[[at.DECAY_R, at.DECAY_L]]), float(np.exp(local[at.ADAPT]))
    leads = local[[at.LEAD_R, at.LEAD_L]]
    right, left = (
        direction_response(1.0, decay, adaptation, rate * lead, frequency_hz)
        for decay, lead in zip(decays.tolist(), leads.tolist(), strict=True)
    )
    return SteadyState(
        right=complex(local[at.RIGHT] * right),
        left=complex(local[at.LEFT] * left),
        bends=(float(local[at.BEND] * abs(right) ** 2), float(local[at.BEND] * abs(left) ** 2)),
    )


def peak_speeds(cycle_deg_s: FloatArray) -> tuple[float, float]:
    """Largest leftward and largest rightward slow-phase speed of a cycle, each >= 0."""
    return max(-float(cycle_deg_s.min()), 0.0), max(float(cycle_deg_s.max()), 0.0)


def asymmetry_pct(cycle_deg_s: FloatArray) -> float:
    """100 (R - L) / (R + L), R the largest leftward and L the largest rightward speed."""
    right, left = peak_speeds(cycle_deg_s)
    return 100.0 * ((right - left) / (right + left)) if right + left > 0 else 0.0
