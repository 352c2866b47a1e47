"""A strictly increasing clock from the time stamps of a recording, and its sampling rate.

Sums of products rather than BLAS calls: threads of BLAS cost more here than they save.
"""

from bisect import bisect_left
from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import BoolArray, FloatArray, IntArray

MAX_BAD_SHARE = 0.2
_ROUNDED_SHARE = 0.02


@dataclass(frozen=True, slots=True)
class Clock:
    """``time_s`` of the samples ``kept`` (indices into the stamps), shape (n,), increasing."""

    time_s: FloatArray
    kept: IntArray
    repaired: bool


def even_clock(n: int, sampling_hz: float) -> Clock:
    """The clock of ``n`` samples without stamps."""
    return Clock(np.arange(n) / sampling_hz, np.arange(n), False)


def make_clock(stamps_s: FloatArray, repeats_row: BoolArray | None = None) -> Clock | None:
    """The clock that the stamps tell, or None where too many of them are wrong.

    Stamps that already increase are kept as they are. Where stamps repeat often and never run
    backward they were rounded: between gaps, each stretch is given evenly spaced times on the
    line that fits it. Otherwise the longest increasing series of stamps is right, and the others
    are put between their right neighbours by sample number; a sample for which these leave no
    time was exported twice and is dropped. ``repeats_row`` tells, where known, which rows are the
    same as the row before: where stamps repeat with their whole rows, these rows are dropped.
    """
    order = np.arange(len(stamps_s))
    if len(stamps_s) < 2:
        return None
    if repeats_row is not None and _rows_came_twice(stamps_s, repeats_row):
        return _without_rows(stamps_s, np.r_[False, np.diff(stamps_s) == 0] & repeats_row)
    steps = np.diff(stamps_s)
    if bool(np.all(steps > 0)):
        return Clock(stamps_s, order, False)
    if bool(np.all(steps >= 0)) and np.mean(steps == 0) > _ROUNDED_SHARE:
        return _unrounded(stamps_s)
    return _interpolated(stamps_s)


def _rows_came_twice(stamps_s: FloatArray, repeats_row: BoolArray) -> bool:
    """Whether nearly all stamps that repeat bring the same row, and hardly any other stamp does."""
    again = np.diff(stamps_s) == 0
    if not again.any() or again.all():
        return False
    same = repeats_row[1:]
    return bool(np.mean(same[again]) > 0.9 and np.mean(same[~again]) < 0.1)


def _without_rows(stamps_s: FloatArray, twice: BoolArray) -> Clock | None:
    once = np.flatnonzero(~twice)
    clock = make_clock(stamps_s[once])
    return None if clock is None else Clock(clock.time_s, once[clock.kept], True)


def sampling_rate(time_s: FloatArray) -> float:
    """Sampling rate in Hz: regression of time on sample number, in one slope between gaps.

    To a millionth: the arithmetic's last digit must not decide on which side of a whole number of
    samples a margin ends.
    """
    return round(1.0 / _slope(time_s, find_gaps(time_s)), 6)


def find_gaps(time_s: FloatArray) -> IntArray:
    """Indices of the samples after which rows are missing.

    A long step counts as a gap where the stamps stay late by it: the medians of what is left of
    the ten stamps before and after the step differ by more than half a sample. A stamp that is
    late by itself, or rounded, is none.
    """
    steps = np.diff(time_s)
    step = _typical_step(steps)
    long = np.flatnonzero(steps > 1.5 * step)
    if not long.size or long.size > 0.05 * steps.size:
        return long[steps[long] > 4.0 * step]
    late = time_s - step * np.arange(len(time_s))
    offsets = np.arange(1, 11)
    before = late[np.clip(long[:, None] + 1 - offsets, 0, None)]
    after = late[np.clip(long[:, None] + offsets, None, len(late) - 1)]
    stays = np.median(after, axis=1) - np.median(before, axis=1) > 0.5 * step
    return long[stays | (steps[long] > 4.0 * step)]


def _typical_step(steps: FloatArray) -> float:
    least = float(np.min(steps, initial=np.inf))
    if least > 0.0 and float(np.max(steps, initial=0.0)) < 3.0 * least:
        return float(np.mean(steps))
    positive = steps[steps > 0]
    near = positive[positive < 3.0 * np.median(positive)]
    return float(np.mean(near)) if steps.size == positive.size else float(np.median(positive))


