"""Head shaking in the dark, and the nystagmus that it leaves where the labyrinths are unequal.

    while shaking   x = κ·m·(1 − exp(−t/τ)),  m = (g_L − g_R)·V/π
    afterwards      x decays with T of the velocity storage

m is the mean of the slow phase over one shake: the side that answers more fills the store. A loss
of the right labyrinth so leaves a slow phase to the right, which beats to the left, away from the
loss. That an uneven reflex charges the storage is from memory, unverified; κ and τ are chosen. The
later reversal is left out.
"""

from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.physiology.labyrinth import Reflex, half_response


@dataclass(frozen=True, slots=True)
class HeadShaking:
    """``stored`` is κ, ``charging_s`` τ in s."""

    stored: float = 0.6
    charging_s: float = 8.0


def uneven_deg_s(reflex: Reflex, peak_deg_s: float) -> float:
    """Mean slow phase over one sinusoidal shake of this peak velocity, signed, deg/s."""
    half = peak_deg_s * np.sin(np.pi * (np.arange(512) + 0.5) / 512)
    left, right = half_response(reflex.left, half), half_response(reflex.right, half)
    return float(np.mean(left - right)) / 2.0


def after_shaking(
    shaking: HeadShaking,
    uneven: float,
    shaken_s: tuple[float, float],
    decay_s: float,
    time_s: FloatArray,
) -> FloatArray:
    """What the store adds to the slow phase, deg/s, shape (n,); shaken between both times."""
    start_s, stop_s = shaken_s
    charged = -np.expm1(-np.clip(time_s - start_s, 0.0, stop_s - start_s) / shaking.charging_s)
    left = np.exp(-np.maximum(time_s - stop_s, 0.0) / decay_s)
    return np.asarray(shaking.stored * uneven * charged * left)
