"""A tracker that loses its way: spells of bad tracking, and garbage where the pupil is gone.

    bad spell:  noise × noise_times, and now and then one sample at true + spike
    garbage:    a false place for as long as the pupil is covered, instead of a gap

Common practice, no source.
"""

from dataclasses import dataclass, replace

import numpy as np

from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.physiology.spells import draw_spells, spell_mask
from slowphase.physiology.spoiled import PLANES, Spoiled, unspoiled

FALSE_PLACE_DEG = {"h": (0.0, 4.0), "v": (-14.0, 4.0)}  # mean and spread; chosen
GARBAGE_NOISE_DEG = 1.0


@dataclass(frozen=True, slots=True)
class BadTracking:
    """``per_min`` spells of about ``lasting_s`` in one ``eye``, off at 0.

    In them the noise grows ``noise_times`` and ``spikes_per_s`` single samples are out by some
    ``spike_deg``; nothing is lost.
    """

    per_min: float = 0.0
    lasting_s: float = 8.0
    eye: str = "left"
    noise_times: float = 10.0
    spikes_per_s: float = 3.0
    spike_deg: float = 8.0


def _spikes(
    tracking: BadTracking, bad: BoolArray, time_s: FloatArray, rng: np.random.Generator
) -> dict[str, FloatArray]:
    """Single samples of each plane that are out, deg, shape (n,)."""
    inside = np.flatnonzero(bad)
    lasting_s = inside.size * float(time_s[-1]) / max(time_s.size - 1, 1)
    count = min(rng.poisson(tracking.spikes_per_s * lasting_s), inside.size)
    where = rng.choice(inside, count, replace=False) if count else inside[:0]
    spikes = {plane: np.zeros(time_s.size) for plane in PLANES}
    for spike in spikes.values():
        size = tracking.spike_deg * rng.uniform(0.4, 1.6, count)
        spike[where] = size * rng.choice([-1.0, 1.0], count)
    return spikes


def badly_tracked(tracking: BadTracking, time_s: FloatArray, rng: np.random.Generator) -> Spoiled:
    """What bad spells do to the eye they concern; ``time_s`` has shape (n,)."""
    if not tracking.per_min:
        return unspoiled(time_s.size)
    spells = draw_spells(tracking.per_min, tracking.lasting_s, float(time_s[-1]), rng)
    bad = spell_mask(spells, time_s)
    return replace(
        unspoiled(time_s.size),
        added_deg=_spikes(tracking, bad, time_s, rng),
        noise_times=np.where(bad, tracking.noise_times, 1.0),
        bad=bad,
    )


def garbage(plane: str, trace: FloatArray, lost: BoolArray, rng: np.random.Generator) -> FloatArray:
    """The trace with every lost stretch led to a false place and back, deg, shape (n,)."""
    filled = trace.copy()
    edges = np.flatnonzero(np.diff(np.concatenate(([0], lost.astype(int), [0]))))
    mean, spread = FALSE_PLACE_DEG[plane]
    for first, last in edges.reshape(-1, 2):
        fraction = (np.arange(last - first) + 0.5) / (last - first)
        away = (mean + spread * rng.standard_normal()) * np.sqrt(np.sin(np.pi * fraction))
        filled[first:last] += away + GARBAGE_NOISE_DEG * rng.standard_normal(last - first)
    return filled
