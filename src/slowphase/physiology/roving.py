"""Roving eyes: slow pendular movements of the drowsy.

    e = a·(1 − alertness)·Σ sin(2π·fᵢ·t + φᵢ) / √n,   fᵢ within ±``HZ_SPREAD`` of f

a is what they would be with no alertness left; the n close frequencies make them wax and wane.
Slow rolling eyes at 0.2–0.4 Hz with fewer and slower quick phases are common practice, no source.
"""

from dataclasses import replace

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.physiology.alertness import Alertness
from slowphase.physiology.oculomotor import GRID_HZ, QuickPhases

PARTS = 5  # n
HZ_SPREAD = 0.3  # of f; chosen


def roving_velocity(
    alertness: Alertness, alert_factor: FloatArray, rng: np.random.Generator
) -> FloatArray:
    """Velocity of the roving in deg/s on the grid; ``alert_factor`` has shape (n,)."""
    time_s, velocity = np.arange(alert_factor.size) / GRID_HZ, np.zeros(alert_factor.size)
    for hz in alertness.roving_hz * (1.0 + rng.uniform(-HZ_SPREAD, HZ_SPREAD, PARTS)):
        rate = 2 * np.pi * hz
        velocity += rate * np.cos(rate * time_s + rng.uniform(0.0, 2 * np.pi))
    size = alertness.roving_deg / np.sqrt(PARTS) * np.clip(1.0 - alert_factor, 0.0, 1.0)
    return np.asarray(size * velocity)


def tired_quick_phases(alertness: Alertness, quick: QuickPhases) -> QuickPhases:
    """Quick phases with the share of rate and of peak speed that low alertness leaves."""
    slower = replace(quick.sequence, peak_deg_s=alertness.quick_speed * quick.sequence.peak_deg_s)
    return replace(
        quick,
        rest_per_s=alertness.quick_rate * quick.rest_per_s,
        busy_per_s=alertness.quick_rate * quick.busy_per_s,
        sequence=slower,
    )
