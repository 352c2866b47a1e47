"""Traces thinned for drawing. Nothing is ever computed from what these functions return."""

import numpy as np

from slowphase.foundation.arrays import FloatArray


def envelope(time_s: FloatArray, values: FloatArray, columns: int) -> tuple[FloatArray, FloatArray]:
    """A trace as the smallest and largest value of each column, broken wherever any is missing.

    ``time_s`` and ``values`` have shape (n,), missing values are NaN. The returned arrays draw as
    one line: a column with a missing sample stands alone between NaN, so that no gap, however
    short, is drawn over. Traces of up to two samples a column come back as they are.
    """
    if time_s.size <= 2 * columns:
        return time_s, values
    edges = np.linspace(0, time_s.size, columns + 1).astype(np.int64)[:-1]
    missing = np.logical_or.reduceat(np.isnan(values), edges)
    low = np.minimum.reduceat(np.where(np.isnan(values), np.inf, values), edges)
    high = np.maximum.reduceat(np.where(np.isnan(values), -np.inf, values), edges)
    empty = low > high
    low, high = np.where(empty, np.nan, low), np.where(empty, np.nan, high)
    gap = np.where(missing, np.nan, low)
    x = np.repeat(time_s[edges], 4)
    y = np.column_stack([gap, low, high, np.where(missing, np.nan, high)]).ravel()
    return _without_repeats(x, y)


def _without_repeats(x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
    same = np.zeros(y.size, dtype=bool)
    same[1:] = (x[1:] == x[:-1]) & ((y[1:] == y[:-1]) | (np.isnan(y[1:]) & np.isnan(y[:-1])))
    dot = same & np.isnan(np.roll(y, -1))
    keep = ~same | dot
    return x[keep], y[keep]


def runs_of(flags: "np.typing.NDArray[np.bool_]") -> list[tuple[int, int]]:
    """Start and stop (exclusive) of every run of True."""
    padded = np.concatenate([[False], flags, [False]]).astype(np.int8)
    starts, stops = np.flatnonzero(np.diff(padded) == 1), np.flatnonzero(np.diff(padded) == -1)
    return list(zip(starts.tolist(), stops.tolist(), strict=True))
