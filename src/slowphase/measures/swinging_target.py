"""A target that swings as a sinusoid: its frequency, size and phase, from channel or keys."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from slowphase.eye.slowphase import slopes
from slowphase.foundation.arrays import FloatArray, IntArray
from slowphase.measures.prepare import number
from slowphase.measures.pursuit_settings import PursuitSettings
from slowphase.recording.trial import Recording, Trial

Plane = Literal["horizontal", "vertical"]
SEARCH_HZ = (0.02, 4.0)  # where the frequency of a target is looked for if no key tells it
NEAR = 0.1  # share by which a frequency that a key tells may differ from the channel's
SLOPE_S = 0.04  # a slope over this time tells whether the target moves
REFINING = 6  # rounds of the search for the frequency, each ten times finer


@dataclass(frozen=True, slots=True)
class Swing:
    """Velocity = peak·sin(2πf·t + phase), t on the recording's clock, from start to stop.

    ``peak_deg_s`` is positive, ``phase_rad`` None where the trial does not tell when the target
    passed; ``recorded`` says whether the target had a channel.
    """

    plane: Plane
    frequency_hz: float
    peak_deg_s: float
    phase_rad: float | None
    start_s: float
    stop_s: float
    recorded: bool

    def angle(self, time_s: FloatArray) -> FloatArray:
        """Phase of the target's velocity at these times (rad); from 0 where it is not known."""
        return 2 * np.pi * self.frequency_hz * time_s + (self.phase_rad or 0.0)


def swing_of(trial: Trial, recording: Recording, settings: PursuitSettings) -> Swing | str:
    """The target of a pursuit trial, or the reason why it is not known.

    Reasons: ``targets_unknown`` (no channel, no keys), ``not_sinusoidal``.
    """
    channels = [(plane, recording.channels.get(f"target_{plane[0]}")) for plane in _PLANES]
    known = [(plane, trace) for plane, trace in channels if trace is not None and _moves(trace)]
    if not known:
        return _of_keys(trial, recording)
    plane, trace = max(known, key=lambda entry: float(np.nanstd(entry[1])))
    return _of_channel(plane, trace, recording.time_s, trial, settings)


_PLANES: tuple[Plane, Plane] = ("horizontal", "vertical")


def _moves(trace: FloatArray) -> bool:
    return bool(np.isfinite(trace).sum() > 10 and np.nanstd(trace) > 0.05)


def _of_channel(
    plane: Plane, trace: FloatArray, time_s: FloatArray, trial: Trial, settings: PursuitSettings
) -> Swing | str:
    known = np.isfinite(trace)
    place = np.interp(time_s, time_s[known], trace[known])
    moving = moving_range(place, time_s, settings)
    at, there = time_s[moving], place[moving]
    told = number(trial.stimulus, "frequency_hz")
    frequency = best_frequency(at, there, told)
    fitted = sinusoid_fit(at, there, frequency)
    left = there - fitted[0]
    explained = 1.0 - float(np.var(left)) / max(float(np.var(there)), 1e-12)
    turn = 2 * np.pi * frequency
    peak = turn * float(np.hypot(*fitted[1]))
    if explained < settings.target_fit_min or peak < settings.least_peak_deg_s:
        return "not_sinusoidal"
    across, along = fitted[1]  # place = across·sin + along·cos, velocity = turn·(across·cos − …)
    phase = float(np.arctan2(across, -along))
    return Swing(plane, frequency, peak, phase, float(at[0]), float(at[-1]), True)


def moving_range(place: FloatArray, time_s: FloatArray, settings: PursuitSettings) -> slice:
    """The samples from the first to the last in which the target moves."""
    width = max(3, round(SLOPE_S / float(np.median(np.diff(time_s)))))
    start: IntArray = np.arange(0, place.size - width, width)
    speed = np.abs(slopes(place, time_s, start, start + width))
    fast = float(np.percentile(speed, 90))
    moving = np.flatnonzero(speed > settings.moving_share * fast)
    return slice(int(start[moving[0]]), int(start[moving[-1]]) + width)


def best_frequency(time_s: FloatArray, place: FloatArray, told_hz: float) -> float:
    """The frequency (Hz) whose sinusoid explains most of the place of the target.

    Looked for within a tenth of what the trial tells, or everywhere from one cycle per record.
    """
    length_s = max(float(time_s[-1] - time_s[0]), 1e-3)
    low, high = SEARCH_HZ
    if told_hz > 0:
        low, high = (1 - NEAR) * told_hz, (1 + NEAR) * told_hz
    step = min(0.1 / length_s, (high - low) / 10)
    thin = max(1, time_s.size // 4000)
    at, there = time_s[::thin], place[::thin]
    slowest = low if told_hz > 0 else min(max(low, 0.5 / length_s), high - step)
    grid = np.arange(slowest, high, step)
    best = slowest
    for _ in range(REFINING):
        left = [float(np.var(there - sinusoid_fit(at, there, f)[0])) for f in grid]
        best = float(grid[int(np.argmin(left))])
        grid = best + step * np.linspace(-1.0, 1.0, 11)
        step /= 5.0
        grid = grid[grid > 0]
    return best


def sinusoid_fit(
    time_s: FloatArray, values: FloatArray, frequency_hz: float
) -> tuple[FloatArray, tuple[float, float]]:
    """Least-squares sinusoid with a mean, and its weights of sine and cosine."""
    angle = 2 * np.pi * frequency_hz * time_s
    columns = np.column_stack([np.ones(time_s.size), np.sin(angle), np.cos(angle)])
    weights = np.linalg.lstsq(columns, values, rcond=None)[0]
    return columns @ weights, (float(weights[1]), float(weights[2]))


def _of_keys(trial: Trial, recording: Recording) -> Swing | str:
    frequency = number(trial.stimulus, "frequency_hz")
    peak = number(trial.stimulus, "peak_velocity_deg_s")
    if not peak > 0:
        peak = 2 * np.pi * frequency * number(trial.stimulus, "amplitude_deg")
    if not (frequency > 0 and peak > 0):
        return "targets_unknown"
    direction = str(trial.stimulus.get("direction", "right"))
    plane: Plane = "vertical" if direction in ("up", "down") else "horizontal"
    start = number(trial.stimulus, "start_at_s")
    timed = bool(np.isfinite(start))
    toward = 0.0 if direction in ("right", "up") else np.pi
    phase = toward - 2 * np.pi * frequency * start if timed else None
    first = max(start, 0.0) if timed else float(recording.time_s[0])
    last = float(recording.time_s[-1])
    cycles = number(trial.stimulus, "cycles")
    if timed and cycles > 0:
        last = min(last, start + cycles / frequency)
    return Swing(plane, frequency, peak, phase, first, last, False)
