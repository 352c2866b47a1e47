"""Generalised least squares under a wandering eye and a wavering response, at little cost.

The noise of the observations is white, plus a drift that is alike within short blocks of time,
plus a waver of the response's strength that is alike within them too: C = W⁻¹ + G K Gᵀ, where W
holds the weights, K the covariance of drift and waver between blocks, and G loads the drift of its
block on each observation, and the waver times the response there. What a fit needs of C⁻¹ follows
from sums over blocks (Woodbury's identity):

    Xᵀ C⁻¹ Y = Xᵀ W Y - (Gᵀ W X)ᵀ K (I + Gᵀ W G K)⁻¹ (Gᵀ W Y)
"""

from dataclasses import dataclass

import numpy as np

from slowphase.eye.runs import first_of_runs, numbers_of_runs
from slowphase.foundation.arrays import FloatArray, IntArray
from slowphase.measures.noise_model import NoiseModel

BLOCKS_MAX = 160  # number of blocks: the work grows with its third power
SHORTEST_S = 0.25  # shortest block: about one piece


@dataclass(frozen=True, slots=True)
class Drift:
    """What is alike within blocks: ``block`` (p,) of each observation, in order and none left out;
    per kind of it the ``loadings`` (p,) and the ``covariances`` (n, n) between blocks."""

    block: IntArray
    loadings: tuple[FloatArray, ...]
    covariances: tuple[FloatArray, ...]

    def products(self, columns: FloatArray, weight: FloatArray) -> FloatArray:
        """XᵀC⁻¹X of columns (p, m) under the weights (p,), shape (m, m)."""
        white = (columns.T * weight) @ columns
        if not self.loadings:
            return white
        sums, latent = self._latent(columns, weight)
        return np.asarray(white - sums.T @ latent)

    def information(self, jacobian: FloatArray, told: FloatArray) -> FloatArray:
        """What observations worth ``told`` (p,) say about the parameters, shape (k, k).

        Within a block the eye wanders as well: contrasts there are not as sure as the model says.
        """
        return self.flat(told).products(self.levelled(jacobian, told), told)

    def expected(self, residual: FloatArray, weight: FloatArray) -> FloatArray:
        """The drift and waver that residuals (p,) speak for, at every observation, shape (p,)."""
        if not self.loadings:
            return np.zeros(residual.size)
        _, latent = self._latent(residual[:, None], weight)
        parts = np.split(latent[:, 0], len(self.loadings))
        pairs = zip(self.loadings, parts, strict=True)
        return np.asarray(sum(load * part[self.block] for load, part in pairs))

    def levelled(self, columns: FloatArray, weight: FloatArray) -> FloatArray:
        """Columns (p, m) with every value replaced by the weighted mean of its block."""
        total = np.maximum(np.bincount(self.block, weights=weight), 1e-300)
        means = [np.bincount(self.block, weights=row) / total for row in weight * columns.T]
        return np.column_stack(means)[self.block]

    def flat(self, weight: FloatArray) -> "Drift":
        """The same with its loadings levelled: columns that are levelled belong with them.

        Loadings that are alike within blocks make one kind of all: its covariance holds them.
        """
        if not self.loadings:
            return self
        level = self.levelled(np.column_stack(self.loadings), weight)
        pairs = zip(level[first_of_runs(self.block)].T, self.covariances, strict=True)
        total = sum(np.outer(load, load) * covariance for load, covariance in pairs)
        return Drift(self.block, (np.ones(self.block.size),), (np.asarray(total),))

    def _latent(self, columns: FloatArray, weight: FloatArray) -> tuple[FloatArray, FloatArray]:
        """GᵀWX, and K (I + GᵀWGK)⁻¹ of it, shape (kinds n, m) each."""
        kinds, size = len(self.loadings), self.covariances[0].shape[0]
        sums = np.vstack([self._sums(weight * (columns.T * load)) for load in self.loadings])
        inner = np.empty((kinds * size, kinds * size))
        for row, one in enumerate(self.loadings):
            across = self._sums(weight * (one * np.array(self.loadings)))
            for place, covariance in enumerate(self.covariances):
                part = inner[row * size : (row + 1) * size, place * size : (place + 1) * size]
                np.multiply(across[:, place : place + 1], covariance, out=part)
        inner.ravel()[:: kinds * size + 1] += 1.0
        solved = np.split(np.linalg.solve(inner, sums), kinds)
        pairs = zip(self.covariances, solved, strict=True)
        return sums, np.vstack([covariance @ part for covariance, part in pairs])

    def _sums(self, rows: FloatArray) -> FloatArray:
        """Sums over the blocks of each row (m, p), shape (n, m)."""
        size = self.covariances[0].shape[0]
        sums = [np.bincount(self.block, weights=row, minlength=size) for row in rows]
        return np.column_stack(sums)


def drift_of(time_s: FloatArray, noise: NoiseModel, response: FloatArray | None = None) -> Drift:
    """Drift and waver of a noise model at the times of the observations (ascending, (p,)).

    ``response`` (p,) is the fitted response whose strength wavers.
    """
    span = max(float(time_s[-1] - time_s[0]), 1e-9)
    length = max(SHORTEST_S, span / BLOCKS_MAX)
    number = np.floor((time_s - time_s[0]) / length).astype(np.int64)
    block = numbers_of_runs(number)
    centre = np.bincount(block, weights=time_s) / np.bincount(block)
    loadings, covariances = [], []
    if noise.drift_deg_s > 0:
        loadings.append(np.ones(time_s.size))
        covariances.append(noise.drift_covariance(centre))
    if noise.waver > 0 and response is not None:
        loadings.append(response)
        covariances.append(noise.waver_covariance(centre))
    return Drift(block, tuple(loadings), tuple(covariances))
