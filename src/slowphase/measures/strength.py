"""The strength of a response over time, in levels: alert, and less so in lapses.

A lapse begins and ends within a second and lasts many. The strength is therefore taken as a level
that stays, and now and then jumps to another: the sequence of levels that explains the response
best, each change paid for (a hidden Markov chain, solved by Viterbi's algorithm).
"""

import numpy as np

from slowphase.eye.runs import numbers_of_runs
from slowphase.foundation.arrays import FloatArray, IntArray
from slowphase.foundation.median import median
from slowphase.measures.noise_model import NoiseModel
from slowphase.measures.settings import MeasureSettings

BLOCK_S = 0.5  # grid: short against a lapse
LEVELS = 0.15 * 1.08 ** np.arange(36)  # 0.15 to 2.2 in steps of 8 %


def strength_levels(
    time_s: FloatArray,
    response: FloatArray,
    predicted: FloatArray,
    sd: FloatArray,
    noise: NoiseModel,
    settings: MeasureSettings,
) -> tuple[FloatArray, FloatArray]:
    """Level of the response's strength at each piece, and the information in it, shape (p,).

    ``response`` and ``predicted`` are slow-phase velocity and its model without bias and gaze
    term, ``sd`` the white noise of a piece. The wandering of the eye lessens what a block says.
    """
    number = np.floor(time_s / BLOCK_S).astype(np.int64)
    block = numbers_of_runs(number)
    weight = sd**-2.0
    cross = np.bincount(block, weights=weight * response * predicted)
    power = np.bincount(block, weights=weight * predicted**2)
    pull = np.bincount(block, weights=weight * predicted) ** 2
    alike = 1.0 + 2.0 * noise.drift_s / BLOCK_S
    spoiled = 1.0 + noise.drift_deg_s**2 * alike * pull / np.maximum(power, 1e-12)
    told = power / spoiled
    cost = 0.5 * LEVELS[None, :] ** 2 * told[:, None]
    cost = cost - LEVELS[None, :] * (cross / spoiled)[:, None]
    cost = np.minimum(cost - cost.min(axis=1, keepdims=True), settings.level_evidence_max)
    level = LEVELS[cheapest_path(cost, settings.level_change_cost)]
    each = np.asarray(told / np.bincount(block), dtype=float)
    return np.asarray(level[block]), np.asarray(each[block])


def cheapest_path(cost: FloatArray, change: float) -> IntArray:
    """The state of each row (n,) on the cheapest path through ``cost`` (n, states), when every
    change of state costs ``change``."""
    total = cost[0].copy()
    came_from = np.zeros(cost.shape, dtype=np.int64)
    stay = np.arange(cost.shape[1])
    for row in range(1, cost.shape[0]):
        best = int(np.argmin(total))
        moved = total[best] + change < total
        came_from[row] = np.where(moved, best, stay)
        total = np.where(moved, total[best] + change, total) + cost[row]
    path = np.zeros(cost.shape[0], dtype=np.int64)
    path[-1] = int(np.argmin(total))
    for row in range(cost.shape[0] - 1, 0, -1):
        path[row - 1] = came_from[row, path[row]]
    return path


def alert_level(level: FloatArray, information: FloatArray, share: float, width: float) -> float:
    """The highest level that, with those up to ``width`` below it, holds ``share`` of the
    information."""
    total = float(information.sum())
    for candidate in sorted(set(level.tolist()), reverse=True):
        near = (level <= candidate) & (level >= (1.0 - width) * candidate)
        if information[near].sum() >= share * total:
            return float(np.average(level[near], weights=information[near]))
    return median(level)