def _slope(time_s: FloatArray, gaps: IntArray) -> float:
    """One slope of time on sample number; each stretch between gaps has its own level."""
    if not gaps.size and len(time_s) > 1:
        return _slope_of_one(time_s)
    starts = np.r_[0, gaps + 1]
    number = _centred(np.arange(len(time_s), dtype=np.float64), starts)
    power = float(np.sum(number * number))
    if power == 0.0:
        return float(np.mean(np.diff(time_s)))
    return float(np.sum(number * _centred(time_s, starts))) / power


def _slope_of_one(time_s: FloatArray) -> float:
    """The slope of one stretch: the sum of squares of numbers 0 to n − 1 is known."""
    n = len(time_s)
    number = np.arange(n, dtype=np.float64) - (n - 1) / 2
    return float(np.sum(number * (time_s - time_s[0]))) / (n * (n**2 - 1) / 12)


def _centred(values: FloatArray, starts: IntArray) -> FloatArray:
    """Values less the mean of their stretch; ``starts`` are the stretches' first indices."""
    shifted = values - values[0]
    lengths = np.diff(starts, append=len(values))
    means = np.add.reduceat(shifted, starts) / lengths
    centred: FloatArray = shifted - np.repeat(means, lengths)
    return centred


def _unrounded(stamps_s: FloatArray) -> Clock:
    n = len(stamps_s)
    overall = (stamps_s[-1] - stamps_s[0]) / (n - 1)
    resolution = float(np.min(np.diff(stamps_s)[np.diff(stamps_s) > 0], initial=np.inf))
    gaps = np.flatnonzero(np.diff(stamps_s) > 2.5 * max(resolution, overall))
    slope = _slope(stamps_s, gaps)
    starts = np.r_[0, gaps + 1]
    ends = np.r_[gaps + 1, n]
    time_s = np.empty(n)
    for start, end in zip(starts, ends, strict=True):
        line = slope * np.arange(end - start)
        time_s[start:end] = line + np.mean(stamps_s[start:end] - line)
    increasing = np.r_[True, np.diff(np.maximum.accumulate(time_s)) > 0]
    kept = np.flatnonzero(increasing)
    return Clock(time_s[kept], kept, True)


def _interpolated(stamps_s: FloatArray) -> Clock | None:
    good = _longest_rise(stamps_s)
    n_bad = len(stamps_s) - int(good.sum())
    if n_bad > MAX_BAD_SHARE * len(stamps_s) or good.sum() < 3:
        return None
    right = np.flatnonzero(good)
    step = _typical_step(np.diff(stamps_s[right]) / np.diff(right))
    twice = _without_room(stamps_s, right, step)
    kept = np.flatnonzero(~twice)
    kept = kept[(kept >= right[0]) & (kept <= right[-1])]
    time_s = np.interp(kept, right, stamps_s[right])
    time_s = _around_dropped(time_s, kept, right, stamps_s)
    return Clock(time_s, kept, True)


def _longest_rise(stamps_s: FloatArray) -> BoolArray:
    """The longest strictly increasing series of stamps (patience sorting)."""
    tails: list[float] = []
    tail_at: list[int] = []
    before = np.full(len(stamps_s), -1)
    for index in np.flatnonzero(np.isfinite(stamps_s)).tolist():
        stamp = float(stamps_s[index])
        place = bisect_left(tails, stamp)
        before[index] = tail_at[place - 1] if place else -1
        tails[place : place + 1] = [stamp]
        tail_at[place : place + 1] = [index]
    good = np.zeros(len(stamps_s), dtype=np.bool_)
    index = tail_at[-1] if tail_at else -1
    while index >= 0:
        good[index] = True
        index = int(before[index])
    return good


def _without_room(stamps_s: FloatArray, right: IntArray, step: float) -> BoolArray:
    """Samples between two right stamps that are too close for them."""
    twice = np.zeros(len(stamps_s), dtype=np.bool_)
    apart, room_s = np.diff(right), np.diff(stamps_s[right])
    for place in np.flatnonzero((apart > 1) & (room_s < 0.75 * step * apart)):
        twice[right[place] + 1 : right[place + 1]] = True
    return twice


def _around_dropped(
    time_s: FloatArray, kept: IntArray, right: IntArray, stamps_s: FloatArray
) -> FloatArray:
    """Right stamps stay exactly as they were."""
    place = np.searchsorted(kept, right)
    time_s[place] = stamps_s[right]
    return time_s
