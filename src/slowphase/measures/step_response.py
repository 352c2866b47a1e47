"""What one change of chair velocity alone would have caused in a patient at rest."""

from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.measures.reflex import Motion
from slowphase.measures.step import Change
from slowphase.measures.step_shape import Misfit

BEFORE_S = 0.1  # grid: begins at rest
RATE_HZ = 50.0  # grid: peak and crossings are interpolated between


@dataclass(frozen=True, slots=True)
class Response:
    """One response alone.

    ``peak_deg_s`` is the largest speed against the change, ``gain`` its ratio to the change,
    ``time_constant_s`` the time from the peak to 1/e of it, ``duration_s`` from the peak to below
    1 deg/s, ``cumulative_deg`` the area up to the reversal. ``peak_at_s`` and ``fall_deg_s2`` (the
    speed lost per second where it meets 1/e) tell how an error of the curve becomes one of these.
    """

    peak_deg_s: float
    gain: float
    time_constant_s: float
    duration_s: float
    cumulative_deg: float
    peak_at_s: float
    fall_deg_s2: float


def response_alone(
    change: Change, gain: float, decay_s: float, adaptation_s: float, misfit: Misfit
) -> Response:
    """The response to one change, followed past the end of the recording if need be.

    ``misfit`` is what the recording shows beyond the fitted shape.
    """
    # The grid goes through the end of the ramp, where most responses have their sharp peak.
    ramp = int((change.stop_s - change.start_s + BEFORE_S) * RATE_HZ) + 1
    time = change.stop_s + np.arange(-ramp, _length(change, decay_s) - ramp) / RATE_HZ
    motion = Motion(time, change.velocity_deg_s(time))
    speed = gain * motion.response(decay_s, adaptation_s) / np.sign(change.size_deg_s)
    since = time - change.stop_s
    return describe(monotone(with_misfit(speed, since, misfit)), since, abs(change.size_deg_s))


def _length(change: Change, decay_s: float) -> int:
    """Samples until nothing of the response is left, and at least to the next change."""
    lasting = max(change.until_s - change.start_s, change.stop_s - change.start_s + 6 * decay_s)
    return int((lasting + BEFORE_S) * RATE_HZ)


def with_misfit(speed: FloatArray, since_s: FloatArray, misfit: Misfit) -> FloatArray:
    """Speed with the misfit given back; on the ramp in proportion to the speed."""
    if not misfit.share.any():
        return speed
    at_end = float(np.interp(0.0, since_s, speed))
    rising = np.clip(speed / at_end, 0.0, 1.0) if at_end > 0 else np.zeros_like(speed)
    return speed + misfit.at(np.maximum(since_s, 0.0)) * np.where(since_s < 0, rising, 1.0)


def monotone(speed: FloatArray) -> FloatArray:
    """Speed without dips: a response that falls and comes back has lapsed, not decayed.

    Every value up to the peak is kept; after it, none is less than a later one.
    """
    top = int(np.argmax(speed))
    filled = np.maximum.accumulate(speed[top:][::-1])[::-1]
    return np.concatenate([speed[:top], filled])


def describe(speed: FloatArray, since_s: FloatArray, size_deg_s: float) -> Response:
    """The measures of a response sampled evenly; speeds against the change are positive."""
    step_s = float(since_s[1] - since_s[0])
    top = int(np.argmax(speed))
    at_corner = abs(since_s[top]) < 1.5 * step_s
    beside, peak = (0.0, float(speed[top])) if at_corner else vertex(speed, top)
    falling = speed[top:]
    if peak <= 0:
        return Response(peak, peak / size_deg_s, np.nan, np.nan, np.nan, 0.0, np.nan)
    down, slope = crossing(falling, peak / np.e)
    quiet, _ = crossing(falling, min(1.0, peak))
    reversal, _ = crossing(falling, 0.0)
    return Response(
        peak_deg_s=peak,
        gain=peak / size_deg_s,
        time_constant_s=(down - beside) * step_s,
        duration_s=(quiet - beside) * step_s,
        cumulative_deg=float(np.sum(falling[: int(reversal) + 1])) * step_s,
        peak_at_s=float(since_s[top]) + beside * step_s,
        fall_deg_s2=slope / step_s,
    )


def vertex(speed: FloatArray, top: int) -> tuple[float, float]:
    """Where a smooth peak lies beside its largest sample (in samples), and its height.

    By a parabola: without it the peak would jump from sample to sample as a parameter changes, and
    derivatives would be of the grid.
    """
    if not 0 < top < speed.size - 1:
        return 0.0, float(speed[top])
    before, here, after = (float(value) for value in speed[top - 1 : top + 2])
    bend = before - 2 * here + after
    beside = 0.5 * (before - after) / bend if bend < 0 else 0.0
    return beside, here - 0.25 * (before - after) * beside


def crossing(falling: FloatArray, level: float) -> tuple[float, float]:
    """Index, with fraction, where a falling curve first goes below ``level``, and its fall there.

    The end of the curve where it never does.
    """
    below = np.flatnonzero(falling < level)
    after = int(below[0]) if below.size else falling.size - 1
    if after == 0:
        return 0.0, 0.0
    high, low = float(falling[after - 1]), float(falling[after])
    if not below.size or high <= low:
        return float(after), max(high - low, 0.0)
    return after - 1 + (high - level) / (high - low), high - low
