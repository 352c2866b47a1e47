"""Spontaneous nystagmus: a bias of slow-phase velocity that may fade during the session.

    b(t) = b + Δ·exp(−t/τ),  t since the start of the session

and, through the leaky gaze integrator, more of it when looking toward the quick phase
(Alexander's law): − k·gaze.
"""

from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray


@dataclass(frozen=True, slots=True)
class Spontaneous:
    """Signed slow-phase velocities in deg/s: negative beats to the right (or up)."""

    bias_deg_s: float = 0.0
    fading_deg_s: float = 0.0
    fading_s: float = 600.0
    vertical_deg_s: float = 0.0


def bias_at(spontaneous: Spontaneous, session_time_s: FloatArray) -> FloatArray:
    """Bias in deg/s at each time of the session, shape (n,)."""
    fading = np.exp(-np.asarray(session_time_s, dtype=float) / spontaneous.fading_s)
    return np.asarray(spontaneous.bias_deg_s + spontaneous.fading_deg_s * fading)
