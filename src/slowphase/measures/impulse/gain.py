"""The gain of one impulse, in four definitions, from the slow response alone.

velocity area   ∫ slow dt / ∫ head dt       head: start to rest; eye: the same, later by the lag
regression      Σ eye·head / Σ head²        the same time, saccades left out, head late by the lag
at 60, 80 ms    slow / head                 means over 10 ms around that time, without the lag
"""

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.measures.impulse.saccades import Response

MOMENT_S = 0.005  # half of the 10 ms over which a gain at one moment is read


def area_gain(response: Response, lag_s: float) -> float:
    """Gain as the ratio of areas; NaN where the head did not turn."""
    turned = area(response.head, response.time_s, 0.0, response.stop_s)
    moved = area(response.slow, response.time_s, lag_s, response.stop_s + lag_s)
    return moved / turned if turned > 0 else float("nan")


def regression_gain(response: Response, lag_s: float) -> float:
    """Gain as the slope of eye on head velocity through zero, outside saccades."""
    time_s = response.time_s
    use = (time_s >= lag_s) & (time_s <= response.stop_s + lag_s)
    use &= ~(response.fast | response.hidden)
    head, eye = response.late_head[use], response.eye[use]
    power = float(head @ head)
    return float(eye @ head) / power if power > 0 else float("nan")


def moment_gain(response: Response, at_s: float) -> float:
    """Gain at one moment after the head's start; NaN where the head is back at rest by then."""
    if at_s + MOMENT_S > response.stop_s:
        return float("nan")
    first, last = at_s - MOMENT_S, at_s + MOMENT_S
    head = area(response.head, response.time_s, first, last)
    return area(response.slow, response.time_s, first, last) / head if head > 0 else float("nan")


def area(values: FloatArray, time_s: FloatArray, first_s: float, last_s: float) -> float:
    """Integral between two times (trapezia, straight lines between samples)."""
    steps = 0.5 * (values[1:] + values[:-1]) * np.diff(time_s)
    total = np.concatenate([[0.0], np.cumsum(steps)])
    ends = np.interp([first_s, last_s], time_s, total)
    return float(ends[1] - ends[0])
