"""Slow-phase velocity: straight pieces of eye position between quick phases.

A piece is a short stretch of slow phase. Its velocity is the least-squares slope of position on
time, which is the best that white position noise allows. `Pieces.node_times_s` says at which
times a model's velocity must be averaged to be compared with that slope.
"""

from dataclasses import dataclass, fields

import numpy as np

from slowphase.eye.runs import runs_of, samples_of
from slowphase.eye.settings import EyeSettings
from slowphase.foundation.arrays import BoolArray, FloatArray, IntArray
from slowphase.foundation.median import median


@dataclass(frozen=True, slots=True)
class Pieces:
    """Slow phase in straight pieces; arrays of shape (p,).

    ``start`` and ``stop`` are sample indices (stop exclusive); ``time_s`` the mean time;
    ``velocity_deg_s`` the slope of position and ``noise_deg_s`` its standard error from white
    position noise; ``gaze_deg`` the mean position; ``beat`` numbers the uninterrupted slow phase
    that the piece belongs to.
    """

    start: IntArray
    stop: IntArray
    time_s: FloatArray
    duration_s: FloatArray
    velocity_deg_s: FloatArray
    noise_deg_s: FloatArray
    gaze_deg: FloatArray
    beat: IntArray

    def __len__(self) -> int:
        return self.start.size

    def only(self, chosen: BoolArray) -> "Pieces":
        """The chosen pieces (mask of shape (p,))."""
        return Pieces(*(getattr(self, field.name)[chosen] for field in fields(self)))

    def node_times_s(self) -> FloatArray:
        """Two times in each piece, shape (p, 2): a smooth velocity's mean over them is its slope.

        The least-squares slope weighs velocity within the piece by a parabola; two-point
        Gauss quadrature for that weight (nodes at 1/sqrt(5) of the half length) is exact for
        velocities up to the third degree. Few samples make the parabola a little narrower.
        """
        count = (self.stop - self.start).astype(float)
        step = self.duration_s / count
        reach = 0.5 * step * np.sqrt(np.maximum(count**2 - 7 / 3, 1.0)) / np.sqrt(5.0)
        return self.time_s[:, None] + reach[:, None] * np.array([-1.0, 1.0])


def integrate(velocity: FloatArray, time_s: FloatArray) -> FloatArray:
    """Running integral by the trapezium rule, 0 at the first sample, shape (n,)."""
    steps = 0.5 * (velocity[1:] + velocity[:-1]) * np.diff(time_s)
    return np.concatenate([[0.0], np.cumsum(steps)])


def slopes(signal: FloatArray, time_s: FloatArray, start: IntArray, stop: IntArray) -> FloatArray:
    """Least-squares slope of ``signal`` on ``time_s`` over each half-open sample range."""
    if start.size == 0:
        return np.zeros(0)
    piece, index, first = samples_of(start, stop)
    time, value = time_s[index], signal[index]
    lag = time - (np.add.reduceat(time, first) / (stop - start))[piece]
    return np.add.reduceat(lag * value, first) / np.add.reduceat(lag**2, first)


def cut_pieces(
    position_deg: FloatArray,
    time_s: FloatArray,
    usable: BoolArray,
    breaks: BoolArray,
    noise_deg: FloatArray,
    settings: EyeSettings,
) -> Pieces:
    """Cut the usable samples into pieces.

    ``usable`` (n,) marks slow-phase samples; a True in ``breaks`` (n,) starts a new piece
    without losing a sample (another eye, rows missing in time). ``noise_deg`` (n,) is the white
    noise of position; noisy recordings get longer pieces. Runs shorter than ``run_min_s`` or
    three samples are left out.
    """
    step_s = median(np.diff(time_s)) if time_s.size > 1 else 1.0
    run_start, run_stop = split_runs(usable, breaks)
    shortest = max(3, round(settings.run_min_s / step_s))
    keep = run_stop - run_start >= shortest
    run_start, run_stop = run_start[keep], run_stop[keep]
    usual = median(noise_deg)
    length = max(4, round(piece_length_s(usual, step_s, settings) / step_s))
    count = np.maximum(1, np.round((run_stop - run_start) / length).astype(np.int64))
    beat = np.repeat(np.arange(count.size), count)
    part = np.arange(beat.size) - np.repeat(np.cumsum(count) - count, count)
    size = (run_stop - run_start)[beat]
    start = run_start[beat] + (part * size) // count[beat]
    stop = run_start[beat] + ((part + 1) * size) // count[beat]
    return _describe(position_deg, time_s, start, stop, beat, noise_deg)


def split_runs(usable: BoolArray, breaks: BoolArray) -> tuple[IntArray, IntArray]:
    """Runs of ``usable``, cut before every sample where ``breaks`` is True."""
    start, stop = runs_of(usable)
    inner = np.flatnonzero(breaks & usable & np.roll(usable, 1))
    inner = inner[inner > 0]
    return np.sort(np.concatenate([start, inner])), np.sort(np.concatenate([stop, inner]))


def piece_length_s(noise_deg: float, step_s: float, settings: EyeSettings) -> float:
    """Length (s) at which white noise leaves the slope the standard error that is aimed at.

    The slope of n = L/step samples over L seconds has variance 12 s^2 / (n L^2).
    """
    ideal = (12 * noise_deg**2 * step_s / settings.piece_noise_deg_s**2) ** (1 / 3)
    return float(np.clip(ideal, settings.piece_min_s, settings.piece_max_s))


def _describe(
    position_deg: FloatArray,
    time_s: FloatArray,
    start: IntArray,
    stop: IntArray,
    beat: IntArray,
    noise_deg: FloatArray,
) -> Pieces:
    count = stop - start
    sums = np.concatenate([[0.0], np.cumsum(np.nan_to_num(position_deg))])
    times = np.concatenate([[0.0], np.cumsum(time_s)])
    duration = (time_s[stop - 1] - time_s[start]) * count / np.maximum(count - 1, 1)
    return Pieces(
        start=start,
        stop=stop,
        time_s=(times[stop] - times[start]) / count,
        duration_s=duration,
        velocity_deg_s=slopes(np.nan_to_num(position_deg), time_s, start, stop),
        noise_deg_s=noise_deg[(start + stop) // 2]
        * np.sqrt(12.0 / np.maximum(count, 2))
        / duration,
        gaze_deg=(sums[stop] - sums[start]) / count,
        beat=beat,
    )
