"""The recorder: what the equipment makes of two moving eyes and a chair.

Video: white noise, quantisation, pupils lost behind lids. Electrodes: more noise, drift, mains
hum, a low-pass (applied without delay), lids seen as upward deflections, nothing lost. Values
are common practice, no source.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.physiology.blink import Blinks, lid_shape
from slowphase.physiology.oculomotor import GRID_HZ, EyeMotion, wandering


@dataclass(frozen=True, slots=True)
class Equipment:
    """How the traces are taken. Noise and quantisation in deg, of each eye.

    ``losses_per_min`` are short losses of one eye (reflections, a slipping pupil), ``eyes`` the
    eyes recorded, ``eye_lost_s`` an interval of each trial in which the left eye is lost.
    ``eye_mismatch`` and ``eye_offset_deg`` are how far the eyes differ in gain and position;
    their mean is right.
    ``edges_lost`` is the share of blinks that hide their edges too, ``wander_deg`` and
    ``wander_s`` describe slow noise of position. ``jitter`` is the spread
    of a time stamp in sample intervals, ``dropped`` the share of rows that are missing.
    """

    sampling_hz: float = 250.0
    method: Literal["video", "electrodes"] = "video"
    eyes: tuple[str, ...] = ("right", "left")
    vertical: bool = True
    noise_deg: float = 0.06
    quantum_deg: float = 0.01
    eye_mismatch: float = 0.01
    eye_offset_deg: float = 0.8
    low_pass_hz: float = 35.0
    drift_deg_per_sqrt_s: float = 0.25
    wander_deg: float = 0.0
    wander_s: float = 0.5
    hum_deg: float = 0.15
    hum_hz: float = 50.0
    losses_per_min: float = 1.0
    eye_lost_s: tuple[float, float] | None = None
    edges_lost: float = 0.5
    jitter: float = 0.0
    dropped: float = 0.0
    head_recorded: bool = True
    head_noise_deg_s: float = 0.25
    head_quantum_deg_s: float = 0.05


@dataclass(frozen=True, slots=True)
class Traces:
    """What was recorded: times, channels by role and the chair, arrays of shape (n,).

    ``head_velocity_deg_s`` is None where the equipment does not record the chair.
    """

    time_s: FloatArray
    channels: dict[str, FloatArray]
    head_velocity_deg_s: FloatArray | None
    lid: BoolArray


def sample_times(equipment: Equipment, length_s: float, rng: np.random.Generator) -> FloatArray:
    """Time stamps in s, strictly increasing."""
    count = int(np.floor(length_s * equipment.sampling_hz))
    index = np.arange(count, dtype=float)
    if equipment.jitter:
        index = index + np.clip(equipment.jitter * rng.standard_normal(count), -0.45, 0.45)
        index[0] = 0.0
    if equipment.dropped:
        keep = rng.random(count) >= equipment.dropped
        keep[0] = True
        index = index[keep]
    return index / equipment.sampling_hz


def _smoothed(position: FloatArray, low_pass_hz: float) -> FloatArray:
    from scipy.signal import butter, sosfiltfilt

    sections = butter(1, low_pass_hz, fs=GRID_HZ, output="sos")
    return np.asarray(sosfiltfilt(sections, position), dtype=float)


def _seen(equipment: Equipment, motion: EyeMotion, time_s: FloatArray) -> FloatArray:
    """The plane of the eye at the sample times, before noise."""
    position = motion.position_deg + motion.ringing_deg
    if equipment.method == "electrodes":
        position = _smoothed(position, equipment.low_pass_hz)
    return np.interp(time_s * GRID_HZ, np.arange(position.size), position)


def _electrode_wander(
    equipment: Equipment, time_s: FloatArray, rng: np.random.Generator
) -> FloatArray:
    steps = np.sqrt(np.diff(time_s, prepend=time_s[0])) * rng.standard_normal(time_s.size)
    drift = equipment.drift_deg_per_sqrt_s * np.cumsum(steps)
    hum = equipment.hum_deg * np.sin(
        2 * np.pi * equipment.hum_hz * time_s + rng.uniform(0, 2 * np.pi)
    )
    return np.asarray(drift + hum)


def _slow_noise(equipment: Equipment, time_s: FloatArray, rng: np.random.Generator) -> FloatArray:
    count = int(time_s[-1] * GRID_HZ) + 2
    noise = wandering(equipment.wander_deg, equipment.wander_s, count, rng)
    return np.interp(time_s * GRID_HZ, np.arange(count), noise)


def _with_noise(
    equipment: Equipment, clean: FloatArray, time_s: FloatArray, rng: np.random.Generator
) -> FloatArray:
    noisy = clean + equipment.noise_deg * rng.standard_normal(clean.size)
    if equipment.wander_deg:
        noisy = noisy + _slow_noise(equipment, time_s, rng)
    if equipment.method == "electrodes":
        noisy = noisy + _electrode_wander(equipment, time_s, rng)
    if equipment.quantum_deg:
        noisy = equipment.quantum_deg * np.round(noisy / equipment.quantum_deg)
    return np.asarray(noisy)


def _short_losses(equipment: Equipment, time_s: FloatArray, rng: np.random.Generator) -> BoolArray:
    lost = np.zeros(time_s.shape, dtype=bool)
    length_s = float(time_s[-1]) if time_s.size else 0.0
    for start in rng.uniform(0.0, length_s, rng.poisson(equipment.losses_per_min * length_s / 60)):
        lost |= (time_s >= start) & (time_s < start + rng.uniform(0.02, 0.4))
    return lost


def _covered(
    equipment: Equipment, blinks: Blinks, time_s: FloatArray, rng: np.random.Generator
) -> BoolArray:
    """Samples lost behind the lid: the closed middle, and for some blinks the edges too."""
    covered = np.zeros(time_s.shape, dtype=bool)
    for onset, lasting in zip(blinks.onset_s, blinks.duration_s, strict=True):
        margin = 0.0 if rng.random() < equipment.edges_lost else 0.2 * lasting
        covered |= (time_s > onset + margin) & (time_s < onset + lasting - margin)
    return covered


def _one_eye(
    equipment: Equipment,
    planes: dict[str, FloatArray],
    time_s: FloatArray,
    lost: BoolArray,
    rng: np.random.Generator,
) -> dict[str, FloatArray]:
    lost = lost | _short_losses(equipment, time_s, rng)
    return {
        plane: np.where(lost, np.nan, _with_noise(equipment, clean, time_s, rng))
        for plane, clean in planes.items()
    }


def _eye_interval_lost(equipment: Equipment, eye: str, time_s: FloatArray) -> BoolArray:
    if equipment.eye_lost_s is None or eye == "right":
        return np.zeros(time_s.shape, dtype=bool)
    start, stop = equipment.eye_lost_s
    return np.asarray((time_s >= start) & (time_s < stop))


def record(
    equipment: Equipment,
    horizontal: EyeMotion,
    vertical: EyeMotion,
    head_velocity_deg_s: FloatArray,
    blinks: Blinks,
    rng: np.random.Generator,
) -> Traces:
    """Sample the true motion, given on the grid with shape (n,), as the equipment would."""
    time_s = sample_times(equipment, head_velocity_deg_s.size / GRID_HZ, rng)
    up, aside, _ = lid_shape(blinks, time_s)
    video = equipment.method == "video"
    covered = _covered(equipment, blinks, time_s, rng)
    hidden = covered if video else np.zeros_like(covered)
    planes = {
        "h": _seen(equipment, horizontal, time_s) + aside,
        "v": _seen(equipment, vertical, time_s) + (-up if video else 2.0 * up),
    }
    if not equipment.vertical:
        del planes["v"]
    channels: dict[str, FloatArray] = {}
    for eye in equipment.eyes:
        seen = _of_eye(equipment, eye, planes)
        lost = hidden | _eye_interval_lost(equipment, eye, time_s)
        for plane, trace in _one_eye(equipment, seen, time_s, lost, rng).items():
            channels[f"eye_{plane}_{eye}"] = trace
    head = _recorded_head(equipment, head_velocity_deg_s, time_s, rng)
    return Traces(time_s, channels, head, up > 0)


def _of_eye(equipment: Equipment, eye: str, planes: dict[str, FloatArray]) -> dict[str, FloatArray]:
    """Both eyes see the same motion, half the mismatch and offset to either side of it."""
    side = 0.5 if eye == "right" else -0.5
    gain, offset = 1.0 + side * equipment.eye_mismatch, side * equipment.eye_offset_deg
    return {plane: gain * clean + offset for plane, clean in planes.items()}


def _recorded_head(
    equipment: Equipment, head: FloatArray, time_s: FloatArray, rng: np.random.Generator
) -> FloatArray | None:
    if not equipment.head_recorded:
        return None
    clean = np.interp(time_s * GRID_HZ, np.arange(head.size), head)
    noisy = clean + equipment.head_noise_deg_s * rng.standard_normal(clean.size)
    quantum = equipment.head_quantum_deg_s
    return np.asarray(quantum * np.round(noisy / quantum) if quantum else noisy)
