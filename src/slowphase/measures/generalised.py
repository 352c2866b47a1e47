"""Generalised least squares under a wandering eye, without a matrix of the recording's size.

The noise of the observations is white plus a drift that is alike within short blocks of time:
C = W⁻¹ + A K Aᵀ, where W holds the weights, A says which block an observation is in, and K is the
drift's covariance between blocks. What a fit needs of C⁻¹ follows from the scatter within blocks
and from the block means (Woodbury's identity):

    Xᵀ C⁻¹ Y = Xᵀ W Y - x̄ᵀ D ȳ + x̄ᵀ D^½ (I + D^½ K D^½)⁻¹ D^½ ȳ

with D the blocks' weights and x̄, ȳ the weighted block means.
"""

from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray, IntArray
from slowphase.measures.noise_model import NoiseModel

BLOCKS_MAX = 300
SHORTEST_S = 0.25


@dataclass(frozen=True, slots=True)
class Drift:
    """The wandering of the eye: ``block`` (p,) of each observation, ``covariance`` (n, n)."""

    block: IntArray
    covariance: FloatArray

    def products(self, columns: FloatArray, weight: FloatArray) -> FloatArray:
        """XᵀC⁻¹X of columns (p, m) under the weights (p,), shape (m, m)."""
        total, mean = self._means(columns, weight)
        root = np.sqrt(total)[:, None] * mean
        within = (columns.T * weight) @ columns - root.T @ root
        return np.asarray(within + root.T @ self._solved(total, root))

    def expected(self, residual: FloatArray, weight: FloatArray) -> FloatArray:
        """The drift that residuals (p,) speak for, at every observation, shape (p,)."""
        total, mean = self._means(residual[:, None], weight)
        root = np.sqrt(total)[:, None] * mean
        by_block = self.covariance @ (np.sqrt(total) * self._solved(total, root)[:, 0])
        return np.asarray(by_block[self.block])

    def _means(self, columns: FloatArray, weight: FloatArray) -> tuple[FloatArray, FloatArray]:
        size = self.covariance.shape[0]
        total = np.bincount(self.block, weights=weight, minlength=size)
        sums = [np.bincount(self.block, weights=weight * c, minlength=size) for c in columns.T]
        safe = np.where(total > 0, total, 1.0)
        return np.asarray(total, dtype=float), np.column_stack(sums) / safe[:, None]

    def _solved(self, total: FloatArray, right: FloatArray) -> FloatArray:
        root = np.sqrt(total)
        inner = root[:, None] * self.covariance * root
        inner[np.diag_indices(root.size)] += 1.0
        return np.asarray(np.linalg.solve(inner, right))


def drift_of(time_s: FloatArray, noise: NoiseModel, response: FloatArray | None = None) -> Drift:
    """Drift and waver of a noise model at the times of the observations (ascending, (p,)).

    ``response`` (p,) is the fitted response whose strength wavers.
    """
    span = max(float(time_s[-1] - time_s[0]), 1e-9)
    length = max(SHORTEST_S, span / BLOCKS_MAX)
    number = np.floor((time_s - time_s[0]) / length).astype(np.int64)
    used, block = np.unique(number, return_inverse=True)
    count = np.bincount(block)
    centre = np.bincount(block, weights=time_s) / count
    mean = None if response is None else np.bincount(block, weights=response) / count
    return Drift(block, noise.correlation(centre, mean))
