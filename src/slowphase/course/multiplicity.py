"""Many measures at once: how often would *any* of them look changed in an unchanged patient?

Holm (1979) multiplies the smallest p by the number of measures, the next by one less, and so on:
the chance of any false alarm stays at 5 % however the measures depend on one another. It was taken
before Benjamini and Hochberg's rate of false discoveries, because one false alarm is enough to stop
a drug that is needed.

Where the clinic's own retests tell how the measures go together, the step-down comparison with the
largest of correlated normal values (Westfall, Young 1993; as implemented, p by p) holds the same
5 % and gives less away. Both sources are from memory; the tests hold them against statsmodels.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist
from typing import TYPE_CHECKING, Literal

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from slowphase.foundation.arrays import FloatArray

LEVEL = 0.05  # of any false alarm among the measures of two unchanged sessions
DRAWS, SEED = 20_000, 19930401  # an adjusted p of 0.05 is right to ±0.003
NORMAL = NormalDist()
SMALLEST_P = 1e-15  # below it the normal quantile has no more digits
Method = Literal["holm", "correlated"]


@dataclass(frozen=True, slots=True)
class Adjusted:
    """Adjusted p values, in the order given; ``first_level`` is what the smallest was held to."""

    method: Method
    p: tuple[float, ...]
    first_level: float


def adjust(p: Sequence[float], correlation: FloatArray | None = None) -> Adjusted:
    """Adjusted p values of m measures; ``correlation`` (m, m) where it is known."""
    if not p:
        return Adjusted("holm", (), LEVEL)
    if correlation is None:
        return Adjusted("holm", holm(p), LEVEL / len(p))
    return step_down(p, correlation)


def holm(p: Sequence[float]) -> tuple[float, ...]:
    """Holm's adjusted p values."""
    order = np.argsort(p, kind="stable")
    sorted_p = np.asarray(p, dtype=float)[order]
    raised = np.maximum.accumulate(sorted_p * np.arange(len(p), 0, -1))
    return _in_order(np.minimum(raised, 1.0), order)


def step_down(p: Sequence[float], correlation: FloatArray) -> Adjusted:
    """Adjusted p values from the largest of correlated normal values, step by step."""
    size = _draws(correlation)
    order = np.argsort(p, kind="stable")
    heights = np.array([_height(value) for value in np.asarray(p, dtype=float)[order]])
    largest = np.maximum.accumulate(size[:, order[::-1]], axis=1)[:, ::-1]
    exceeded = (np.sum(largest >= heights, axis=0) + 1.0) / (DRAWS + 1.0)
    level = 2.0 * NORMAL.cdf(-float(np.quantile(largest[:, 0], 1.0 - LEVEL)))
    return Adjusted("correlated", _in_order(np.maximum.accumulate(exceeded), order), level)


def _draws(correlation: FloatArray) -> FloatArray:
    """Sizes of correlated standard normal values, shape (DRAWS, m); always the same."""
    values, vectors = np.linalg.eigh(correlation)
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    return np.abs(_independent(correlation.shape[0]) @ root.T)


@lru_cache(maxsize=2)
def _independent(m: int) -> FloatArray:
    """Standard normal values, shape (DRAWS, m)."""
    return np.random.default_rng(SEED).standard_normal((DRAWS, m))


def _height(p: float) -> float:
    """The size of a normal value that has this two-sided p."""
    return -NORMAL.inv_cdf(min(max(p, SMALLEST_P), 1.0) / 2.0)


def _in_order(sorted_p: FloatArray, order: np.ndarray) -> tuple[float, ...]:
    back = np.empty(len(sorted_p))
    back[order] = sorted_p
    return tuple(float(value) for value in back)
