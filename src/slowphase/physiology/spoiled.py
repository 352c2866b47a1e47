"""What spoils the trace of one eye without losing it.

    recorded = factor·true + added + noise_times·noise

Everything that goes wrong with a tracker (a slipping goggle, a half-closed lid, a spell of bad
tracking, a shaking chair) is such a change; several together multiply and add up.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from slowphase.foundation.arrays import BoolArray, FloatArray

PLANES = ("h", "v")


@dataclass(frozen=True, slots=True)
class Spoiled:
    """Arrays of shape (n,), one of each for all planes or by plane ``h`` and ``v``.

    ``bad`` marks samples that no estimator should trust.
    """

    factor: FloatArray
    added_deg: dict[str, FloatArray]
    noise_times: FloatArray
    bad: BoolArray


def unspoiled(count: int) -> Spoiled:
    """Nothing goes wrong."""
    return Spoiled(
        factor=np.ones(count),
        added_deg={plane: np.zeros(count) for plane in PLANES},
        noise_times=np.ones(count),
        bad=np.zeros(count, dtype=bool),
    )


def together(parts: Iterable[Spoiled], count: int) -> Spoiled:
    """All of them at once."""
    whole = unspoiled(count)
    for part in parts:
        whole = replace(
            whole,
            factor=whole.factor * part.factor,
            added_deg={p: whole.added_deg[p] + part.added_deg[p] for p in PLANES},
            noise_times=whole.noise_times * part.noise_times,
            bad=whole.bad | part.bad,
        )
    return whole
