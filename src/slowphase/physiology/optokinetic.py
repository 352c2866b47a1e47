"""Optokinetic nystagmus and what follows it in the dark.

    slow phase = direct + stored,  S' = S / (1 + (S/S_max)⁴)^¼
    direct     = g_d·S' through 1/(1 + sτ_d) while the scene is seen, gone within τ_d in the dark
    stored     = g_s·S'·(1 − exp(−t/τ_s)) in the light, then decays with T of the velocity storage

A scene that moves to the right draws the slow phase to the right. The two parts are known from
animals and man (from memory, unverified); a healthy gain of 0.7 to 0.9 and a weak after-nystagmus
are common practice, no source. Numbers are chosen.
"""

from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.physiology.transfer import leaky_integral


@dataclass(frozen=True, slots=True)
class Optokinetic:
    """``direct`` is g_d with ``direct_s`` τ_d, ``stored`` g_s with ``charging_s`` τ_s (s), and
    ``largest_deg_s`` S_max."""

    direct: float = 0.6
    direct_s: float = 0.3
    stored: float = 0.25
    charging_s: float = 10.0
    largest_deg_s: float = 70.0


def followed_deg_s(okn: Optokinetic, scene_deg_s: float) -> float:
    """The scene's velocity that the eyes can take up, signed."""
    return float(scene_deg_s / (1.0 + (abs(scene_deg_s) / okn.largest_deg_s) ** 4) ** 0.25)


def optokinetic_velocity(
    okn: Optokinetic,
    scene_deg_s: float,
    moving_s: tuple[float, float],
    decay_s: float,
    time_s: FloatArray,
) -> FloatArray:
    """Slow-phase velocity on a regular grid of times, shape (n,).

    The scene is seen to move between both times of ``moving_s``; then it is dark.
    """
    scene = followed_deg_s(okn, scene_deg_s)
    start_s, stop_s = moving_s
    lit = (time_s >= start_s) & (time_s < stop_s)
    rate = 1.0 / okn.direct_s
    sampling_hz = 1.0 / float(time_s[1] - time_s[0])
    direct = okn.direct * rate * leaky_integral(rate, np.where(lit, scene, 0.0), sampling_hz)
    charged = -np.expm1(-np.clip(time_s - start_s, 0.0, stop_s - start_s) / okn.charging_s)
    left = np.exp(-np.maximum(time_s - stop_s, 0.0) / decay_s)
    return np.asarray(direct + okn.stored * scene * charged * left)
