"""Roving eyes: slow pendular movements of the drowsy.

    e' = 2πf·a·(1 − alertness)·(1 + w(t))·cos(2π∫f dt)

a is what they would be with no alertness left; f wanders around 0.3 Hz. Slow rolling eyes at
0.2–0.4 Hz with fewer and slower quick phases are common practice, no source.
"""

from dataclasses import replace

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.physiology.alertness import Alertness
from slowphase.physiology.oculomotor import GRID_HZ, QuickPhases, wandering

MEMORY_S = 6.0
HZ_SPREAD = 0.12
WAVER = 0.3


def roving_velocity(
    alertness: Alertness, alert_factor: FloatArray, rng: np.random.Generator
) -> FloatArray:
    """Velocity of the roving in deg/s on the grid; ``alert_factor`` has shape (n,)."""
    count = alert_factor.size
    hz = alertness.roving_hz * (1.0 + wandering(HZ_SPREAD, MEMORY_S, count, rng))
    size = alertness.roving_deg * (1.0 + wandering(WAVER, MEMORY_S, count, rng))
    angle = 2 * np.pi * (np.cumsum(hz) / GRID_HZ + rng.uniform())
    size = size * np.clip(1.0 - alert_factor, 0.0, 1.0)
    return np.asarray(2 * np.pi * hz * size * np.cos(angle))


def tired_quick_phases(alertness: Alertness, quick: QuickPhases) -> QuickPhases:
    """Quick phases with the share of rate and of peak speed that low alertness leaves."""
    slower = replace(quick.sequence, peak_deg_s=alertness.quick_speed * quick.sequence.peak_deg_s)
    return replace(
        quick,
        rest_per_s=alertness.quick_rate * quick.rest_per_s,
        busy_per_s=alertness.quick_rate * quick.busy_per_s,
        sequence=slower,
    )
