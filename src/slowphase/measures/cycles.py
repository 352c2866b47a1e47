"""Complex amplitudes of a sinusoid, cycle by cycle."""

from itertools import pairwise

import numpy as np

from slowphase.foundation.arrays import ComplexArray, FloatArray

NEARLY = 0.05  # of a cycle: a last one that lacks so little is whole
TERMS = 4  # cosine, sine, a constant and a straight drift


def whole_cycles(
    time_s: FloatArray, velocity_deg_s: FloatArray, frequency_hz: float, share: float
) -> list[slice]:
    """The samples of every whole cycle of a sinusoid between its start and its end.

    Both are about where the speed, averaged over a twentieth of a cycle, crosses ``share`` of its
    top; the cycles begin at the zero of the sinusoid that is nearest to the start.
    """
    length = max(1, round(0.05 / frequency_hz * time_s.size / (time_s[-1] - time_s[0])))
    speed = np.abs(np.convolve(velocity_deg_s, np.full(length, 1.0 / length), mode="same"))
    at = np.flatnonzero(speed > share * np.percentile(speed, 98.0))
    if at.size < TERMS:
        return []
    before = np.arcsin(share) / (2 * np.pi * frequency_hz)
    start, stop = float(time_s[at[0]]) - before, float(time_s[at[-1]]) + before
    count = int(np.floor((stop - start) * frequency_hz + NEARLY))
    zero = nearest_zero(time_s[at], velocity_deg_s[at], frequency_hz, start)
    edges = np.searchsorted(time_s, zero + np.arange(count + 1) / frequency_hz)
    return [slice(int(a), int(b)) for a, b in pairwise(edges)]


def nearest_zero(
    time_s: FloatArray, velocity_deg_s: FloatArray, frequency_hz: float, near_s: float
) -> float:
    """The zero of a sinusoid nearest to a time (s), from samples that may leave out its zeros."""
    turn = 2 * np.pi * frequency_hz * time_s
    design = np.column_stack([np.cos(turn), np.sin(turn)])
    cosine, sine = np.linalg.lstsq(design, velocity_deg_s, rcond=None)[0]
    first = (np.pi / 2 + np.arctan2(sine, cosine)) / (2 * np.pi * frequency_hz)
    half = 0.5 / frequency_hz
    return float(first + half * np.round((near_s - first) / half))


def cycle_amplitudes(
    time_s: FloatArray, values: FloatArray, frequency_hz: float, cycles: list[slice], gap: float
) -> tuple[ComplexArray, FloatArray]:
    """Amplitude A of each cycle, values = Re(A·exp(iωt)) + a + b·t, and the residuals.

    Shapes (c,) and (n,). A cycle that lacks more than the share ``gap`` of its samples is NaN;
    residuals are NaN outside the cycles and where samples are lost.
    """
    amplitudes = np.full(len(cycles), np.nan + 0j)
    rest: FloatArray = np.full(values.size, np.nan)
    for index, cycle in enumerate(cycles):
        t, y = time_s[cycle], values[cycle]
        known = np.isfinite(y)
        if known.sum() < max(TERMS + 1, (1.0 - gap) * y.size):
            continue
        turn = 2 * np.pi * frequency_hz * t
        design = np.column_stack([np.cos(turn), np.sin(turn), np.ones(t.size), t - t[0]])
        solved = np.linalg.lstsq(design[known], y[known], rcond=None)[0]
        amplitudes[index] = solved[0] - 1j * solved[1]
        rest[cycle] = y - design @ solved
    return amplitudes, rest
