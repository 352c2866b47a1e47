"""Half-closed lids: the upper lid covers part of the pupil, and its middle seems to sink.

    vertical = true − down·s(t)·w(t),   noise × (1 + (noise_times − 1)·s(t))

s is 1 within a spell, with slow edges, and w wavers around 1 as tired lids do. Nothing is lost:
the outline that is left gives a position, only a worse one. Common practice, no source.
"""

from dataclasses import dataclass, replace

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.physiology.oculomotor import GRID_HZ, wandering
from slowphase.physiology.spells import draw_spells, spell_mask, spell_shape
from slowphase.physiology.spoiled import Spoiled, unspoiled


@dataclass(frozen=True, slots=True)
class HalfLids:
    """``per_min`` spells of about ``lasting_s``, off at 0, with edges of ``edge_s``.

    The vertical trace sinks by ``down_deg``, wavering by the share ``waver`` within ``waver_s``;
    the noise of both planes grows ``noise_times``.
    """

    per_min: float = 0.0
    lasting_s: float = 5.0
    edge_s: float = 0.6
    down_deg: float = 3.0
    waver: float = 0.15
    waver_s: float = 0.8
    noise_times: float = 5.0
    eyes: tuple[str, ...] = ("right", "left")


def half_closed(lids: HalfLids, time_s: FloatArray, rng: np.random.Generator) -> Spoiled:
    """What half-closed lids do to the eyes they concern; ``time_s`` has shape (n,)."""
    if not lids.per_min:
        return unspoiled(time_s.size)
    spells = draw_spells(lids.per_min, lids.lasting_s, float(time_s[-1]), rng)
    shape = spell_shape(spells, lids.edge_s, time_s)
    count = int(time_s[-1] * GRID_HZ) + 2
    waver = 1.0 + wandering(lids.waver, lids.waver_s, count, rng)
    sunk = -lids.down_deg * shape * np.interp(time_s * GRID_HZ, np.arange(count), waver)
    return replace(
        unspoiled(time_s.size),
        added_deg={"h": np.zeros(time_s.size), "v": sunk},
        noise_times=1.0 + (lids.noise_times - 1.0) * shape,
        bad=spell_mask(spells, time_s),
    )
