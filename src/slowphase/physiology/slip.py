"""A goggle that slips: the camera looks at the eye from another place from then on.

    recorded = (1 + (gain − 1)·r(t − t₁))·true + Σ stepᵢ·r(t − tᵢ),   r rises within ``lasting_s``

The step is an offset, the gain what the changed distance and angle do to the calibration. Common
practice, no source.
"""

from dataclasses import dataclass, replace

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.physiology.spells import ramp
from slowphase.physiology.spoiled import Spoiled, unspoiled


@dataclass(frozen=True, slots=True)
class Slip:
    """Off unless one of the three kinds of times is given.

    ``at_s`` are times within each trial (put right again before the next), ``session_at_s`` a
    time of the session after which nothing is put right, ``per_min`` how often it slips at
    random. ``step_deg`` is the horizontal step, to either side and 0.5 to 1.5 times as large when
    random; the vertical one is ``vertical_share`` of it. ``gain`` holds from the first slip on.
    """

    at_s: tuple[float, ...] = ()
    session_at_s: float | None = None
    per_min: float = 0.0
    step_deg: float = 3.0
    vertical_share: float = -0.5
    gain: float = 1.0
    lasting_s: float = 0.1
    eyes: tuple[str, ...] = ("right", "left")


def _slips(
    slip: Slip, length_s: float, session_time_s: float, rng: np.random.Generator
) -> list[tuple[float, float]]:
    """When on the trial's clock, and by how much horizontally."""
    slips = [(at_s, slip.step_deg) for at_s in slip.at_s]
    if slip.session_at_s is not None:
        slips.append((slip.session_at_s - session_time_s, slip.step_deg))
    if slip.per_min:
        count = rng.poisson(slip.per_min * length_s / 60.0)
        sizes = slip.step_deg * rng.uniform(0.5, 1.5, count) * rng.choice([-1.0, 1.0], count)
        slips += zip(rng.uniform(0.0, length_s, count).tolist(), sizes.tolist(), strict=True)
    return sorted(slips)


def slipped(
    slip: Slip, time_s: FloatArray, session_time_s: float, rng: np.random.Generator
) -> Spoiled:
    """What slipping does to the eyes it concerns; ``time_s`` has shape (n,)."""
    spoiled = unspoiled(time_s.size)
    slips = _slips(slip, float(time_s[-1]), session_time_s, rng)
    if not slips:
        return spoiled
    moved, bad = np.zeros(time_s.size), spoiled.bad
    for at_s, step_deg in slips:
        moved = moved + step_deg * ramp(time_s, at_s, slip.lasting_s)
        bad = bad | ((time_s >= at_s) & (time_s <= at_s + slip.lasting_s))
    changed = (slip.gain - 1.0) * ramp(time_s, slips[0][0], slip.lasting_s)
    added = {"h": moved, "v": slip.vertical_share * moved}
    return replace(spoiled, factor=1.0 + changed, added_deg=added, bad=bad)
