"""Quick phases and samples as a person corrected them."""

import numpy as np

from slowphase.eye.quickphase import Jumps
from slowphase.eye.runs import mask_of
from slowphase.foundation.arrays import BoolArray, FloatArray, IntArray
from slowphase.recording.trial import Recording


def corrected(jumps: Jumps, position_deg: FloatArray, recording: Recording) -> Jumps:
    """The jumps less those that are none, with those that were not found, in order of onset.

    An added one has the way between its ends as amplitude and the fastest sample inside as peak
    velocity; found ones that it covers are replaced by it.
    """
    hand, time_s = recording.by_hand, recording.time_s
    if not hand.quick and not hand.not_quick:
        return jumps
    start, stop = _samples(hand.quick, time_s)
    refused = np.searchsorted(time_s, np.asarray(hand.not_quick, dtype=float))
    inside = (jumps.start[:, None] - 1 <= refused) & (refused <= jumps.stop[:, None])
    covered = (jumps.start[:, None] < stop) & (start < jumps.stop[:, None])
    keep = ~(inside.any(axis=1) | covered.any(axis=1))
    amplitude, peak = _sizes(start, stop, position_deg, jumps.velocity_deg_s)
    order = np.argsort(np.r_[jumps.start[keep], start], kind="stable")
    return Jumps(
        start=np.r_[jumps.start[keep], start][order],
        stop=np.r_[jumps.stop[keep], stop][order],
        amplitude_deg=np.r_[jumps.amplitude_deg[keep], amplitude][order],
        peak_velocity_deg_s=np.r_[jumps.peak_velocity_deg_s[keep], peak][order],
        velocity_deg_s=jumps.velocity_deg_s,
    )


def excluded(recording: Recording) -> BoolArray:
    """The samples that a person excluded, shape (n,)."""
    start, stop = _samples(recording.by_hand.excluded, recording.time_s)
    return mask_of(start, stop, recording.time_s.size)


def _samples(
    spans: tuple[tuple[float, float], ...], time_s: FloatArray
) -> tuple[IntArray, IntArray]:
    """Half-open ranges of the samples in intervals of time, at least one sample long."""
    ends = np.asarray(spans, dtype=float).reshape(-1, 2)
    start = np.minimum(np.searchsorted(time_s, ends[:, 0]), time_s.size - 1)
    return start, np.maximum(np.searchsorted(time_s, ends[:, 1]), start + 1)


def _sizes(
    start: IntArray, stop: IntArray, position_deg: FloatArray, velocity_deg_s: FloatArray
) -> tuple[FloatArray, FloatArray]:
    last = np.minimum(stop, position_deg.size - 1)
    way = position_deg[last] - position_deg[start]
    fastest = [
        velocity_deg_s[a:b][np.argmax(np.abs(velocity_deg_s[a:b]))]
        for a, b in zip(start.tolist(), stop.tolist(), strict=True)
    ]
    return way, np.asarray(fastest, dtype=float)
