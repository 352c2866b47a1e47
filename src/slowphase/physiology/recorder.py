"""The recorder: what the equipment makes of two moving eyes and a chair.

Video: white noise, quantisation, pupils lost behind lids. Electrodes: more noise, drift, mains
hum, a low-pass (applied without delay), lids seen as upward deflections, nothing lost. Values
are common practice, no source.
"""

from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from slowphase.foundation.arrays import BoolArray, FloatArray
from slowphase.physiology.blink import Blinks, lid_shape
from slowphase.physiology.half_lid import HalfLids, half_closed
from slowphase.physiology.oculomotor import GRID_HZ, EyeMotion, wandering
from slowphase.physiology.slip import Slip, slipped
from slowphase.physiology.spoiled import Spoiled, together
from slowphase.physiology.tracking import BadTracking, badly_tracked, garbage
from slowphase.physiology.vibration import Vibration, shaken, shaking

TORSION_NOISE = 2.0  # torsion is read from the iris, more roughly than the pupil: practice


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

    Off by default: ``calibration`` is the factor by which both eyes are recorded too large,
    ``head_late_s`` by how much the chair's clock is behind that of the eyes (negative: ahead),
    ``keeps_lost`` a tracker that never reports a loss and stores garbage instead of it; ``slip``,
    ``half_lids``, ``bad_tracking`` and ``vibration`` are described where they are defined.
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
    calibration: float = 1.0
    head_late_s: float = 0.0
    keeps_lost: bool = False
    slip: Slip = field(default_factory=Slip)
    half_lids: HalfLids = field(default_factory=HalfLids)
    bad_tracking: BadTracking = field(default_factory=BadTracking)
    vibration: Vibration = field(default_factory=Vibration)


@dataclass(frozen=True, slots=True)
class Traces:
    """What was recorded: times, channels by role and the chair, arrays of shape (n,).

    ``head_velocity_deg_s`` is None where the equipment does not record the chair. ``bad`` marks,
    for each recorded eye, samples that are there and not to be trusted: garbage, bad tracking,
    half-closed lids, a slip under way.
    """

    time_s: FloatArray
    channels: dict[str, FloatArray]
    head_velocity_deg_s: FloatArray | None
    lid: BoolArray
    bad: dict[str, BoolArray]


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


def _rounded(equipment: Equipment, trace: FloatArray) -> FloatArray:
    quantum = equipment.quantum_deg
    return np.asarray(quantum * np.round(trace / quantum) if quantum else trace)


def _with_noise(
    equipment: Equipment,
    clean: FloatArray,
    time_s: FloatArray,
    noise_times: FloatArray,
    rng: np.random.Generator,
) -> FloatArray:
    noisy = clean + equipment.noise_deg * noise_times * rng.standard_normal(clean.size)
    if equipment.wander_deg:
        noisy = noisy + _slow_noise(equipment, time_s, rng)
    if equipment.method == "electrodes":
        noisy = noisy + _electrode_wander(equipment, time_s, rng)
    return _rounded(equipment, noisy)


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


def _eye_interval_lost(equipment: Equipment, eye: str, time_s: FloatArray) -> BoolArray:
    if equipment.eye_lost_s is None or eye == "right":
        return np.zeros(time_s.shape, dtype=bool)
    start, stop = equipment.eye_lost_s
    return np.asarray((time_s >= start) & (time_s < stop))


def _of_eye(
    equipment: Equipment, eye: str, planes: dict[str, FloatArray], spoiled: Spoiled
) -> dict[str, FloatArray]:
    """Both eyes see the same motion, half the mismatch and offset to either side of it."""
    side = 0.5 if eye == "right" else -0.5
    gain = equipment.calibration * (1.0 + side * equipment.eye_mismatch)
    offset = side * equipment.eye_offset_deg
    return {
        plane: spoiled.factor * (gain * clean + offset) + spoiled.added_deg[plane]
        for plane, clean in planes.items()
    }


def _stored(
    equipment: Equipment, plane: str, noisy: FloatArray, lost: BoolArray, rng: np.random.Generator
) -> FloatArray:
    """A gap where the pupil is lost, or garbage from a tracker that never reports it."""
    if equipment.keeps_lost:
        return _rounded(equipment, garbage(plane, noisy, lost, rng))
    return np.where(lost, np.nan, noisy)


def _spoiled(
    equipment: Equipment,
    time_s: FloatArray,
    shakes: tuple[FloatArray, FloatArray],
    session_time_s: float,
    rng: np.random.Generator,
) -> dict[str, Spoiled]:
    """What goes wrong in each eye; slips and lids are the same for all eyes they concern."""
    slip_rng, lid_rng, tracking_rng = rng.spawn(3)
    tracking = equipment.bad_tracking
    parts = (
        (equipment.eyes, shaken(*shakes, time_s)),
        (equipment.slip.eyes, slipped(equipment.slip, time_s, session_time_s, slip_rng)),
        (equipment.half_lids.eyes, half_closed(equipment.half_lids, time_s, lid_rng)),
        ((tracking.eye,), badly_tracked(tracking, time_s, tracking_rng)),
    )
    return {
        eye: together([part for eyes, part in parts if eye in eyes], time_s.size)
        for eye in equipment.eyes
    }


