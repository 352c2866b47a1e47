"""A sinusoid's cycles laid over one another by the phase of the chair."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from slowphase.foundation.arrays import BoolArray, FloatArray
    from slowphase.measures.result import TrialResult

FOLD_BINS = 72


def cycle_phase(trial: TrialResult) -> FloatArray | None:
    """Phase of the chair's velocity, 0–360 deg, NaN at rest; None unless it is a sinusoid."""
    frequency = trial.stimulus.get("frequency_hz")
    evidence = trial.evidence
    if trial.kind != "sinusoid" or not isinstance(frequency, int | float) or evidence is None:
        return None
    head = evidence.head_velocity_deg_s
    return None if head is None else chair_phase(evidence.horizontal.time_s, head, frequency)


def chair_phase(time_s: FloatArray, head_deg_s: FloatArray, frequency_hz: float) -> FloatArray:
    """Phase of a sinusoidal chair velocity, 0–360 deg, NaN at rest; all of shape (n,)."""
    angle = 2 * np.pi * frequency_hz * time_s
    moving = while_moving(head_deg_s)
    start = float(np.angle(np.mean((head_deg_s * np.exp(-1j * angle))[moving]))) + np.pi / 2
    return np.where(moving, np.degrees(angle + start) % 360.0, np.nan)


def while_moving(head_deg_s: FloatArray) -> BoolArray:
    """Samples from the chair's first motion to its last, where its velocity is known."""
    known = np.nan_to_num(np.abs(head_deg_s))
    moving = np.flatnonzero(known > 0.05 * known.max(initial=0.0))
    inside = np.zeros(head_deg_s.size, dtype=bool)
    if moving.size:
        inside[moving[0] : moving[-1] + 1] = True
    return inside & np.isfinite(head_deg_s)


def binned(
    phase_deg: FloatArray, values: FloatArray, wanted: list[int], bins: int = FOLD_BINS
) -> tuple[Any, Any]:
    """Percentiles of the values in each bin of phase that holds any; shapes (b,), (len, b)."""
    known = np.isfinite(values) & np.isfinite(phase_deg)
    index = (phase_deg[known] * bins / 360.0).astype(np.int64) % bins
    filled = np.unique(index)
    order = np.argsort(index, kind="stable")
    groups = np.split(values[known][order], np.flatnonzero(np.diff(index[order])) + 1)
    centre = (filled + 0.5) * 360.0 / bins
    rows = [np.percentile(group, wanted) for group in groups if group.size]
    return centre, np.array(rows).reshape(-1, len(wanted)).T


def folded_medians(phase_deg: FloatArray, values: FloatArray, bins: int) -> FloatArray:
    """The median in each of ``bins`` parts of the cycle, shape (bins,); NaN where there is none."""
    middles: FloatArray = np.full(bins, np.nan)
    centre, found = binned(phase_deg, values, [50], bins)
    if centre.size:
        middles[(centre * bins / 360.0).astype(np.int64)] = found[0]
    return middles
