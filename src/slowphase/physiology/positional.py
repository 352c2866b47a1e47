"""Positional nystagmus: loose particles in a posterior canal, moved by lying down on that side.

    v = −size·r(t − t₀),   r(t) = (1 − exp(−t/τ_g))·exp(−t/τ_f), scaled to a peak of 1

The quick phase beats upward and turns the top of the eye toward the lower ear; on sitting up the
particles fall back, and a weaker burst goes the other way. Latency, rise and decay: common practice
(seconds to begin, gone within a minute), no source; sizes chosen.
"""

from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray


@dataclass(frozen=True, slots=True)
class Positional:
    """``right`` and ``left`` say how much is loose in the posterior canal of each side (0–1).

    ``upward_deg_s`` and ``turning_deg_s`` are the peaks of the vertical and of the torsional slow
    phase of a whole load; ``onset_s`` t₀, ``growing_s`` τ_g and ``fading_s`` τ_f in s;
    ``reversed_share`` is the burst on sitting up against that on lying down.
    """

    right: float = 0.0
    left: float = 0.0
    upward_deg_s: float = 25.0
    turning_deg_s: float = 15.0
    onset_s: float = 4.0
    growing_s: float = 2.0
    fading_s: float = 9.0
    reversed_share: float = 0.5


def burst(positional: Positional, since_s: FloatArray) -> FloatArray:
    """The course of a burst, 0 to 1, shape (n,); times count from the moment of the position."""
    grow, fade = positional.growing_s, positional.fading_s
    peak_s = grow * np.log1p(fade / grow)
    highest = -np.expm1(-peak_s / grow) * np.exp(-peak_s / fade)
    after = np.maximum(since_s - positional.onset_s, 0.0)
    return np.asarray(-np.expm1(-after / grow) * np.exp(-after / fade) / highest)


def loads(positional: Positional, position: str, from_position: str) -> tuple[float, float]:
    """How much moves in the right and in the left canal; negative where it falls back.

    A position counts for the side that its name holds; sitting up counts for the side that the
    patient comes from.
    """
    shares = {"right": positional.right, "left": positional.left}
    lying = tuple(share if side in position else 0.0 for side, share in shares.items())
    back = positional.reversed_share
    rising = tuple(-back * s if side in from_position else 0.0 for side, s in shares.items())
    right, left = (a + b for a, b in zip(lying, rising, strict=True))
    return right, left


def positional_velocity(
    positional: Positional, position: str, from_position: str, since_s: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Vertical and torsional slow phase (deg/s, up and to the right shoulder positive), (n,)."""
    right, left = loads(positional, position, from_position)
    course = burst(positional, since_s)
    upward = -positional.upward_deg_s * (right + left) * course
    turning = -positional.turning_deg_s * (right - left) * course
    return upward, turning
