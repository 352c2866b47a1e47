"""Do both eyes show the same movement?"""

from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.foundation.median import median, quantile
from slowphase.measures.settings import MeasureSettings
from slowphase.recording.eyes import is_alive
from slowphase.recording.trial import Recording, Trial


@dataclass(frozen=True, slots=True)
class EyePair:
    """The left eye beside the right one.

    ``gain_difference`` is left less right as a share of their mean, exceeded in size by a tenth of
    the ``telling`` blocks; ``differing`` says in how many of them it is beyond the limit.
    ``step_deg`` is the largest lasting change of the eyes' distance from block to block.
    """

    gain_difference: float | None
    differing: int
    telling: int
    step_deg: float | None


def compare_eyes(trial: Trial, recording: Recording, settings: MeasureSettings) -> EyePair | None:
    """Gains and distance of the two eyes, block by block; None without two eyes."""
    eyes = [recording.channels.get(f"eye_h_{side}") for side in ("right", "left")]
    right, left = eyes
    if trial.eye != "both" or right is None or left is None:
        return None
    if not (is_alive(right) and is_alive(left)):
        return None
    size = max(10, round(settings.eye_block_s * recording.sampling_hz))
    starts = range(0, max(right.size - size // 2, 1), size)
    blocks = [(right[i : i + size], left[i : i + size]) for i in starts]
    gains = [block_gain(a, b, recording.sampling_hz, settings) for a, b in blocks]
    told = np.array([gain for gain in gains if gain is not None])
    return EyePair(
        gain_difference=_ninth_tenth(told),
        differing=int(np.sum(np.abs(told) > settings.eye_gain_difference)),
        telling=told.size,
        step_deg=lasting_step_deg([block_distance(a, b, settings) for a, b in blocks]),
    )


def eyes_disagree(pair: EyePair, settings: MeasureSettings) -> bool:
    """Whether their gains differ, or their distance jumps and stays."""
    least = max(2.0, settings.eye_disagree_share * pair.telling)
    return pair.differing >= least or (pair.step_deg or 0.0) > settings.eye_step_deg


def block_gain(
    right: FloatArray, left: FloatArray, sampling_hz: float, settings: MeasureSettings
) -> float | None:
    """Difference in gain within a block, from the regression of the eyes' distance on their mean.

    None where the eyes hardly move or the regression is too uncertain to tell. The largest
    twentieth of the distances (a blink of one eye) is left out.
    """
    both = np.isfinite(right) & np.isfinite(left)
    if both.sum() < max(settings.eye_seen_share * right.size, 10):
        return None
    mean, apart = 0.5 * (right + left)[both], (left - right)[both]
    apart = apart - median(apart)
    inner = np.abs(apart) <= quantile(np.abs(apart), settings.eye_inner_pct / 100)
    mean, apart = mean[inner] - mean[inner].mean(), apart[inner] - apart[inner].mean()
    moves = float(np.std(mean))
    if moves < settings.eye_moves_deg:
        return None
    slope = float(np.sum(mean * apart) / np.sum(mean**2))
    independent = max(mean.size / (settings.eye_independent_s * sampling_hz), 2.0)
    error = float(np.std(apart - slope * mean)) / (moves * independent**0.5)
    return slope if error < settings.eye_gain_error_max else None


def block_distance(right: FloatArray, left: FloatArray, settings: MeasureSettings) -> float | None:
    """Median distance (deg) of the eyes in a block; None where too little of both is seen."""
    apart = left - right
    apart = apart[np.isfinite(apart)]
    enough = apart.size >= settings.eye_seen_share * right.size
    return median(apart) if enough else None


def lasting_step_deg(distances: list[float | None]) -> float | None:
    """Largest change of the distance that two blocks before and two behind agree on.

    The block between is left out, since the step may fall into it. None for fewer than five.
    """
    known = np.array([distance for distance in distances if distance is not None])
    if known.size < 5:
        return None
    before = np.stack([known[:-4], known[1:-3]])
    behind = np.stack([known[3:-1], known[4:]])
    up = behind.min(axis=0) - before.max(axis=0)
    down = before.min(axis=0) - behind.max(axis=0)
    return float(max(up.max(), down.max(), 0.0))


def _ninth_tenth(values: FloatArray) -> float | None:
    if values.size == 0:
        return None
    order = np.argsort(np.abs(values))
    return float(values[order[min(int(0.9 * values.size), values.size - 1)]])
