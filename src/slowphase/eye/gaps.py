"""Samples in which no eye was seen, and blinks with and without such samples."""

import numpy as np

from slowphase.eye.quickphase import Jumps
from slowphase.eye.runs import mask_of, runs_of
from slowphase.eye.settings import EyeSettings
from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.foundation.median import median


def bridge(values: FloatArray) -> FloatArray:
    """Values with the missing ones on straight lines between their neighbours, shape (n,)."""
    known = np.isfinite(values)
    if known.all():
        return values
    return np.interp(np.arange(values.size), np.flatnonzero(known), values[known])


def time_gaps(time_s: FloatArray, settings: EyeSettings) -> BoolArray:
    """True at the first sample after rows that are missing from the recording, shape (n,)."""
    gap = np.zeros(time_s.size, dtype=bool)
    if time_s.size > 2:
        step = np.diff(time_s)
        gap[1:] = step > settings.gap_steps * median(step)
    return gap


def without_steps(position_deg: FloatArray, at: BoolArray) -> FloatArray:
    """Position less what it jumps by at the marked samples: gaps in time are no quick phases."""
    if not at.any():
        return position_deg
    jump = np.diff(position_deg, prepend=position_deg[:1])
    return position_deg - np.cumsum(np.where(at, jump, 0.0))


def lid_margins(lost: BoolArray, sampling_hz: float, settings: EyeSettings) -> BoolArray:
    """Samples beside a blink that the lid has drawn along: True there, shape (n,).

    Losses up to ``glitch_s`` are dropped frames and have no margin; losses closer together than
    the margins are one blink.
    """
    start, stop = runs_of(lost)
    long = stop - start > settings.glitch_s * sampling_hz
    before = int(np.ceil(settings.blink_before_s * sampling_hz))
    after = int(np.ceil(settings.blink_after_s * sampling_hz))
    return mask_of(start[long] - before, stop[long] + after, lost.size) & ~lost


def vertical_blinks(
    jumps: Jumps, size: int, sampling_hz: float, settings: EyeSettings
) -> BoolArray:
    """Blinks seen as an out-and-back jump of the vertical trace: True inside, shape (size,)."""
    if jumps.start.size < 2:
        return np.zeros(size, dtype=bool)
    first, second = jumps.amplitude_deg[:-1], jumps.amplitude_deg[1:]
    apart = (jumps.start[1:] - jumps.stop[:-1]) / sampling_hz
    smaller = np.minimum(np.abs(first), np.abs(second))
    larger = np.maximum(np.abs(first), np.abs(second))
    pair = (
        (first * second < 0)
        & (apart < settings.blink_pair_s)
        & (smaller > settings.blink_size_deg)
        & (smaller > settings.blink_pair_share * larger)
    )
    before = int(np.ceil(settings.blink_before_s * sampling_hz / 2))
    after = int(np.ceil(settings.blink_after_s * sampling_hz / 2))
    return mask_of(jumps.start[:-1][pair] - before, jumps.stop[1:][pair] + after, size)
