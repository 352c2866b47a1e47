"""Runs of True in a mask, as half-open index pairs."""

import numpy as np

from slowphase.foundation.arrays import BoolArray, IntArray


def runs_of(mask: BoolArray) -> tuple[IntArray, IntArray]:
    """Start and stop (exclusive) of every run of True in ``mask`` (shape (n,))."""
    padded = np.zeros(mask.size + 2, dtype=np.int8)
    padded[1:-1] = mask
    change = np.diff(padded)
    return np.flatnonzero(change == 1), np.flatnonzero(change == -1)


def first_of_runs(values: IntArray) -> IntArray:
    """Index at which each run of one value begins, shape (m,); ``values`` has shape (n,), n > 0."""
    return np.flatnonzero(np.concatenate([[True], values[1:] != values[:-1]]))


def numbers_of_runs(values: IntArray) -> IntArray:
    """The number, from 0, of the run of one value that each element is in, shape (n,), n > 0.

    Of values in order, that is what the library's search for unique values would give, without
    sorting them.
    """
    return np.cumsum(np.concatenate([[False], values[1:] != values[:-1]]), dtype=np.int64)


def samples_of(starts: IntArray, stops: IntArray) -> tuple[IntArray, IntArray, IntArray]:
    """Every sample of half-open ranges (m,), one range after another: the number of its range and
    its index, shape (n,) each, and where among these each range begins, shape (m,)."""
    count = stops - starts
    first = np.cumsum(count) - count
    number = np.repeat(np.arange(starts.size), count)
    return number, np.arange(number.size) + (starts - first)[number], first


def mask_of(starts: IntArray, stops: IntArray, size: int) -> BoolArray:
    """Mask of shape (size,) that is True inside any of the half-open ranges."""
    begun = np.bincount(np.clip(starts, 0, size), minlength=size + 1)
    ended = np.bincount(np.clip(stops, 0, size), minlength=size + 1)
    return np.cumsum((begun - ended)[:-1]) > 0
