"""Light leaks in: an earth-fixed scene is seen in a trial that should be dark.

    v' = v + λ·L(s)·(−head − v),   L = 1/(1 + s/(2π·f_c))

The eye follows what slips over the retina, which is what the reflex v has left over. A share
λ = 1 of a slow scene makes gain 1 and phase 0; above f_c vision comes too late. The first-order
pathway and its corner are chosen; that vision serves low frequencies is common practice, no
source.
"""

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.physiology.transfer import leaky_integral

CORNER_HZ = 0.2


def with_scene(
    share: float, velocity_deg_s: FloatArray, head_velocity_deg_s: FloatArray, sampling_hz: float
) -> FloatArray:
    """Slow-phase velocity with the scene's share (0–1) added, shape (n,)."""
    rate = 2 * np.pi * CORNER_HZ
    slip = -head_velocity_deg_s - velocity_deg_s
    return np.asarray(velocity_deg_s + share * rate * leaky_integral(rate, slip, sampling_hz))
