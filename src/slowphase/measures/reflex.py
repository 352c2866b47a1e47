"""The response of a reflex to the chair's measured motion, where the pieces of slow phase are."""

from dataclasses import dataclass

import numpy as np

from slowphase.eye.slowphase import Pieces, integrate
from slowphase.foundation.arrays import FloatArray, IntArray
from slowphase.physiology.storage import effective
from slowphase.physiology.transfer import filtered

GRID_HZ = 50.0


@dataclass(frozen=True, slots=True)
class Motion:
    """Chair velocity on an even grid: ``time_s`` and ``velocity_deg_s`` of shape (m,)."""

    time_s: FloatArray
    velocity_deg_s: FloatArray

    @property
    def rate_hz(self) -> float:
        """Grid points per second."""
        return 1.0 / float(self.time_s[1] - self.time_s[0])

    def response(self, decay_s: float, adaptation_s: float) -> FloatArray:
        """Head velocity filtered by s²·T·Ta / ((1+sT)(1+sTa)), from rest, shape (m,)."""
        return filtered(effective(decay_s, adaptation_s), self.velocity_deg_s, self.rate_hz)

    def with_velocity(self, velocity_deg_s: FloatArray) -> "Motion":
        """The same grid with another velocity."""
        return Motion(self.time_s, velocity_deg_s)


def resample_motion(
    time_s: FloatArray, velocity_deg_s: FloatArray, rate_hz: float = GRID_HZ
) -> Motion:
    """Chair velocity averaged over the cells of an even grid; lost samples are bridged.

    Averaging goes through the integral, so that no displacement is lost and noise is.
    """
    known = np.isfinite(velocity_deg_s)
    velocity = np.interp(time_s, time_s[known], velocity_deg_s[known])
    position = integrate(velocity, time_s)
    count = max(2, int(np.ceil((time_s[-1] - time_s[0]) * rate_hz)))
    edges = np.linspace(time_s[0], time_s[-1], count + 1)
    mean = np.diff(np.interp(edges, time_s, position)) / np.diff(edges)
    return Motion((edges[:-1] + edges[1:]) / 2, mean)


def at_pieces(motion: Motion, values: FloatArray, nodes_s: FloatArray) -> FloatArray:
    """Values given on the motion's grid at the nodes of the pieces, shape of ``nodes_s``."""
    return np.interp(nodes_s.ravel(), motion.time_s, values).reshape(nodes_s.shape)


def blocks(pieces: Pieces, length_s: float) -> IntArray:
    """Number of the time block of ``length_s`` that each piece lies in, shape (p,)."""
    return np.floor(pieces.time_s / length_s).astype(np.int64)
