"""Blinks: when they come and what they do to the traces.

On video the pupil is covered: the trace dives vertically for a moment, is lost, and comes back
the same way. With electrodes nothing is lost, but the lid makes a large upward deflection. Rates
and sizes are common practice, no source.
"""

from dataclasses import dataclass

import numpy as np

from slowphase.foundation.arrays import BoolArray, FloatArray


@dataclass(frozen=True, slots=True)
class Blinking:
    """``per_min`` blinks of about ``lasting_s``; sizes of the lid's trace in deg."""

    per_min: float = 8.0
    lasting_s: float = 0.22
    vertical_deg: float = 6.0
    horizontal_deg: float = 0.8


@dataclass(frozen=True, slots=True)
class Blinks:
    """Blinks of one trial, arrays of shape (m,): onset and length in s, sizes in deg."""

    onset_s: FloatArray
    duration_s: FloatArray
    vertical_deg: FloatArray
    horizontal_deg: FloatArray


def draw_blinks(blinking: Blinking, length_s: float, rng: np.random.Generator) -> Blinks:
    """Blinks at random times, at least 0.5 s apart."""
    count = rng.poisson(blinking.per_min * length_s / 60.0)
    onset = np.sort(rng.uniform(0.0, length_s, count))
    onset = onset[np.diff(onset, prepend=-1.0) > 0.5]
    count = onset.size
    return Blinks(
        onset,
        blinking.lasting_s * np.exp(0.3 * rng.standard_normal(count)),
        blinking.vertical_deg * rng.uniform(0.5, 1.4, count),
        blinking.horizontal_deg * rng.standard_normal(count),
    )


def lid_shape(blinks: Blinks, time_s: FloatArray) -> tuple[FloatArray, FloatArray, BoolArray]:
    """Vertical and horizontal deflection (deg, positive sizes) and the closed lid; shape (n,)."""
    vertical, horizontal = np.zeros(time_s.shape), np.zeros(time_s.shape)
    closed = np.zeros(time_s.shape, dtype=bool)
    table = zip(
        blinks.onset_s,
        blinks.duration_s,
        blinks.vertical_deg,
        blinks.horizontal_deg,
        strict=True,
    )
    for onset, lasting, up, aside in table:
        first, last = np.searchsorted(time_s, [onset, onset + lasting])
        fraction = (time_s[first:last] - onset) / lasting
        bump = np.sin(np.pi * fraction) ** 2
        vertical[first:last] += up * bump
        horizontal[first:last] += aside * bump
        closed[first:last] |= (fraction > 0.2) & (fraction < 0.8)
    return vertical, horizontal, closed
