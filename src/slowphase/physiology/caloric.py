"""Calorics: water or air in the ear, a slow flow of heat, and the canal that it turns.

    temperature at the canal   θ = (T − 37 °C)·box(t)·1/(1 + sτ₁)·1/(1 + sτ₂)
    drive                      d = θ·1/(1 + s·Tc)          (cupula, pushed by a steady force)
    slow phase                 v = ∓ peak·(d / d of the standard irrigation)·medium·w

w is what is left of the ear's function at such slow stimuli. Warm excites and cool inhibits, so
the quick phase beats to the warm ear and away from the cool one (COWS). The standard irrigation is
30 s of water, 7 °C from body temperature; the peak comes a minute after its start (common
practice, no source), and there the slow phase of a healthy ear is ``peak_deg_s``. The two lags, the
peak, and the shares of cool, of air and of fixation are chosen; fixation takes away 48 to 66 % in
healthy people (Takemori 1977, 1982; Clin Otolaryngol 1978; abstracts read).
"""

from dataclasses import dataclass
from functools import cache
from typing import Literal

import numpy as np

from slowphase.foundation.arrays import FloatArray
from slowphase.physiology.canal import CUPULA_S
from slowphase.physiology.transfer import leaky_integral

BODY_C = 37.0
STANDARD_C = 7.0
STANDARD_S = 30.0
SHAPE_HZ = 50.0

Ear = Literal["right", "left"]
Medium = Literal["water", "air"]


@dataclass(frozen=True, slots=True)
class Caloric:
    """``right`` and ``left`` are w (0–1), ``peak_deg_s`` the peak of a healthy ear.

    ``canal_s`` τ₁ and ``bone_s`` τ₂ are the lags of heat in s, ``cool`` the share of a cool
    irrigation, ``air`` that of air, ``suppression`` the share that fixation takes away.
    """

    right: float = 1.0
    left: float = 1.0
    peak_deg_s: float = 28.0
    canal_s: float = 50.0
    bone_s: float = 32.0
    cool: float = 0.9
    air: float = 0.35
    suppression: float = 0.57


def _lagged(signal: FloatArray, lag_s: float, sampling_hz: float) -> FloatArray:
    return leaky_integral(1.0 / lag_s, signal, sampling_hz) / lag_s


def heat_shape(
    caloric: Caloric, irrigation_s: float, time_s: FloatArray, sampling_hz: float
) -> FloatArray:
    """The cupula's deflection by one degree of irrigation from time 0 on, shape (n,), no unit."""
    shape = ((time_s >= 0.0) & (time_s < irrigation_s)).astype(float)
    for lag_s in (caloric.canal_s, caloric.bone_s, CUPULA_S):
        shape = _lagged(shape, lag_s, sampling_hz)
    return shape


@cache
def _standard_peak(canal_s: float, bone_s: float) -> float:
    time_s = np.arange(0.0, 240.0, 1.0 / SHAPE_HZ)
    caloric = Caloric(canal_s=canal_s, bone_s=bone_s)
    return float(heat_shape(caloric, STANDARD_S, time_s, SHAPE_HZ).max())


def caloric_velocity(
    caloric: Caloric,
    ear: Ear,
    temperature_c: float,
    medium: Medium,
    irrigation_s: float,
    time_s: FloatArray,
) -> FloatArray:
    """Slow-phase velocity in deg/s, shape (n,); regular times count from the first water."""
    degree, toward = (caloric.right, -1.0) if ear == "right" else (caloric.left, 1.0)
    warmer = temperature_c - BODY_C
    size = caloric.peak_deg_s * warmer / STANDARD_C * degree
    size *= caloric.cool if warmer < 0 else 1.0
    size *= caloric.air if medium == "air" else 1.0
    sampling_hz = 1.0 / float(time_s[1] - time_s[0])
    shape = heat_shape(caloric, irrigation_s, time_s, sampling_hz)
    return np.asarray(toward * size * shape / _standard_peak(caloric.canal_s, caloric.bone_s))
