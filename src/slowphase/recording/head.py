"""Head velocity from a position channel, or from what the trial asked of the chair."""

from collections.abc import Mapping
from itertools import pairwise

import numpy as np

from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.recording.clock import find_gaps

_WINDOW_S = 0.04


def velocity_of_position(time_s: FloatArray, position_deg: FloatArray) -> FloatArray:
    """Velocity in deg/s, shape (n,): slope of a line over 40 ms, at least 3 samples.

    Wraps of 360 deg are undone first. At 1 Hz the line takes 0.2 % off the peak. NaN where the
    position is lost, and no line reaches over a gap in time.
    """
    velocity = np.full(len(time_s), np.nan)
    edges = np.r_[0, find_gaps(time_s) + 1, len(time_s)]
    half = max(round(_WINDOW_S / 2 / float(np.median(np.diff(time_s)))), 1)
    unwrapped = _unwrap(position_deg)
    for start, end in pairwise(edges.tolist()):
        velocity[start:end] = _moving_slope(time_s[start:end], unwrapped[start:end], half)
    return velocity


def _unwrap(position_deg: FloatArray) -> FloatArray:
    known = np.isfinite(position_deg)
    unwrapped = position_deg.copy()
    unwrapped[known] = np.unwrap(position_deg[known], period=360.0)
    return unwrapped


def _moving_slope(time_s: FloatArray, values: FloatArray, half: int) -> FloatArray:
    """Least-squares slope over ``half`` samples on each side, in differences from the middle."""
    n = len(values)
    count, st, sx, stx, stt = (np.zeros(n) for _ in range(5))
    for lag in range(-half, half + 1):
        here = slice(max(-lag, 0), max(n - max(lag, 0), 0))
        there = slice(max(lag, 0), max(n + min(lag, 0), 0))
        dt, dx = time_s[there] - time_s[here], values[there] - values[here]
        known = np.isfinite(dx)
        dt, dx = np.where(known, dt, 0.0), np.where(known, dx, 0.0)
        count[here] += known
        st[here] += dt
        sx[here] += dx
        stx[here] += dt * dx
        stt[here] += dt * dt
    count = np.where(np.isfinite(values) & (count >= 2), count, np.nan)
    slope: FloatArray = (stx - st * sx / count) / (stt - st * st / count)
    return slope


def rebuild_velocity(
    kind: str, stimulus: Mapping[str, object], time_s: FloatArray
) -> FloatArray | None:
    """Head velocity in deg/s as the trial's keys have it; None where they do not tell it.

    A sinusoid starts at rest at ``start_at_s`` (0), to the right unless ``direction`` is left. A
    step needs ``acceleration_deg_s2`` and ``constant_s`` besides its velocity and direction.
    """
    if kind == "sinusoid":
        return _rebuild_sinusoid(stimulus, time_s)
    return _rebuild_step(stimulus, time_s) if kind == "step" else None


def _rebuild_sinusoid(stimulus: Mapping[str, object], time_s: FloatArray) -> FloatArray | None:
    frequency, peak = _number(stimulus, "frequency_hz"), _number(stimulus, "peak_velocity_deg_s")
    if frequency is None or peak is None:
        return None
    since = time_s - (_number(stimulus, "start_at_s") or 0.0)
    wave = _sign(stimulus) * peak * np.sin(2 * np.pi * frequency * since)
    cycles = _number(stimulus, "cycles")
    moving: BoolArray = since >= 0
    if cycles is not None:
        moving &= since <= cycles / frequency
    velocity: FloatArray = np.where(moving, wave, 0.0)
    return velocity


def _rebuild_step(stimulus: Mapping[str, object], time_s: FloatArray) -> FloatArray | None:
    keys = ("velocity_deg_s", "acceleration_deg_s2", "constant_s")
    velocity, acceleration, constant_s = (_number(stimulus, key) for key in keys)
    if velocity is None or acceleration is None or constant_s is None:
        return None
    start = _number(stimulus, "start_at_s") or 0.0
    ramp_s = velocity / acceleration
    corners = start + np.array([0.0, ramp_s, ramp_s + constant_s, 2 * ramp_s + constant_s])
    shape: FloatArray = np.interp(time_s, corners, [0.0, velocity, velocity, 0.0])
    return _sign(stimulus) * shape


def _number(stimulus: Mapping[str, object], key: str) -> float | None:
    value = stimulus.get(key)
    return float(value) if isinstance(value, int | float) else None


def _sign(stimulus: Mapping[str, object]) -> float:
    return -1.0 if stimulus.get("direction") == "left" else 1.0
