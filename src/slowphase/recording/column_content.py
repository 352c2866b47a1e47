"""What the samples of a column tell: a clock and its unit, degrees or pixels, the sign."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.recording.head import velocity_of_position

_BIN_S = 0.2
_TIME_STEPS = {"s": (5e-4, 0.1), "ms": (0.5, 100.0), "us": (500.0, 1e5)}
_SECONDS = {"s": 1.0, "ms": 1e-3, "us": 1e-6}


@dataclass(frozen=True, slots=True)
class ClockGuess:
    """Whether a column rises like a clock: ``evenness`` 0..1, its unit and rate."""

    evenness: float
    unit: str
    rate_hz: float


@dataclass(frozen=True, slots=True)
class Answer:
    """How an eye answers the head: gain (positive: against it) and correlation of the two."""

    gain: float
    correlation: float


def clock_guess(values: FloatArray) -> ClockGuess | None:
    """The clock that a column may be; None when it does not rise or no unit gives 10–2000 Hz."""
    steps = np.diff(values[np.isfinite(values)])
    if steps.size < 10 or np.mean(steps >= 0) < 0.98 or np.mean(steps > 0) < 0.4:
        return None
    step = float(np.median(steps[steps > 0]))
    for unit, (low, high) in _TIME_STEPS.items():
        if low <= step <= high:
            even = float(np.mean(np.abs(steps - step) <= 0.6 * step))
            return ClockGuess(even, unit, 1.0 / (float(np.mean(steps)) * _SECONDS[unit]))
    return None


def is_counter(values: FloatArray) -> bool:
    """Whether a column only numbers its rows."""
    return bool(np.all(np.diff(values) == 1)) and values.size > 1 and values[0] in (0, 1)


def spread(values: FloatArray) -> float:
    """Distance of the 1st and the 99th percentile."""
    known = values[np.isfinite(values)]
    return float(np.subtract(*np.quantile(known, [0.99, 0.01]))) if known.size else 0.0


def smoothness(values: FloatArray) -> float:
    """Share of the variance that is not sample-to-sample noise or jumps, 0..1."""
    known = values[np.isfinite(values)]
    if known.size < 20 or np.ptp(known) == 0:
        return 0.0
    means = known[: known.size // 10 * 10].reshape(-1, 10).mean(axis=1)
    rest = np.diff(means, 2)
    return float(1.0 - min(np.var(rest) / (np.var(means) or np.inf), 1.0))


def bin_velocity(time_s: FloatArray, position: FloatArray) -> FloatArray:
    """Median velocity in bins of 0.2 s, which leaves most quick phases out."""
    return bin_medians(time_s, velocity_of_position(time_s, position))


def bin_medians(time_s: FloatArray, values: FloatArray) -> FloatArray:
    """Medians in bins of 0.2 s; NaN where a bin is empty."""
    bins = np.floor((time_s - time_s[0]) / _BIN_S).astype(np.int64)
    edges = np.flatnonzero(np.diff(bins, prepend=-1, append=bins[-1] + 1))
    medians = np.full(int(bins[-1]) + 1, np.nan)
    for start, stop in pairwise(edges.tolist()):
        part = values[start:stop]
        part = part[np.isfinite(part)]
        medians[bins[start]] = np.median(part) if part.size else np.nan
    return medians


def answer_to(head: FloatArray, eye: FloatArray) -> Answer | None:
    """Gain and correlation of binned eye and head velocity; None without enough motion."""
    known = np.isfinite(head) & np.isfinite(eye)
    if known.sum() < 25:
        return None
    h, e = head[known] - np.mean(head[known]), eye[known] - np.mean(eye[known])
    power, response = float(np.sum(h * h)), float(np.sum(e * e))
    if power == 0.0 or response == 0.0:
        return None
    product = float(np.sum(h * e))
    return Answer(-product / power, product / np.sqrt(power * response))
