"""Samples on an even grid in time: what a picture needs to be told by its start and its step.

Most recordings are on one already. Where the clock jitters, pauses or crowds its samples, each
sample goes to the nearest place of the grid: two in one place are its least and largest value, a
place that jitter left empty repeats the one before, and a pause of the clock is lost samples.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from slowphase.recording.clock import find_gaps
from slowphase.workbench.traces.pyramid import Samples

if TYPE_CHECKING:
    from slowphase.foundation.arrays import FloatArray, IntArray
    from slowphase.workbench.traces.pyramid import Float32

EVEN = 0.5  # of a step: how far a sample of an even clock may lie from its place
MOST_PLACES = 4  # a sample: a clock with long pauses gets a coarser grid


@dataclass(frozen=True, slots=True)
class Grid:
    """When the samples of a trace were taken: sample i at ``start_s`` + i · ``step_s``."""

    start_s: float
    step_s: float
    samples: int

    @property
    def stop_s(self) -> float:
        """The time of the last sample."""
        return self.start_s + max(self.samples - 1, 0) * self.step_s


@dataclass(frozen=True, slots=True)
class Placing:
    """A grid, and which of its places each run of samples goes to; None where they are even.

    ``places`` (k,) are the places that hold samples, ``first`` (k,) the first sample of each,
    ``source`` (n,) the run that each place of the grid shows, -1 in a pause.
    """

    grid: Grid
    first: IntArray | None = None
    source: IntArray | None = None


def place(time_s: FloatArray, sampling_hz: float) -> Placing:
    """The grid of a clock, shape (n,) and increasing."""
    n = time_s.size
    start_s = float(time_s[0]) if n else 0.0
    if n < 2:
        return Placing(Grid(start_s, 1.0 / sampling_hz if sampling_hz > 0 else 1.0, n))
    step_s = (float(time_s[-1]) - start_s) / (n - 1)
    late = step_s * np.arange(n)
    late -= time_s
    late += start_s
    if float(late.max()) <= EVEN * step_s and float(late.min()) >= -EVEN * step_s:
        return Placing(Grid(start_s, step_s, n))
    return _uneven(time_s, max(1.0 / sampling_hz, step_s / MOST_PLACES))


def _uneven(time_s: FloatArray, step_s: float) -> Placing:
    start_s = float(time_s[0])
    at = np.rint((time_s - start_s) / step_s).astype(np.int64)
    places, first = np.unique(at, return_index=True)
    count = int(places[-1]) + 1
    source = np.searchsorted(places, np.arange(count), side="right") - 1
    for gap in find_gaps(time_s).tolist():
        source[at[gap] + 1 : at[gap + 1]] = -1
    return Placing(Grid(start_s, step_s, count), first, source)


def on_grid(placing: Placing, values: FloatArray) -> Samples:
    """A trace, shape (n,), on the grid in single precision."""
    small: Float32 = np.asarray(values, dtype=np.float32)
    if placing.first is None or placing.source is None:
        return Samples(small)
    pause = placing.source < 0
    low, high = (
        np.where(pause, np.float32(math.nan), least.reduceat(small, placing.first)[placing.source])
        for least in (np.fmin, np.fmax)
    )
    lost = np.logical_or.reduceat(np.isnan(small), placing.first)[placing.source]
    return Samples(low, high, lost | pause)
