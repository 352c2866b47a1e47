"""Numbers that stand for a lost sample."""

import numpy as np

from slowphase.foundation.arrays import BoolArray, FloatArray

_SENTINELS = (-9999.0, -999.0, -99999.0, 9999.0, 99999.0, -32768.0, 32767.0, -999999.0, 999999.0)
_LEAST_SENTINEL = min(abs(mark) for mark in _SENTINELS)
_HUGE = 1e30


def without_huge(values: FloatArray) -> FloatArray:
    """Values with those of 1e30 and more as NaN: no such angle, speed or time was ever measured.

    Recorders write the largest number of their type, or memory that was never filled.
    """
    if not _reaches(values, _HUGE):
        return values
    return np.where(np.abs(values) < _HUGE, values, np.nan)


def _reaches(values: FloatArray, limit: float) -> bool:
    """Whether any value lies as far out as the limit, to either side."""
    return bool(values.size) and max(np.fmax.reduce(values), -np.fmin.reduce(values)) >= limit


def without_sentinels(raw: FloatArray) -> FloatArray:
    """Raw samples with number marks such as −9999 as NaN.

    A number of the short list of common marks counts as one only where it occurs at least twice
    and lies more than three times as far out as every other sample.
    """
    if not _reaches(raw, _LEAST_SENTINEL):
        return raw
    present = np.abs(raw[np.isin(raw, _SENTINELS)])
    if present.size < 2:
        return raw
    is_mark = np.isin(raw, _SENTINELS)
    rest = raw[~is_mark & np.isfinite(raw)]
    if rest.size and float(np.max(np.abs(rest))) * 3.0 > float(np.min(present)):
        return raw
    return np.where(is_mark, np.nan, raw)


def lost_as_zeros(horizontal: FloatArray, vertical: FloatArray) -> BoolArray:
    """Where the raw position 0, 0 of one eye means that it was lost.

    Only where both are exactly 0 together at least five times, hardly ever one alone, and the eye
    would have to jump there and back: ten times the usual step between samples.
    """
    both = (horizontal == 0) & (vertical == 0)
    none: BoolArray = np.zeros(len(both), dtype=np.bool_)
    together = np.count_nonzero(both)
    if together < 5:
        return none
    alone = ((horizontal == 0) | (vertical == 0)) & ~both
    if np.count_nonzero(alone) > 0.1 * together:
        return none
    steps = np.abs(np.diff(horizontal)) + np.abs(np.diff(vertical))
    edges = steps[np.diff(both.astype(np.int8)) != 0]
    inner = steps[~both[1:] & ~both[:-1]]
    jumps = float(np.nanmedian(edges)) if np.isfinite(edges).any() else 0.0
    usual = float(np.nanmedian(inner)) if np.isfinite(inner).any() else np.inf
    return both if jumps > 10.0 * usual else none