def record(
    equipment: Equipment,
    horizontal: EyeMotion,
    vertical: EyeMotion,
    head_velocity_deg_s: FloatArray,
    blinks: Blinks,
    rng: np.random.Generator,
    *,
    session_time_s: float = 0.0,
) -> Traces:
    """Sample the true motion, given on the grid with shape (n,), as the equipment would.

    What is off by default draws its random numbers from generators of its own, so that it changes
    nothing else. ``session_time_s`` is when the recording began.
    """
    shake_rng, spoiled_rng, garbage_rng = rng.spawn(3)
    time_s = sample_times(equipment, head_velocity_deg_s.size / GRID_HZ, rng)
    planes, lid = _planes(equipment, horizontal, vertical, blinks, time_s)
    covered = _covered(equipment, blinks, time_s, rng)
    hidden = covered if equipment.method == "video" else np.zeros_like(covered)
    across, felt = shaking(equipment.vibration, head_velocity_deg_s, shake_rng)
    up, _ = shaking(equipment.vibration, head_velocity_deg_s, shake_rng)
    spoiled = _spoiled(equipment, time_s, (across, up), session_time_s, spoiled_rng)
    channels: dict[str, FloatArray] = {}
    bad: dict[str, BoolArray] = {}
    for eye in equipment.eyes:
        lost = hidden | _eye_interval_lost(equipment, eye, time_s)
        lost = lost | _short_losses(equipment, time_s, rng)
        for plane, clean in _of_eye(equipment, eye, planes, spoiled[eye]).items():
            noisy = _with_noise(equipment, clean, time_s, spoiled[eye].noise_times, rng)
            channels[f"eye_{plane}_{eye}"] = _stored(equipment, plane, noisy, lost, garbage_rng)
        bad[eye] = spoiled[eye].bad | lost if equipment.keeps_lost else spoiled[eye].bad & ~lost
    head = _recorded_head(equipment, head_velocity_deg_s + felt, time_s, rng)
    return Traces(time_s, channels, head, lid, bad)


def _planes(
    equipment: Equipment,
    horizontal: EyeMotion,
    vertical: EyeMotion,
    blinks: Blinks,
    time_s: FloatArray,
) -> tuple[dict[str, FloatArray], BoolArray]:
    """Both planes with the lids' artefact before noise, and where there is one."""
    up, aside, _ = lid_shape(blinks, time_s)
    lid = -up if equipment.method == "video" else 2.0 * up
    planes = {
        "h": _seen(equipment, horizontal, time_s) + aside,
        "v": _seen(equipment, vertical, time_s) + lid,
    }
    if not equipment.vertical:
        del planes["v"]
    return planes, up > 0


def _recorded_head(
    equipment: Equipment, head: FloatArray, time_s: FloatArray, rng: np.random.Generator
) -> FloatArray | None:
    if not equipment.head_recorded:
        return None
    clean = np.interp((time_s - equipment.head_late_s) * GRID_HZ, np.arange(head.size), head)
    noisy = clean + equipment.head_noise_deg_s * rng.standard_normal(clean.size)
    quantum = equipment.head_quantum_deg_s
    return np.asarray(quantum * np.round(noisy / quantum) if quantum else noisy)


def with_target(traces: Traces, target_deg: FloatArray) -> Traces:
    """The traces with the place of the target, given on the grid, as one more channel."""
    index = np.rint(traces.time_s * GRID_HZ).astype(int)
    place = target_deg[np.minimum(index, target_deg.size - 1)]
    return replace(traces, channels=traces.channels | {"target_h": place})


def with_torsion(
    equipment: Equipment, traces: Traces, turning: EyeMotion, rng: np.random.Generator
) -> Traces:
    """The traces with torsion of each recorded eye, twice as noisy, lost where the eye is.

    Electrodes show no torsion. A slipped goggle and a bad calibration are left out of it.
    """
    if equipment.method == "electrodes":
        return traces
    position = _seen(equipment, turning, traces.time_s)
    channels = dict(traces.channels)
    for side in equipment.eyes:
        noise = TORSION_NOISE * equipment.noise_deg * rng.standard_normal(position.size)
        trace = _rounded(equipment, position + noise)
        lost = np.isnan(traces.channels[f"eye_h_{side}"])
        channels[f"eye_t_{side}"] = np.where(lost, np.nan, trace)
    return replace(traces, channels=channels)
