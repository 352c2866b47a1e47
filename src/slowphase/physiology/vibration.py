"""A chair that vibrates while it moves, and shakes camera and head sensor with it.

    shake = a·m(t)·(1 + w(t))·sin(2π∫f dt),   m = 1 − exp(−|chair velocity| / 5 deg/s)

f wanders a little around ``hz`` and w around 0. The camera moves against the eye by ``eye_deg``
in both planes; the head channel carries ``head_share`` of the shake's velocity. Common practice,
no source.
"""

from dataclasses import dataclass, replace

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.physiology.oculomotor import GRID_HZ, wandering
from slowphase.physiology.spoiled import Spoiled, unspoiled

MOVING_DEG_S = 5.0


@dataclass(frozen=True, slots=True)
class Vibration:
    """``eye_deg`` is the size on the eye traces, off at 0; ``waver`` its relative wavering."""

    eye_deg: float = 0.0
    hz: float = 14.0
    hz_spread: float = 0.06
    waver: float = 0.4
    memory_s: float = 0.7
    head_share: float = 0.2


def shaking(
    vibration: Vibration, head_velocity_deg_s: FloatArray, rng: np.random.Generator
) -> tuple[FloatArray, FloatArray]:
    """The shake in deg and what the head channel has of its velocity in deg/s; shape (n,), grid."""
    count, memory_s = head_velocity_deg_s.size, vibration.memory_s
    if not vibration.eye_deg:
        return np.zeros(count), np.zeros(count)
    hz = vibration.hz * (1.0 + wandering(vibration.hz_spread, memory_s, count, rng))
    size = vibration.eye_deg * (1.0 + wandering(vibration.waver, memory_s, count, rng))
    moving = -np.expm1(-np.abs(head_velocity_deg_s) / MOVING_DEG_S)
    angle = 2 * np.pi * (np.cumsum(hz) / GRID_HZ + rng.uniform())
    size = size * moving
    felt = vibration.head_share * 2 * np.pi * hz * size * np.cos(angle)
    return np.asarray(size * np.sin(angle)), np.asarray(felt)


def shaken(across_deg: FloatArray, up_deg: FloatArray, time_s: FloatArray) -> Spoiled:
    """What shakes of the two planes, on the grid, do to every eye at ``time_s``, shape (n,)."""
    added = {
        plane: np.interp(time_s * GRID_HZ, np.arange(shake.size), shake)
        for plane, shake in (("h", across_deg), ("v", up_deg))
    }
    return replace(unspoiled(time_s.size), added_deg=added)
